"""A correction after bagging: a new version of a package beside the old one, which is only read.

Nothing is edited in place. The new version names the one it supersedes and keeps its manifests; it
is staged, proved and named as any package is.
"""

import os
from collections.abc import Iterable, Iterator
from contextlib import ExitStack
from dataclasses import dataclass, replace
from pathlib import Path
from typing import BinaryIO

from tailsout.bag.disk import Disk
from tailsout.bag.open import open_bag
from tailsout.bag.stage import Stage
from tailsout.ground.errors import MaterialError, RefusedError
from tailsout.ground.findings import Finding, Judgement, Verdict, in_order
from tailsout.ground.portable import is_decoded, not_portable
from tailsout.ground.units import printable
from tailsout.mapping import naming
from tailsout.mapping.forms import amending
from tailsout.mapping.forms.amending import AmendmentForm
from tailsout.mapping.forms.blank import blank
from tailsout.records.amendment import Amendment
from tailsout.records.dossier import Dossier
from tailsout.rules import judge
from tailsout.work import close_out, commit, destination
from tailsout.work.amending import copies, leaks, superseded, worked_out
from tailsout.work.amending.next_version import NextVersion
from tailsout.work.amending.superseded import Superseded
from tailsout.work.amending.wished import Draft, held_against
from tailsout.work.close_out import Outcome
from tailsout.work.surroundings import Surroundings

_STOPPING = frozenset({Verdict.FAIL, Verdict.REFUSED})


@dataclass(frozen=True, slots=True, kw_only=True)
class Amended:
    """What became of an amendment."""

    outcome: Outcome
    amendment: Amendment | None = None
    """What changed; None if it could not be worked out."""
    still_held_by: tuple[str, ...] = ()
    """Names of the older versions that hold what is withheld or withdrawn, as far as is known."""


def begin(path: Path, disk: Disk) -> None:
    """Write the commented form of an amendment.

    Raises RefusedError if something stands there, SurroundingsError if the disk refuses.
    """
    disk.write_beside(path, blank(amending.SCHEMA_NAME, {}).encode("utf-8"))


def amend(
    package: Path,
    form: Path,
    parent: Path,
    around: Surroundings,
    *,
    only_plan: bool = False,
    resume: bool = False,
) -> Amended:
    """Make the next version of `package` in `parent`, as `form` says.

    `resume` goes on with a build that was cut off, as of the instant it began. Findings stop it
    before anything is written. Raises UsageError if there is no package or nothing to resume,
    RefusedError if the destination exists or lies inside the package, MaterialError if a file is
    damaged or cannot be used, SurroundingsError for disk, lock or a file that changes, CutOffError
    if the user interrupts it when the new version stands already.
    """
    if destination.is_within(Path(os.path.realpath(parent)), Path(os.path.realpath(package))):
        raise RefusedError(
            f"The destination {printable(str(parent))} lies inside the package.",
            "Choose a place outside of it; a package is never edited.",
        )
    wished, found = amending.read(form)
    if wished is None or found:
        return _stopped(found)
    with open_bag(package) as bag:
        old, found = superseded.read(bag)
        if old is None:
            return _stopped(found)
        draft, found = held_against(wished, old, form.absolute().parent)
        if found:
            return _stopped(found)
        name = _next_name(old)
        receipt = parent / f"{name}{naming.RECEIPT_BESIDE}"
        place = _Place(final=parent / name, receipt=receipt, resume=resume)
        around = destination.begun(place.final, place.receipt, around, resume=resume)
        return _next(old, wished, draft, place, around, only_plan=only_plan)


def discard(package: Path, parent: Path, around: Surroundings) -> tuple[Path, bool]:
    """Clear away what an amendment of `package` that was cut off left below `parent`.

    Returns the place of the new version, and whether anything was left. A finished package is
    never touched. Raises UsageError if there is no package, MaterialError if its next version has
    no name, SurroundingsError if another amendment is at it.
    """
    with open_bag(package) as bag:
        old, found = superseded.read(bag)
    if old is None:
        raise MaterialError(
            f"What {printable(str(package))} is called cannot be told: {found[0].text}",
            "Remove the folder whose name ends in .part by hand.",
        )
    final = parent / _next_name(old)
    return final, Stage(final, around.disk, around.progress).discard()


