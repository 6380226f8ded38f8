"""A correction after bagging: a new version of a package beside the old one, which is only read.

Nothing is edited in place. The new version names the one it supersedes and keeps its manifests; it
is staged, proved and named as any package is.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path

from tailsout.bag.disk import Disk
from tailsout.bag.open import open_bag
from tailsout.bag.stage import Stage
from tailsout.ground.errors import MaterialError
from tailsout.ground.findings import Finding, Judgement, Verdict, in_order
from tailsout.ground.portable import is_decoded, not_portable
from tailsout.ground.units import printable
from tailsout.mapping import naming
from tailsout.mapping.forms import amending
from tailsout.mapping.forms.blank import blank
from tailsout.records.amendment import Amendment
from tailsout.rules import judge
from tailsout.work import close_out, commit, destination
from tailsout.work.amending import copies, leaks, superseded
from tailsout.work.amending.consequences import Consequences, work_out
from tailsout.work.amending.draft import Draft, held_against
from tailsout.work.amending.next_version import NextVersion
from tailsout.work.amending.superseded import Superseded
from tailsout.work.close_out import Outcome
from tailsout.work.destination import Destination
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
    destination.refuse_within(parent, package, "package")
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
        place = Destination(parent=parent, name=_next_name(old))
        around = destination.as_begun(place, around, resume=resume)
        changes = work_out(old, wished, draft, around, only_plan=only_plan)
        judgement = _judge(changes)
        amended = Amended(
            outcome=Outcome(judgement=judgement),
            amendment=changes.amendments[-1],
            still_held_by=_holders(old, draft),
        )
        if judgement.verdict in _STOPPING:
            return amended
        with commit.scratch_files(around.disk, parent) as scratch:
            version = NextVersion(
                old=old,
                draft=draft,
                changes=changes,
                judgement=judgement,
                copies=copies.prepare(
                    old, draft, changes.copies, None if only_plan else scratch, around
                ),
                around=around,
                scratch=None if only_plan else scratch,
            )
            outcome = _written(version, place, resume=resume)
        return replace(amended, outcome=outcome)


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


def _stopped(found: tuple[Finding, ...]) -> Amended:
    return Amended(outcome=Outcome(judgement=Judgement(findings=in_order(found), checks=())))


def _written(version: NextVersion, place: Destination, *, resume: bool) -> Outcome:
    """Write the new version, unless only its plan can be had. Raises as `amend`."""
    around, judgement = version.around, version.judgement
    findings = in_order((*judgement.findings, *leaks.found(version)))
    judgement = replace(judgement, findings=findings)
    plan = version.plan()
    if version.scratch is None:
        return Outcome(judgement=judgement, plan=plan)
    with commit.telling_of_interruption(place, around.disk):
        done = commit.commit(plan, place, disk=around.disk, progress=around.progress, resume=resume)
    return close_out.committed(judgement, plan, place, done)


def _judge(changes: Consequences) -> Judgement:
    """Judge the new version before there is a bag: checks of the bag do not weigh yet."""
    judgement = judge(changes.dossier)
    return Judgement(
        findings=in_order((*judgement.findings, *changes.notes)),
        checks=tuple(replace(check, decides=False) for check in judgement.checks),
    )


def _holders(old: Superseded, draft: Draft) -> tuple[str, ...]:
    """Name the versions that hold what is taken back, the newest first."""
    is_taken_back = draft.withheld or any(one.change == "withdrawn" for one in draft.files)
    if not is_taken_back:
        return ()
    earlier: Iterator[str] = (one.supersedes for one in reversed(old.amendments))
    return (old.name, *earlier)
