"""Closes out a transfer: forms → measure → Dossier → rules → package → proof → receipt.

A capture is opened for reading only, and read twice: to measure, and to copy through. The third
pass reads the staged package back and judges it with the code that judges strangers.
"""

import os
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager, suppress
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path
from typing import BinaryIO

from tailsout.bag.build import Built, build
from tailsout.bag.disk import Disk
from tailsout.bag.plan import Plan
from tailsout.ground.clock import stamp
from tailsout.ground.errors import (
    CutOffError,
    MaterialError,
    RefusedError,
    SurroundingsError,
    TailsoutError,
    from_os_error,
)
from tailsout.ground.findings import Finding, Judgement, Verdict, in_order
from tailsout.ground.progress import Progress
from tailsout.ground.units import printable
from tailsout.mapping import told
from tailsout.mapping.forms.reading import JobForms, read_job
from tailsout.mapping.forms.stating import with_lines
from tailsout.mapping.logbook import lines_of
from tailsout.mapping.plain import json_page
from tailsout.records.dossier import Dossier
from tailsout.records.transfer import Transfer
from tailsout.rules import judge
from tailsout.work import captures, first_pass, logbook
from tailsout.work.captures import Taken
from tailsout.work.check import Checked, check
from tailsout.work.contents import Contents, check_names
from tailsout.work.job import Stated, state
from tailsout.work.located import find, wants_interleaved
from tailsout.work.recount import seconds_of


@dataclass(frozen=True, slots=True, kw_only=True)
class Surroundings:
    """What a door hands in: nothing below it looks at a clock or chooses a disk."""

    instant: datetime
    software: str
    seconds_now: Callable[[], float]
    """Wall clock, for telling whether a capture is still growing."""
    disk: Disk
    progress: Progress


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """What became of a job."""

    judgement: Judgement
    plan: Plan | None = None
    """What would be, or was, written; None if findings stopped the job."""
    built: Built | None = None
    receipt: Path | None = None


def close(
    job: Path, parent: Path, around: Surroundings, *, wait: bool = False, only_plan: bool = False
) -> Outcome:
    """Close out the job in folder `job` into `<parent>/<package-id>/`.

    Findings that must be mended stop it before anything is written. Raises UsageError if there is
    no job, RefusedError if the destination exists or lies inside the job, MaterialError if a
    capture is unusable, SurroundingsError for disk, growth or change of a capture, CutOffError if
    the user interrupts it when the package stands already.
    """
    # `Path.resolve` raises RuntimeError for a link that leads to itself.
    folder = Path(os.path.realpath(job))
    if _is_within(Path(os.path.realpath(parent)), folder):
        raise RefusedError(
            f"The destination {printable(str(parent))} lies inside the job.",
            "Choose a place outside the job folder.",
        )
    forms, found = read_job(folder)
    if forms is None:
        return _stopped(found)
    taken, stated = _stated(folder, forms, around, wait=wait)
    dossier = stated.dossier
    transfer = dossier.transfer
    if transfer is None:
        return _stopped(stated.findings)
    final = parent / transfer.package_id
    receipt = parent / f"{transfer.package_id}.receipt.json"
    _refuse_if_there(final, receipt, around.disk)
    check_names(taken, stated.kept)
    if not taken and transfer.kind != "record only":
        raise MaterialError(
            f"The job {transfer.package_id} names no capture, so there is nothing to pack.",
            'Add a [[captures]] table to job.toml; a reel that was not played is kind = "record '
            'only".',
        )
    measured = {} if only_plan else first_pass.measure(taken, around.progress)
    dossier = first_pass.with_facts(dossier, measured)
    judgement = _judge(forms, dossier)
    if judgement.verdict in {Verdict.FAIL, Verdict.REFUSED}:
        return Outcome(judgement=judgement)
    with ExitStack() as scratches:

        def scratch() -> BinaryIO:
            return scratches.enter_context(_scratch(around.disk, parent))

        contents = Contents(
            transfer=transfer,
            dossier=dossier,
            judgement=judgement,
            taken=taken,
            kept=stated.kept,
            measured={name: one.measured for name, one in measured.items()},
            digests={} if only_plan else first_pass.digests(taken, measured, around.progress),
            instant=around.instant,
            software=around.software,
            scratch=None if only_plan else scratch,
            progress=around.progress,
        )
        plan, judgement = contents.plan()
        if only_plan:
            return Outcome(judgement=judgement, plan=plan)
        try:
            outcome = _commit(parent, plan, judgement, around, receipt=receipt)
            _log(forms, dossier, transfer, around)
        except KeyboardInterrupt as error:
            if not around.disk.is_there(final):
                raise
            raise _cut_off(final, receipt, around.disk) from error
    return outcome


@contextmanager
def _scratch(disk: Disk, parent: Path) -> Iterator[BinaryIO]:
    try:
        stream = disk.scratch(parent)
    except OSError as error:
        raise from_os_error(error, "Making a scratch file") from error
    try:
        yield stream
    finally:
        # What a full disk did not take is written once more here; that failure was told already.
        with suppress(OSError):
            stream.close()


