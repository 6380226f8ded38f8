"""Tells a package that stands in the words of others: one description, and what it leaves out."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from tailsout.bag.readable import ReadableBag
from tailsout.ground.errors import MaterialError, SurroundingsError, UsageError
from tailsout.ground.progress import Progress
from tailsout.ground.units import printable
from tailsout.mapping import checks, naming
from tailsout.mapping.strict_json import MAX_JSON_OCTETS
from tailsout.rules import judge
from tailsout.views.premis.events import CHECKS
from tailsout.work.exports import VIEWS, View, summary
from tailsout.work.octets import with_formats
from tailsout.work.opened import must_be_bag, open_package
from tailsout.work.package import read_package
from tailsout.work.pictures import in_bag
from tailsout.work.receipts import afterwards


@dataclass(frozen=True, slots=True, kw_only=True)
class Exported:
    """A description of a package."""

    content: bytes
    lost: tuple[str, ...]
    """What it cannot hold, a sentence each."""


def named(name: str) -> View:
    """Find a description by its name, upper and lower case alike. Raises UsageError."""
    for view in VIEWS:
        if view.name.casefold() == name.casefold():
            return view
    known = ", ".join(view.name for view in VIEWS)
    raise UsageError(
        f"There is no description called {printable(name, 40)!r}.", f"It is one of {known}."
    )


def export(path: Path, name: str, progress: Progress, *, receipts: Sequence[Path] = ()) -> Exported:
    """Describe the package at `path` in one way. Raises as `export_in`, UsageError for the name."""
    return export_in(path, (named(name),), progress, receipts=receipts)[0]


def export_in(
    path: Path, views: Sequence[View], progress: Progress, *, receipts: Sequence[Path] = ()
) -> tuple[Exported, ...]:
    """Describe the package at `path`, a folder or an archive; no file is read through.

    What `receipts`, and acceptances among them, tell of it is added. Raises UsageError if there is
    neither folder nor archive, or no receipt, or if a description has no room for what they tell;
    MaterialError if it holds no bag, cannot be read as a whole or a receipt is of something else,
    SurroundingsError if it cannot be read.
    """
    silent = [view.name for view in views if receipts and not view.tells_later_events]
    if silent:
        telling = ", ".join(view.name for view in VIEWS if view.tells_later_events)
        raise UsageError(
            f"{silent[0]} does not tell of what happened after a package was packed.",
            f"With --receipt name one of {telling}.",
        )
    with open_package(path, progress) as bag:
        must_be_bag(bag.facts, path)
        dossier = read_package(bag)
        if receipts:
            told = afterwards(receipts, path, bag)
            dossier = replace(dossier, afterwards=told)
        judged = _checks(bag)
        pictures = [view.pictures(dossier, in_bag(bag)) for view in views]
        dossier = with_formats(dossier, in_bag(bag), bag.order)
    assets = {CHECKS: judged}
    findings = judge(dossier).findings
    return tuple(
        Exported(
            content=view.render(dossier, findings, {**assets, **shown}),
            lost=view.lost(dossier) if view.lost is not None else (),
        )
        for view, shown in zip(views, pictures, strict=True)
    )


def _checks(bag: ReadableBag) -> bytes:
    """Say what the checks came to when the package was made, if it tells."""
    if not any(file.path == naming.CHECKS for file in bag.facts.files):
        return b""
    try:
        told = checks.read(bag.read(naming.CHECKS, MAX_JSON_OCTETS))
    except (MaterialError, SurroundingsError):
        return b""
    return summary(*told).encode("utf-8") if told is not None else b""