def _next_name(old: Superseded) -> str:
    """Return the name of the next version. Raises MaterialError if no system could hold it."""
    name = naming.version_name(old.first_name, old.version + 1)
    # Danger: a stranger may have named the package, and what is discarded is named by this.
    if "/" in name or not is_decoded(name) or not_portable(name) or not_portable(old.name):
        raise MaterialError(
            f"A package cannot be called {printable(name)!r}.",
            "Copy it into a folder with a plain name, and amend the copy.",
        )
    return name


@dataclass(frozen=True, slots=True, kw_only=True)
class _Place:
    """Where a new version is written."""

    final: Path
    receipt: Path
    resume: bool


def _stopped(found: tuple[Finding, ...]) -> Amended:
    return Amended(outcome=Outcome(judgement=Judgement(findings=in_order(found), checks=())))


def _next(
    old: Superseded,
    wished: AmendmentForm,
    draft: Draft,
    place: _Place,
    around: Surroundings,
    *,
    only_plan: bool,
) -> Amended:
    headers = worked_out.headers(old, draft)
    listening = copies.following(old, draft)
    new = worked_out.retaken(old, draft, around, only_plan=only_plan)
    changes = worked_out.files(old, draft, headers, new, listening)
    amendment = worked_out.amendment(old, wished, around, draft=draft, files=changes)
    gone = [one.at for one in draft.statements if one.change == "withheld"]
    amendments = leaks.without_withheld((*old.amendments, amendment), gone)
    dossier, notes = worked_out.dossier(old, draft, headers, new, amendments)
    judgement = _judge(dossier, (*notes, *(x for one in headers.values() for x in one.notes)))
    told = Amended(
        outcome=Outcome(judgement=judgement),
        amendment=amendments[-1],
        still_held_by=_holders(old, draft),
    )
    if judgement.verdict in _STOPPING:
        return told
    with ExitStack() as scratches:

        def scratch() -> BinaryIO:
            return scratches.enter_context(commit.scratch(around.disk, place.final.parent))

        version = NextVersion(
            old=old,
            draft=draft,
            amendments=amendments,
            dossier=dossier,
            judgement=judgement,
            renewed=headers,
            copies=copies.laid(old, draft, listening, None if only_plan else scratch, around),
            new=new,
            around=around,
            scratch=None if only_plan else scratch,
        )
        found = tuple(leaks.found(version))
        judgement = replace(judgement, findings=in_order((*judgement.findings, *found)))
        plan = version.plan()
        if only_plan:
            return replace(told, outcome=Outcome(judgement=judgement, plan=plan))
        try:
            done = commit.commit(
                plan,
                place.final.parent,
                receipt=place.receipt,
                disk=around.disk,
                progress=around.progress,
                resume=place.resume,
            )
        except KeyboardInterrupt as error:
            if not around.disk.is_there(place.final):
                raise
            raise commit.cut_off(place.final, place.receipt, around.disk) from error
    outcome = Outcome(
        judgement=close_out.with_proof(judgement, done.proof),
        plan=plan,
        built=done.built,
        receipt=place.receipt,
        label=done.label,
    )
    return replace(told, outcome=outcome)


def _judge(dossier: Dossier, notes: Iterable[Finding]) -> Judgement:
    """Judge the new version before there is a bag: checks of the bag do not weigh yet."""
    judgement = judge(dossier)
    return Judgement(
        findings=in_order((*judgement.findings, *notes)),
        checks=tuple(replace(check, decides=False) for check in judgement.checks),
    )


def _holders(old: Superseded, draft: Draft) -> tuple[str, ...]:
    """Name the versions that hold what is taken back, the newest first."""
    is_taken_back = draft.withheld or any(one.change == "withdrawn" for one in draft.files)
    if not is_taken_back:
        return ()
    earlier: Iterator[str] = (one.supersedes for one in reversed(old.amendments))
    return (old.name, *earlier)
