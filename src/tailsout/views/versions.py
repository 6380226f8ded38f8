"""The versions of a package in words: what each amendment changed, by whom and why."""

from collections.abc import Iterable, Iterator

from tailsout.ground.units import printable
from tailsout.mapping import naming
from tailsout.records.amendment import Amendment, StatementChange
from tailsout.views.rows import heading, row

_MOST_SHOWN = 200
"""Characters of one value; the side-car has them all."""


def told(amendments: Iterable[Amendment]) -> Iterator[str]:
    """Yield the lines of a page, the newest version first."""
    for one in reversed(tuple(amendments)):
        yield from heading(f"Version {one.version}, which supersedes {one.supersedes}")
        yield from row("amended by", f"{one.by}, {one.on}")
        yield from row("why", one.why)
        for said in one.statements:
            yield from row(said.change, f"{said.at}{_from_to(said)}")
        for file in one.files:
            yield from row(file.change, file.path + (f", now {file.now}" if file.now else ""))
        yield from row("digests added", ", ".join(one.algorithms))
        yield from row("written", f"{one.written} by {one.software}")


def _from_to(said: StatementChange) -> str:
    if said.now is None:
        return ""
    was = "nothing" if said.was is None else f"“{printable(said.was, _MOST_SHOWN)}”"
    return f": {was} became “{printable(said.now, _MOST_SHOWN)}”"


def paragraph(amendments: tuple[Amendment, ...]) -> str:
    """Return what somebody without any software must know of the versions of a package."""
    last = amendments[-1]
    return (
        f"This is version {last.version} of the package. It supersedes "
        f"{printable(last.supersedes)}, which was not changed; if it is at hand, keep both. What "
        f"was put right, by whom and why, stands in {naming.AMENDMENTS} and in every side-car "
        f"under amendments. What the versions before it said of themselves lies in "
        f"{naming.SUPERSEDED}: their manifests, by which their files can still be proved, and, "
        "where nothing was withheld since, their side-cars and headers."
    )
