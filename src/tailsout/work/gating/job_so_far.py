"""A job as far as it has come: forms, the captures that are there, what headers and samples show.

What is not there yet, still grows or cannot be read is told and left alone; nothing stops for it.
"""

from collections.abc import Collection, Iterator, Mapping
from contextlib import suppress
from dataclasses import dataclass, field, replace
from difflib import get_close_matches
from pathlib import Path, PurePosixPath

from tailsout.bag.names import from_disk, to_disk
from tailsout.ground import clock
from tailsout.ground.errors import MaterialError, SurroundingsError, TailsoutError
from tailsout.ground.findings import Finding, Kind, in_order
from tailsout.ground.progress import Progress
from tailsout.ground.units import printable
from tailsout.mapping import naming
from tailsout.mapping.forms.job_forms import JobForms, read_job
from tailsout.mapping.forms.transfer import with_lines
from tailsout.records.dossier import Dossier
from tailsout.records.transfer import Transfer
from tailsout.rules import judge
from tailsout.work import calibration, captures, first_pass, paths
from tailsout.work.calibration import Bench
from tailsout.work.captures import Taken
from tailsout.work.gating.kinds import (
    CAPTURE_AWAITED,
    CAPTURE_GROWING,
    CAPTURE_UNNAMED,
    CLOSE_WOULD_STOP,
    OUT_OF_REACH,
)
from tailsout.work.gating.reused import Reused
from tailsout.work.job import state
from tailsout.work.located import Located, SoFar, so_far, wants_interleaved
from tailsout.work.settling import Waiting, is_growing
from tailsout.work.surroundings import Surroundings


@dataclass(frozen=True, slots=True, kw_only=True)
class JobSoFar:
    """What is there of a job, read as far as it goes."""

    folder: Path
    forms: JobForms | None
    dossier: Dossier
    """Its transfer is None if the forms have faults."""
    faults: tuple[Finding, ...] = ()
    """Of the forms."""
    absent: tuple[Finding, ...] = ()
    """Captures that are not there yet, still grow, or cannot be read; what would stop `close`."""
    taken: tuple[Taken, ...] = ()
    bench: Bench = field(default_factory=Bench)
    """Captures that prove the machine."""
    growing: frozenset[str] = field(default_factory=frozenset)
    """Ids of captures that a recorder may be writing."""
    unread: tuple[str, ...] = ()
    """Files of which the samples have not been measured."""

    @property
    def transfer(self) -> Transfer | None:
        """What the forms state."""
        return self.dossier.transfer

    def judged(self) -> tuple[Finding, ...]:
        """Return what the rules find, and what is wrong with the captures at hand."""
        if self.transfer is None:
            return self.faults
        return in_order((*self.absent, *judge(self.dossier).findings))

    def with_lines(self, findings: tuple[Finding, ...]) -> tuple[Finding, ...]:
        """Give findings the lines of the forms they speak of."""
        return with_lines(self.forms, findings) if self.forms is not None else findings


def headers(folder: Path, around: Surroundings, growing: Collection[str] = ()) -> JobSoFar:
    """Look at forms and headers; no sample is read. `growing` are captures known to be written.

    Raises UsageError if there is no job, SurroundingsError if its forms cannot be read.
    """
    forms, found = read_job(folder)
    if forms is None:
        return JobSoFar(folder=folder, forms=None, dossier=Dossier(origin="closing"), faults=found)
    stated = so_far(folder, forms)
    moving = frozenset(
        name
        for name, one in stated.found.items()
        if name in growing or _grows(one, around.seconds_now())
    )
    taken, lost = _taken(folder, forms, stated, moving)
    records = tuple(one.survey.record for one in taken)
    told = state(folder, forms, records, around.progress)
    dossier = told.dossier
    absent = tuple(_absent(folder, stated, moving, lost, dossier))
    bench = Bench()
    if dossier.transfer is not None:
        bench, stopped = _bench(folder, forms, dossier, around)
        absent += stopped or paths.unfit(dossier, taken, told.kept, bench) or ()
    met = tuple(finding for one in taken for finding in one.survey.findings)
    today = clock.stamp(around.instant)[:10]
    dossier = replace(dossier, reading=(*dossier.reading, *met), as_of=today)
    if stated.findings:
        dossier = replace(dossier, transfer=None)
    return JobSoFar(
        folder=folder,
        forms=forms,
        dossier=dossier,
        faults=in_order((*told.findings, *stated.findings)),
        absent=absent,
        taken=taken,
        bench=bench,
        growing=moving,
        unread=tuple(one.name for one in taken),
    )


def measured(so_far: JobSoFar, around: Surroundings) -> JobSoFar:
    """Measure what is there, one capture after the other; what was measured before is reused.

    A capture that vanishes or changes meanwhile is told, and the rest is measured all the same.
    """
    transfer = so_far.transfer
    if transfer is None or so_far.forms is None:
        return so_far
    reused = Reused.of(so_far.folder, around)
    passed: dict[str, first_pass.Passed] = {}
    lost: list[Finding] = []
    for one in so_far.taken:
        try:
            passed[one.name] = reused.capture(one, transfer, around.progress)
        except (MaterialError, SurroundingsError) as error:
            lost.append(_at(OUT_OF_REACH, so_far.dossier, one.id, str(error)))
    dossier, found = _with_tones(so_far, transfer, around.progress, reused)
    reused.keep()
    lost += found
    return replace(
        so_far,
        dossier=first_pass.with_facts(dossier, passed),
        absent=(*so_far.absent, *lost),
        unread=tuple(one.name for one in so_far.taken if one.name not in passed),
    )


