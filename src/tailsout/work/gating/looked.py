"""A job as far as it has come: forms, the captures that are there, what headers and samples show.

What is not there yet, still grows or cannot be read is told and left alone; nothing stops for it.
"""

from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path

from tailsout.bag.names import from_disk
from tailsout.ground.errors import MaterialError, SurroundingsError
from tailsout.ground.findings import Finding, Kind, in_order
from tailsout.ground.units import printable
from tailsout.mapping.forms.reading import JobForms, read_job
from tailsout.mapping.forms.stating import with_lines
from tailsout.records.dossier import Dossier
from tailsout.records.transfer import Transfer
from tailsout.rules import judge
from tailsout.work import calibration, captures, first_pass
from tailsout.work.captures import Taken
from tailsout.work.gating.kinds import CAPTURE_AWAITED, CAPTURE_GROWING, OUT_OF_REACH
from tailsout.work.gating.reused import Reused
from tailsout.work.job import state
from tailsout.work.located import Located, SoFar, so_far, wants_interleaved
from tailsout.work.settling import Waiting, is_growing
from tailsout.work.surroundings import Surroundings


@dataclass(frozen=True, slots=True, kw_only=True)
class Looked:
    """What was seen of a job."""

    folder: Path
    forms: JobForms | None
    dossier: Dossier
    """Its transfer is None if the forms have faults."""
    faults: tuple[Finding, ...] = ()
    """Of the forms."""
    absent: tuple[Finding, ...] = ()
    """Captures that are not there yet, still grow, or cannot be read."""
    taken: tuple[Taken, ...] = ()
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


def headers(folder: Path, around: Surroundings, growing: Collection[str] = ()) -> Looked:
    """Look at forms and headers; no sample is read. `growing` are captures known to be written.

    Raises UsageError if there is no job, SurroundingsError if its forms cannot be read.
    """
    forms, found = read_job(folder)
    if forms is None:
        return Looked(folder=folder, forms=None, dossier=Dossier(origin="closing"), faults=found)
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
    absent = tuple(_absent(stated, moving, lost, dossier))
    met = tuple(finding for one in taken for finding in one.survey.findings)
    dossier = replace(dossier, reading=(*dossier.reading, *met))
    if stated.findings:
        dossier = replace(dossier, transfer=None)
    return Looked(
        folder=folder,
        forms=forms,
        dossier=dossier,
        faults=in_order((*told.findings, *stated.findings)),
        absent=absent,
        taken=taken,
        growing=moving,
        unread=tuple(one.name for one in taken),
    )


def measured(looked: Looked, around: Surroundings) -> Looked:
    """Measure what is there, one capture after the other; what was measured before is reused.

    A capture that vanishes or changes meanwhile is told, and the rest is measured all the same.
    """
    transfer = looked.transfer
    if transfer is None or looked.forms is None:
        return looked
    reused = Reused.of(looked.folder, around)
    passed: dict[str, first_pass.Passed] = {}
    lost: list[Finding] = []
    for one in looked.taken:
        try:
            passed[one.name] = reused.capture(one, transfer, around.progress)
        except (MaterialError, SurroundingsError) as error:
            lost.append(_at(OUT_OF_REACH, looked.dossier, one.id, str(error)))
    dossier, found = _with_tones(looked, transfer, around, reused)
    reused.keep()
    lost += found
    return replace(
        looked,
        dossier=first_pass.with_facts(dossier, passed),
        absent=(*looked.absent, *lost),
        unread=tuple(one.name for one in looked.taken if one.name not in passed),
    )


def is_known(looked: Looked, around: Surroundings) -> bool:
    """Tell whether all there is to measure was measured before, so that nobody has to wait."""
    if looked.transfer is None:
        return False
    reused = Reused.of(looked.folder, around)
    return all(reused.knows(one, looked.transfer) for one in looked.taken)


def _with_tones(
    looked: Looked, transfer: Transfer, around: Surroundings, reused: Reused
) -> tuple[Dossier, tuple[Finding, ...]]:
    """Read the captures of calibration tapes that the job's sessions name."""
    studio = looked.forms.studio_folder if looked.forms is not None else None
    waiting = Waiting(seconds_now=around.seconds_now, wait=False, progress=around.progress)
    try:
        bench = calibration.find(looked.folder, studio, transfer, waiting)
        told = tuple(
            replace(fact, tones=reused.tones(taken, fact, transfer, around.progress))
            for taken, fact in bench.tones
        )
    except (MaterialError, SurroundingsError) as error:
        place = looked.dossier.place("/sessions")
        return looked.dossier, (OUT_OF_REACH.at(place, printable(str(error))),)
    return replace(looked.dossier, calibrations=told, at_rest=bench.at_rest), ()


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
    stated: SoFar, moving: Collection[str], lost: Mapping[str, str], dossier: Dossier
) -> Iterator[Finding]:
    for name, files in stated.awaited.items():
        told = ", ".join(printable(one, 80) for one in files)
        yield _at(CAPTURE_AWAITED, dossier, name, f"{told} is not there.")
    for name in sorted(moving):
        files = tuple(from_disk(path.name) for path in stated.found[name].files)
        told = ", ".join(printable(one, 80) for one in files)
        yield _at(CAPTURE_GROWING, dossier, name, f"{told} changed within the last seconds.")
    for name, why in lost.items():
        yield _at(OUT_OF_REACH, dossier, name, why)


def _at(kind: Kind, dossier: Dossier, capture: str, text: str) -> Finding:
    every = dossier.transfer.captures if dossier.transfer is not None else ()
    index = next((n for n, one in enumerate(every) if one.id == capture), None)
    place = dossier.place("/captures" if index is None else f"/captures/{index}")
    return kind.at(place, f"capture {printable(capture)!r}: {printable(text)}")