def _cut_off(final: Path, receipt: Path, disk: Disk) -> CutOffError:
    has_receipt = disk.is_there(receipt)
    lacking = "with its receipt" if has_receipt else "but without its receipt"
    return CutOffError(
        f"Interrupted; {printable(str(final))} stands complete and proved, {lacking}.",
        "`tailsout recount` adds its line to the logbook."
        if has_receipt
        else "Move that package away and close again, or check it and keep it without a receipt.",
    )


def _log(forms: JobForms, dossier: Dossier, transfer: Transfer, around: Surroundings) -> None:
    """Add to the logbooks. The package stands already, so a fault here is told and no more."""
    if forms.studio_folder is None:
        return
    try:
        lines = lines_of(transfer, seconds_of(dossier))
        logbook.add(forms.studio_folder, lines, around.disk, around.progress)
    except TailsoutError as error:
        around.progress.say(f"{error} The package stands; `tailsout recount` adds the line later.")


def _is_within(inner: Path, outer: Path) -> bool:
    return inner == outer or outer in inner.parents


def _stopped(findings: tuple[Finding, ...]) -> Outcome:
    return Outcome(judgement=Judgement(findings=in_order(findings), checks=()))


def _refuse_if_there(final: Path, receipt: Path, disk: Disk) -> None:
    for path in (final, receipt):
        try:
            is_there = disk.is_there(path)
        except OSError as error:
            raise from_os_error(error, f"Looking at {printable(str(path))}") from error
        if is_there:
            raise RefusedError(
                f"{printable(str(path))} is there already; nothing was written.",
                "Choose another place or package_id; a package is never overwritten.",
            )


def _stated(
    folder: Path, forms: JobForms, around: Surroundings, *, wait: bool
) -> tuple[tuple[Taken, ...], Stated]:
    """Look into the captures and read what is stated; every finding of the forms at once."""
    found, missing = find(folder, forms)
    captures.settle(
        found, folder, seconds_now=around.seconds_now, wait=wait, progress=around.progress
    )
    taken = captures.look(found, folder, interleave=wants_interleaved(forms))
    stated = state(folder, forms, tuple(one.survey.record for one in taken), around.progress)
    met = tuple(finding for one in taken for finding in one.survey.findings)
    if met and stated.dossier.transfer is not None:
        dossier = replace(stated.dossier, reading=(*stated.dossier.reading, *met))
        stated = replace(stated, dossier=dossier)
    if missing:
        dossier = replace(stated.dossier, transfer=None)
        stated = Stated(dossier=dossier, findings=(*stated.findings, *missing))
    return taken, stated


def _judge(forms: JobForms, dossier: Dossier) -> Judgement:
    judgement = judge(dossier)
    return replace(judgement, findings=in_order(with_lines(forms, judgement.findings)))


def _commit(
    parent: Path, plan: Plan, judgement: Judgement, around: Surroundings, *, receipt: Path
) -> Outcome:
    proofs: list[Checked] = []

    def prove(stage: Path) -> Verdict:
        proofs.append(check(stage, around.progress))
        verdict = proofs[-1].judgement.verdict
        if verdict not in {Verdict.PASS, Verdict.OPEN}:
            for finding in proofs[-1].judgement.findings:
                around.progress.say(f"{finding.code}: {finding.place}: {finding.text}")
        return verdict

    built = build(plan, parent, disk=around.disk, judge=prove, progress=around.progress)
    proof = proofs[-1]
    try:
        around.disk.write_beside(receipt, json_page(_receipt(plan, built, proof, around)))
    except TailsoutError as error:
        raise SurroundingsError(
            f"{printable(str(built.path))} stands complete and proved, but without its receipt: "
            f"{error.sentence}",
            "Move that package away and close again, or check it and keep it without a receipt.",
        ) from error
    told = _with_proof(judgement, proof.judgement)
    return Outcome(judgement=told, plan=plan, built=built, receipt=receipt)


def _with_proof(judgement: Judgement, proof: Judgement) -> Judgement:
    """Add what only the finished package could show; its checks take the place of the job's."""
    known = {finding.code for finding in judgement.findings}
    shown = (finding for finding in proof.findings if finding.code not in known)
    return Judgement(findings=in_order((*judgement.findings, *shown)), checks=proof.checks)


def _receipt(plan: Plan, built: Built, proof: Checked, around: Surroundings) -> dict[str, object]:
    digests = {written.path: written.digests for written in built.written}
    return told.receipt(
        package_id=plan.name,
        committed=stamp(around.instant),
        software=around.software,
        durability=built.durability,
        files=len(built.written),
        octets=sum(written.octets for written in built.written),
        tag_manifests=built.tag_manifests,
        masters=[
            {
                "path": file.path,
                "sha256": digests[file.path]["sha256"],
                "essence_sha256": file.essence_sha256,
            }
            for file in proof.dossier.files
        ],
        judgement=proof.judgement,
    )