def is_known(so_far: JobSoFar, around: Surroundings) -> bool:
    """Tell whether all there is to measure was measured before, so that nobody has to wait."""
    if so_far.transfer is None:
        return False
    reused = Reused.of(so_far.folder, around)
    tones = (reused.knows_tones(*one, so_far.transfer) for one in so_far.bench.tones)
    return all(reused.knows(one, so_far.transfer) for one in so_far.taken) and all(tones)


def _bench(
    folder: Path, forms: JobForms, dossier: Dossier, around: Surroundings
) -> tuple[Bench, tuple[Finding, ...]]:
    """Find the captures that prove the machine, as `close` would."""
    waiting = Waiting(seconds_now=around.seconds_now, wait=False, progress=around.progress)
    transfer = dossier.transfer
    if transfer is None:
        return Bench(), ()
    try:
        return calibration.find(folder, forms.studio_folder, transfer, waiting), ()
    except (MaterialError, SurroundingsError) as error:
        return Bench(), (_stopped(dossier, "/sessions", error),)


def _stopped(dossier: Dossier, pointer: str, error: TailsoutError) -> Finding:
    return CLOSE_WOULD_STOP.at(dossier.place(pointer), printable(str(error)))


def _with_tones(
    so_far: JobSoFar, transfer: Transfer, progress: Progress, reused: Reused
) -> tuple[Dossier, tuple[Finding, ...]]:
    """Read the captures of calibration tapes that the job's sessions name."""
    bench = so_far.bench
    try:
        told = tuple(
            replace(fact, tones=reused.tones(taken, fact, transfer, progress))
            for taken, fact in bench.tones
        )
    except (MaterialError, SurroundingsError) as error:
        return so_far.dossier, (_stopped(so_far.dossier, "/sessions", error),)
    return replace(so_far.dossier, calibrations=told, at_rest=bench.at_rest), ()


def _grows(one: Located, now: float) -> bool:
    """Tell whether any file of a capture changed a moment ago; one that vanished is told later."""
    try:
        return any(is_growing(path, now) for path in one.files)
    except OSError:
        return False


def _taken(
    folder: Path, forms: JobForms, stated: SoFar, moving: Collection[str]
) -> tuple[tuple[Taken, ...], Mapping[str, str]]:
    """Look into every capture that has come to rest; say by id why one could not be."""
    taken: list[Taken] = []
    lost: dict[str, str] = {}
    for name, one in stated.found.items():
        if name in moving:
            continue
        try:
            taken += captures.look({name: one}, folder, interleave=wants_interleaved(forms))
        except (MaterialError, SurroundingsError) as error:
            lost[name] = str(error)
    return tuple(taken), lost


def _absent(
    folder: Path, stated: SoFar, moving: Collection[str], lost: Mapping[str, str], dossier: Dossier
) -> Iterator[Finding]:
    is_played = dossier.transfer is None or dossier.transfer.kind != "record only"
    if is_played and not (stated.found or stated.awaited or stated.findings):
        yield CAPTURE_AWAITED.at(dossier.place("/captures"), "the form names no capture.")
    unnamed = tuple(_unnamed(folder, stated, dossier))
    for name in unnamed:
        text = f"{printable(name)} is named in no form."
        yield CAPTURE_UNNAMED.at(dossier.place("/captures"), text)
    for name, files in stated.awaited.items():
        told = ", ".join(printable(one, 80) for one in files)
        near = {found for one in files for found in get_close_matches(one, unnamed, n=1)}
        hint = f"; did you mean {', '.join(map(printable, sorted(near)))}?" if near else "."
        yield _at(CAPTURE_AWAITED, dossier, name, f"{told} is not there{hint}")
    for name in sorted(moving):
        files = tuple(from_disk(path.name) for path in stated.found[name].files)
        told = ", ".join(printable(one, 80) for one in files)
        yield _at(CAPTURE_GROWING, dossier, name, f"{told} changed within the last seconds.")
    for name, why in lost.items():
        yield _at(OUT_OF_REACH, dossier, name, why)


def _unnamed(folder: Path, stated: SoFar, dossier: Dossier) -> Iterator[str]:
    """Yield the audio files in the captures folder that nothing in the form points to."""
    transfer = dossier.transfer
    if transfer is None:
        return
    named = {file for one in transfer.captures for file in naming.files_of(one)}
    named |= {one.at_rest for one in transfer.captures if one.at_rest is not None}
    known = {folder / to_disk(PurePosixPath(name).as_posix()) for name in named}
    known |= {path for one in stated.found.values() for path in one.files}
    with suppress(OSError):
        for path in sorted((folder / "captures").iterdir()):
            name = from_disk(path.name)
            is_audio = naming.is_wave(name) or naming.is_flac(name)
            if is_audio and not name.startswith(".") and path not in known and path.is_file():
                yield f"captures/{name}"


def _at(kind: Kind, dossier: Dossier, capture: str, text: str) -> Finding:
    every = dossier.transfer.captures if dossier.transfer is not None else ()
    index = next((n for n, one in enumerate(every) if one.id == capture), None)
    place = dossier.place("/captures" if index is None else f"/captures/{index}")
    return kind.at(place, f"capture {printable(capture)!r}: {printable(text)}")
