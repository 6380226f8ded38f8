"""Three gates before a fault costs another trip to the reel: threading, unloading, boxing.

Nothing is written but the facts kept for the next time; captures are only read.
"""

import os
from collections.abc import Collection, Iterator
from contextlib import suppress
from dataclasses import replace
from pathlib import Path

from tailsout.ground.findings import Verdict, worst
from tailsout.ground.progress import Progress
from tailsout.mapping.forms.job_forms import JobForms
from tailsout.records.gate import Gate, Stage, Word
from tailsout.records.machine import Machine
from tailsout.records.transfer import Transfer
from tailsout.work import logbook
from tailsout.work.gating import boxing, hours, job_so_far, set_up, shelf, stage, unloading
from tailsout.work.gating.job_so_far import JobSoFar
from tailsout.work.job import with_sessions
from tailsout.work.surroundings import Surroundings


def gates(
    job: Path, at: Stage | None, around: Surroundings, growing: Collection[str] = ()
) -> Iterator[Gate]:
    """Yield the answer of a gate: at once what forms and headers show, then with the samples.

    `growing` are the ids of captures known to be written just now. Raises UsageError if there is
    no job, SurroundingsError if its forms cannot be read.
    """
    # `Path.resolve` raises RuntimeError for a link that leads to itself.
    so_far = job_so_far.headers(Path(os.path.realpath(job)), around, growing)
    where, why = stage.inferred(so_far)
    if at is not None:
        where, why = at, "as asked"
    if where == "threading":
        yield _threading(so_far, why, around)
    elif where == "boxing":
        yield _boxing(so_far, why)
    else:
        if not job_so_far.is_known(so_far, around):
            yield unloading.gate(so_far, why)
        if so_far.transfer is not None:
            yield unloading.gate(job_so_far.measured(so_far, around), why)


def verdict(gate: Gate) -> Verdict:
    """Return what a gate's answer weighs; a stop sign refuses."""
    stopped = [Verdict.REFUSED] if gate.word == "STOP" else []
    return worst((*stopped, *(one.verdict for one in gate.findings)))


def _faulty(so_far: JobSoFar, at: Stage, why: str) -> Gate:
    return Gate(
        stage=at,
        why=why,
        word="WAIT",
        answer="WAIT: THE FORMS HAVE FAULTS",
        because=("put them right, then ask again",),
        at_desk=so_far.with_lines(so_far.faults),
        is_whole=False,
    )


def _threading(so_far: JobSoFar, why: str, around: Surroundings) -> Gate:
    transfer, forms = so_far.transfer, so_far.forms
    if transfer is None or forms is None:
        return _faulty(so_far, "threading", why)
    room = set_up.Room(
        instant=around.instant,
        tapes=shelf.tapes_on(forms.calibration_tapes),
        free_octets=_free(so_far.folder, around),
        machines=_machines(forms, transfer, around, around.progress),
    )
    sheet = set_up.sheet(so_far.dossier, transfer, room)
    sheet = replace(sheet, stops=so_far.with_lines(sheet.stops))
    return Gate(
        stage="threading",
        why=why,
        word="STOP" if sheet.stops else "GO",
        answer="STOP: DO NOT THREAD IT YET" if sheet.stops else "NOTHING STANDS AGAINST THREADING",
        because=tuple(dict.fromkeys(one.kind.title for one in sheet.stops)),
        sheet=sheet,
    )


def _free(folder: Path, around: Surroundings) -> int | None:
    place = folder / "captures"
    with suppress(OSError):
        return around.disk.free_octets(place if place.is_dir() else folder)
    return None


def _machines(
    forms: JobForms, transfer: Transfer, around: Surroundings, progress: Progress
) -> tuple[Machine, ...]:
    studio = forms.studio_folder
    if studio is None:
        return transfer.machines
    cared_for = (with_sessions(one, forms) for one in transfer.machines)
    return tuple(
        hours.as_of(one, transfer, logbook.read(studio, one.id, progress), around.instant)
        for one in cared_for
    )


def _leaving(before: Gate) -> tuple[Word, str]:
    if before.needs_reel:
        return "KEEP", "KEEP THE REEL OUT: IT MAY BE WANTED AGAIN"
    if before.before_boxing:
        return "OPEN", f"STILL OPEN: {len(before.before_boxing)}"
    return "BOX", "THE REEL MAY GO INTO ITS BOX"


def _boxing(so_far: JobSoFar, why: str) -> Gate:
    transfer = so_far.transfer
    if transfer is None:
        return _faulty(so_far, "boxing", why)
    before = unloading.gate(so_far, why)
    word, answer = _leaving(before)
    return replace(
        before,
        stage="boxing",
        word=word,
        answer=answer,
        because=tuple(dict.fromkeys(one.kind.title for one in before.needs_reel)),
        at_desk=(),
        notes=0,
        parts=(boxing.told(transfer),),
        is_whole=True,
    )
