"""Closes out a transfer: forms → measure → Dossier → rules → package → proof → receipt.

A capture is opened for reading only, and read twice: to measure, and to copy through. The third
pass reads the staged package back and judges it with the code that judges strangers.
"""

import os
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path

from tailsout.bag.build import Built
from tailsout.bag.plan import Plan
from tailsout.bag.stage import Stage
from tailsout.ground import clock
from tailsout.ground.errors import (
    MaterialError,
    TailsoutError,
)
from tailsout.ground.findings import Finding, Judgement, Verdict, in_order
from tailsout.ground.portable import not_portable
from tailsout.ground.units import printable
from tailsout.mapping.forms.job_forms import JobForms, read_job
from tailsout.mapping.forms.transfer import with_lines
from tailsout.mapping.logbook import lines_of, seconds_of
from tailsout.records.dossier import Dossier
from tailsout.records.logbook import LogLine
from tailsout.records.transfer import Transfer
from tailsout.rules import judge
from tailsout.work import (
    calibration,
    captures,
    commit,
    destination,
    first_pass,
    logbook,
    paths,
    recipients,
)
from tailsout.work.calibration import Bench
from tailsout.work.captures import Taken
from tailsout.work.contents import Contents
from tailsout.work.destination import Destination
from tailsout.work.job import Stated, state
from tailsout.work.located import find, wants_interleaved
from tailsout.work.paths import made_of
from tailsout.work.recount import held
from tailsout.work.settling import Waiting, settle
from tailsout.work.surroundings import Surroundings

_STOPPING = frozenset({Verdict.FAIL, Verdict.REFUSED})


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """What became of a job."""

    judgement: Judgement
    plan: Plan | None = None
    """What would be, or was, written; None if findings stopped the job."""
    built: Built | None = None
    receipt: Path | None = None
    label: Path | None = None
    """None if none could be laid beside the package."""
    made_of: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    """Files of the job that each master is made of, by its path in the package."""


def close(
    job: Path,
    parent: Path,
    around: Surroundings,
    *,
    wait: bool = False,
    only_plan: bool = False,
    with_calibration: bool = False,
    resume: bool = False,
    turn: Callable[[frozenset[str]], None] | None = None,
) -> Outcome:
    """Close out the job in folder `job` into `<parent>/<package-id>/`.

    `with_calibration` packs the session's captures of calibration tapes though an earlier package
    holds them. `resume` goes on with a build that was cut off, as of the instant it began. `turn`
    is told the digests of the captures that would be packed, and comes back when no other job that
    is being closed may still be the first to pack one of them.
    Findings that must be mended stop it before anything is written. Raises UsageError if there is
    no job, nothing to resume or no BagIt Profile where the recipient's form names one, RefusedError
    if the destination exists or lies inside the job, MaterialError if a capture is unusable,
    another version began what is resumed, or the bag would not keep that profile,
    SurroundingsError for disk, growth or change of a capture, or work that was left and is not
    resumed, CutOffError if the user interrupts it when the package stands already.
    """
    # `Path.resolve` raises RuntimeError for a link that leads to itself.
    folder = Path(os.path.realpath(job))
    forms, found = read_job(folder)
    destination.refuse_within(parent, folder, "job")
    if forms is None:
        return _stopped(found)
    waiting = Waiting(seconds_now=around.seconds_now, wait=wait, progress=around.progress)
    taken, stated = _stated(folder, forms, waiting)
    transfer = stated.dossier.transfer
    if transfer is None:
        return _stopped(stated.findings)
    place = Destination(parent=parent, name=transfer.package_id)
    around = destination.as_begun(place, around, resume=resume)
    bench = calibration.find(folder, forms.studio_folder, transfer, waiting)
    contents = _contents(
        forms,
        taken,
        stated,
        bench,
        around,
        only_plan=only_plan,
        with_calibration=with_calibration,
        turn=turn,
    )
    if contents.judgement.verdict in _STOPPING:
        return Outcome(judgement=contents.judgement)
    if only_plan:
        plan, judgement = contents.plan(None)
        return Outcome(judgement=judgement, plan=plan, made_of=made_of(transfer, taken))
    with commit.scratch_files(around.disk, parent) as scratch:
        plan, judgement = contents.plan(scratch)
        with commit.telling_of_interruption(place, around.disk):
            done = commit.commit(
                plan,
                place,
                disk=around.disk,
                progress=around.progress,
                resume=resume,
                bagit_profile=contents.bagit_profile,
            )
            _log(forms, contents.dossier, transfer, around)
    return committed(judgement, plan, place, done)


