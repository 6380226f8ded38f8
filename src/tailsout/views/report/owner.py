"""One page for a reel's owner, its box, a grant report: found, done, heard, hours, how to verify.

The short of the whole sheet, made of the same blocks and bounded like it. `assets` may hold the
keys of the sheet, and `seal`: lines of a name and a digest, which stand for the whole package.
"""

from collections.abc import Iterator, Mapping
from itertools import chain

from markupsafe import Markup

from tailsout.ground.findings import Finding
from tailsout.ground.units import counted
from tailsout.mapping.ledger import entry_of
from tailsout.records.dossier import Dossier
from tailsout.records.facts import PackageFacts
from tailsout.views.report import handling, hear, identity
from tailsout.views.report.blocks import Block, Entries, Entry, Paragraph, Rows, fewer
from tailsout.views.report.paper import drawn, sheet
from tailsout.views.report.wording import clipped

_MOST_DONE = 8
_MOST_FILES = 6
_MOST_TOLD = 110
"""Characters of one line of what was done."""
_NOT_THE_OWNERS = ("machine", "jotted", "condition", "listened")
"""How entries begin that are no work on the reel, or are told above or below."""


def render(dossier: Dossier, findings: tuple[Finding, ...], assets: Mapping[str, bytes]) -> bytes:
    """Return the page in UTF-8."""
    what, how_long, heard, state, questions = hear.lines(dossier, findings)
    sections = (
        ("found", "What was found", (_line(what), _line(how_long), _line(state))),
        ("done", "What was done", tuple(_done(dossier))),
        ("heard", "What was heard", (_line(heard), _line(questions))),
        ("hours", "How long it took", tuple(_hours(dossier))),
        ("listen", "What to listen to", tuple(_listen(dossier))),
        ("verify", "How to see that nothing has changed", tuple(_verify(dossier, assets))),
    )
    page = sheet(
        "owner.html",
        title=identity.title(dossier),
        top=tuple(identity.top(dossier)),
        sections=[
            {"id": name, "title": title, "body": Markup().join(map(drawn, blocks))}
            for name, title, blocks in sections
            if blocks
        ],
    )
    return page.encode("utf-8", "backslashreplace")


def _line(text: str) -> Block:
    return Paragraph(text=text)


def _done(dossier: Dossier) -> Iterator[Block]:
    """Yield what was done to the reel; how the machine was cared for is not the owner's."""
    every = chain.from_iterable(
        one.entries for one in handling.blocks(dossier, (), {}) if isinstance(one, Entries)
    )
    told = tuple(
        (one.when[: len("2026-03-14")], clipped(f"{one.mark}: {one.text}", _MOST_TOLD))
        for one in every
        if not one.mark.startswith(_NOT_THE_OWNERS)
    )
    if told:
        yield from fewer([Rows(rows=told)], _MOST_DONE, 0)
    elif dossier.transfer is not None:
        yield Paragraph(text="Nothing of it is on record.")


def _hours(dossier: Dossier) -> Iterator[Block]:
    if dossier.transfer is None:
        return
    took = entry_of(dossier.transfer, dossier)
    rows = [("passes over the heads", str(took.passes))]
    rows += [("tape ran", f"{took.programme_minutes:.1f} min")] if took.programme_minutes else []
    if took.hands_on_minutes is None:
        rows.append(("work", "not told"))
    else:
        rows.append(("work", f"{took.hands_on_minutes:.1f} min"))
        if took.programme_minutes:
            ratio = took.hands_on_minutes / took.programme_minutes
            rows.append(("work to tape", f"{ratio:.2f} : 1"))
    yield Rows(rows=tuple(rows))


def _listen(dossier: Dossier) -> Iterator[Block]:
    masters = [file.path for file in dossier.files if file.stated is not None]
    copies = [
        copy.path
        for file in dossier.files
        if file.stated is not None
        for copy in file.stated.copies
    ]
    for paths, what in (
        (copies, "For listening, made of the masters"),
        (masters, "Preservation masters, to be kept as they are"),
    ):
        if paths:
            yield Paragraph(text=f"{what} ({counted(len(paths), 'file')}):")
            listed = Entries(entries=tuple(Entry(text=path) for path in paths))
            yield from fewer([listed], _MOST_FILES, 0)


def _verify(dossier: Dossier, assets: Mapping[str, bytes]) -> Iterator[Block]:
    algorithm = _algorithm(dossier.package)
    seal = assets.get("seal", b"").decode("utf-8", "replace").splitlines()
    if seal:
        yield Paragraph(
            text="This digest stands for everything in the package. Keep it, or this page, apart "
            "from the package:"
        )
        yield Entries(entries=tuple(Entry(text=line) for line in seal))
    if not algorithm:
        yield Paragraph(text="The package has no list of digests that a usual program can check.")
        return
    on_mac = f"shasum -a {algorithm.removeprefix('sha')}"
    first = (
        f"On Linux: `{algorithm}sum -c manifest-{algorithm}.txt`, on macOS: `{on_mac} -c "
        f"manifest-{algorithm}.txt`, in the folder that holds bagit.txt. Every line must end in OK."
    )
    steps = [first]
    if seal:
        steps += [
            f"The same for tagmanifest-{algorithm}.txt, which proves the lists themselves.",
            f"`{algorithm}sum tagmanifest-{algorithm}.txt` must give the digest above.",
        ]
    steps.append("With this program all of it is one command: `tailsout check` and the folder.")
    yield Entries(entries=tuple(Entry(text=one) for one in steps))


def _algorithm(package: PackageFacts | None) -> str:
    """Return the strongest algorithm of a payload manifest that usual programs know."""
    named = {one.algorithm for one in package.manifests if not one.is_tag} if package else set()
    return next((one for one in ("sha512", "sha256") if one in named), "")