def _contents(
    forms: JobForms,
    taken: tuple[Taken, ...],
    stated: Stated,
    bench: Bench,
    around: Surroundings,
    *,
    only_plan: bool,
    with_calibration: bool,
    turn: Callable[[frozenset[str]], None] | None,
) -> Contents:
    """Measure the captures, unless only planned, and judge the job: all that a package is made of.

    Raises as `close`.
    """
    transfer = stated.dossier.transfer
    if transfer is None:
        raise ValueError("what states nothing was stopped before")
    unfit = paths.unfit(stated.dossier, taken, stated.kept, bench)
    _refuse_nothing(taken, transfer)
    bagit_profile = recipients.bagit_profile(transfer, forms.studio_folder)
    # A master without a name stops the job whatever the samples show; all else is told with it.
    is_read = unfit == () and not only_plan
    passed = first_pass.measure(taken, around.progress, transfer) if is_read else {}
    bench = _identified(bench, forms, transfer, around, again=with_calibration, turn=turn)
    if is_read:
        bench = calibration.measured(bench, transfer, around.progress)
    dossier = replace(
        stated.dossier,
        reading=(*stated.dossier.reading, *(unfit or ())),
        as_of=clock.stamp(around.instant)[:10],
        calibrations=bench.calibrations,
        at_rest=bench.at_rest,
    )
    dossier = first_pass.with_facts(dossier, passed)
    judgement = _judge(forms, dossier)
    is_packed = not only_plan and judgement.verdict not in _STOPPING
    return Contents(
        dossier=dossier,
        judgement=judgement,
        taken=taken,
        kept=stated.kept,
        passed=passed,
        digests=first_pass.digests(taken, passed, around.progress) if is_packed else {},
        bench=bench,
        around=around,
        bagit_profile=bagit_profile,
        recipient_form=forms.recipient.text.encode() if forms.recipient is not None else b"",
    )


def committed(
    judgement: Judgement, plan: Plan, place: Destination, done: commit.Committed
) -> Outcome:
    """Tell of a package that stands, with what only the finished package could show.

    The checks of its proof take the place of those made beforehand.
    """
    known = {finding.code for finding in judgement.findings}
    shown = (finding for finding in done.proof.findings if finding.code not in known)
    return Outcome(
        judgement=Judgement(
            findings=in_order((*judgement.findings, *shown)), checks=done.proof.checks
        ),
        plan=plan,
        built=done.built,
        receipt=place.receipt,
        label=done.label,
    )


def discard(job: Path, parent: Path, around: Surroundings) -> tuple[Path, bool]:
    """Clear away what a close of the job that was cut off left below `parent`.

    Returns the place of the package, and whether anything was left. A finished package is never
    touched. Raises UsageError if there is no job, MaterialError if its form does not name the
    package, SurroundingsError if another close is at it.
    """
    forms, _ = read_job(Path(os.path.realpath(job)))
    name = forms.job.data.get("package_id") if forms is not None else None
    # Danger: what is removed is named by this.
    if not isinstance(name, str) or "/" in name or not_portable(name):
        raise MaterialError(
            f"The form of {printable(str(job))} does not say which package it is for.",
            "Mend package_id in job.toml.",
        )
    final = parent / name
    return final, Stage(final, around.disk, around.progress).discard()


def _log(forms: JobForms, dossier: Dossier, transfer: Transfer, around: Surroundings) -> None:
    """Add to the logbooks. The package stands already, so a fault here is told and no more."""
    if forms.studio_folder is None:
        return
    try:
        lines = lines_of(transfer, seconds_of(dossier), held(dossier))
        logbook.add(forms.studio_folder, lines, around.disk, around.progress)
    except TailsoutError as error:
        around.progress.say(f"{error} The package stands; `tailsout recount` adds the line later.")


def _stopped(findings: tuple[Finding, ...]) -> Outcome:
    return Outcome(judgement=Judgement(findings=in_order(findings), checks=()))


def _refuse_nothing(taken: tuple[Taken, ...], transfer: Transfer) -> None:
    if not taken and transfer.kind != "record only":
        raise MaterialError(
            f"The job {transfer.package_id} names no capture, so there is nothing to pack.",
            'Add a [[captures]] table to job.toml; a reel that was not played is kind = "record '
            'only".',
        )


def _stated(folder: Path, forms: JobForms, waiting: Waiting) -> tuple[tuple[Taken, ...], Stated]:
    """Look into the captures and read what is stated; every finding of the forms at once."""
    found, missing = find(folder, forms)
    settle(found, folder, waiting)
    taken = captures.look(found, folder, interleave=wants_interleaved(forms))
    stated = state(folder, forms, tuple(one.survey.record for one in taken), waiting.progress)
    met = tuple(finding for one in taken for finding in one.survey.findings)
    if met and stated.dossier.transfer is not None:
        dossier = replace(stated.dossier, reading=(*stated.dossier.reading, *met))
        stated = replace(stated, dossier=dossier)
    if missing:
        dossier = replace(stated.dossier, transfer=None)
        stated = Stated(dossier=dossier, findings=(*stated.findings, *missing))
    return taken, stated


def _identified(
    bench: Bench,
    forms: JobForms,
    transfer: Transfer,
    around: Surroundings,
    *,
    again: bool,
    turn: Callable[[frozenset[str]], None] | None,
) -> Bench:
    """Settle which captures of calibration tapes an earlier package holds, by the logbooks."""
    bench = calibration.identified(bench, around.progress)

    def by_logbooks() -> Bench:
        lines: list[LogLine] = []
        studio = forms.studio_folder
        if studio is not None and bench.tones:
            for machine in transfer.machines:
                lines += logbook.read(studio, machine.id, around.progress) or ()
        return calibration.settled(bench, transfer.package_id, lines, again=again)

    found = by_logbooks()
    if turn is None or again:
        return found
    turn(frozenset(one.sha256 for one in found.calibrations if one.path is not None))
    # Another job may have packed them meanwhile.
    return by_logbooks()


def _judge(forms: JobForms, dossier: Dossier) -> Judgement:
    judgement = judge(dossier)
    return replace(judgement, findings=in_order(with_lines(forms, judgement.findings)))
