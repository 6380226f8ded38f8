"""The captures that prove the machine: of calibration tapes, and of the chain at rest.

They are packed octet for octet, those of calibration tapes once a session: in the first package
that is closed from it. Later ones name that package, and carry what was read all the same.
"""

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from pathlib import Path, PurePosixPath
from typing import TYPE_CHECKING

from tailsout.bag.names import to_disk
from tailsout.bag.plan import Streamed
from tailsout.ground.errors import MaterialError
from tailsout.ground.findings import Verdict
from tailsout.ground.progress import Progress
from tailsout.mapping import naming
from tailsout.mapping.names import tree
from tailsout.records.calibration import AtRest, CalibrationFacts
from tailsout.records.logbook import LogLine
from tailsout.records.machine import Head
from tailsout.records.session import Session
from tailsout.records.transfer import Transfer
from tailsout.records.vocab import CalibrationMoment
from tailsout.rules.damage import KIND_OF
from tailsout.work import captures, first_pass
from tailsout.work.captures import LookedInto, Taken
from tailsout.work.job import session_folder
from tailsout.work.located import Located
from tailsout.work.settling import Waiting, settle

if TYPE_CHECKING:
    from tailsout.measure.line_up import ToneReading


@dataclass(frozen=True, slots=True, kw_only=True)
class Bench:
    """Every such capture that a job names, looked into, and what is told of it."""

    tones: tuple[tuple[Taken, CalibrationFacts], ...] = ()
    rests: tuple[tuple[Taken, AtRest], ...] = ()
    folder: str = naming.CALIBRATION
    """Of the package in which they lie."""
    plots: tuple[tuple[str, bytes], ...] = ()
    """What was read of the tones, drawn: path in the package and octets."""

    @property
    def paths(self) -> tuple[str, ...]:
        """Where they lie in a package that holds them all, each once."""
        tones = (self.path_of(taken, one) for taken, one in self.tones)
        rests = (one.path for _, one in self.rests)
        return tuple(dict.fromkeys((*tones, *rests)))

    def path_of(self, taken: Taken, one: CalibrationFacts) -> str:
        """Return where the capture of a calibration tape lies in a package that holds it."""
        return naming.calibration_path(self.folder, one.session, taken.name)

    @property
    def calibrations(self) -> tuple[CalibrationFacts, ...]:
        """What is told of the captures of calibration tapes."""
        return tuple(one for _, one in self.tones)

    @property
    def at_rest(self) -> tuple[AtRest, ...]:
        """What is told of the captures of the chain at rest."""
        return tuple(one for _, one in self.rests)


def find(folder: Path, studio: Path | None, transfer: Transfer, waiting: Waiting) -> Bench:
    """Look into the captures that sessions and captures of a transfer name; all are there.

    `folder` is the job's, `studio` the studio's. Raises SurroundingsError for one that is still
    growing or cannot be read, MaterialError for one whose structure is broken.
    """
    tones: list[tuple[Taken, CalibrationFacts]] = []
    for session in transfer.sessions:
        if studio is None:
            break
        at = session_folder(studio, session.id)
        for setting, moment, tape, name in _named(session):
            taken = _look(at, name, waiting)
            fact = CalibrationFacts(
                session=session.id,
                setting=setting,
                moment=moment,
                tape=tape,
                file=taken.name,
                octets=taken.survey.record.octets,
                sha256="",
                packed_in="",
                pcm=taken.survey.layout.pcm,
            )
            tones.append((taken, fact))
    rests = []
    lies_in = tree.folder(transfer.recipient, "calibration")
    for name, ids in _rests(transfer).items():
        taken = _look(folder, name, waiting)
        rest = AtRest(
            captures=ids,
            file=taken.name,
            path=naming.at_rest_path(lies_in, taken.name),
            octets=taken.survey.record.octets,
            sha256="",
            pcm=taken.survey.layout.pcm,
        )
        rests.append((taken, rest))
    return Bench(tones=tuple(tones), rests=tuple(rests), folder=lies_in)


def identified(bench: Bench, progress: Progress) -> Bench:
    """Take the digest of every capture. Raises SurroundingsError."""
    digests: dict[Path, str] = {}

    def digest_of(taken: Taken) -> str:
        file = taken.files[0]
        if file.path not in digests:
            digests[file.path] = captures.digest(file, progress)
        return digests[file.path]

    tones = tuple((taken, replace(one, sha256=digest_of(taken))) for taken, one in bench.tones)
    rests = tuple((taken, replace(one, sha256=digest_of(taken))) for taken, one in bench.rests)
    return replace(bench, tones=tones, rests=rests)


def settled(bench: Bench, package_id: str, lines: Iterable[LogLine], *, again: bool) -> Bench:
    """Settle which captures of calibration tapes this package holds.

    One that a package in the logbooks holds is not packed once more, unless `again` is set.
    """
    holders = {digest: line.key for line in lines for digest in line.holds}
    tones = []
    for taken, one in bench.tones:
        holder = package_id if again else holders.get(one.sha256, package_id)
        # Two settings may rest on one capture; it lies in the package once.
        path = bench.path_of(taken, one) if holder == package_id else None
        tones.append((taken, replace(one, packed_in=holder, path=path)))
    return replace(bench, tones=tuple(tones))


def measured(bench: Bench, transfer: Transfer, progress: Progress) -> Bench:
    """Read the tones of every capture of a calibration tape, and measure the chain at rest.

    Raises MaterialError for audio that cannot be measured, SurroundingsError.
    """
    # The meters load slowly, and a form with faults must not wait for them.
    from tailsout.work.plot import of_tones  # noqa: PLC0415

    tones, plots = [], []
    for taken, fact in bench.tones:
        read = line_up(taken, fact, transfer, progress)
        tones.append((taken, replace(fact, tones=read.facts)))
        for plot, content in of_tones(Path(taken.name), read).items():
            plots.append((naming.tone_plot_path(fact, plot), content))
    rests = []
    for taken, one in bench.rests:
        found = first_pass.measure((taken,), progress)[taken.name].measured
        rests.append((taken, replace(one, measured=found.facts if found else None)))
    return replace(bench, tones=tuple(tones), rests=tuple(rests), plots=tuple(plots))


def line_up(
    taken: Taken, fact: CalibrationFacts, transfer: Transfer, progress: Progress
) -> "ToneReading":
    """Read the tones of one capture of a calibration tape.

    Raises MaterialError for audio that cannot be measured, SurroundingsError.
    """
    from tailsout.work.tones import tones_in  # noqa: PLC0415  as above

    tapes = {tape.id: tape for tape in transfer.calibration_tapes}
    with captures.reading(taken) as source:
        return tones_in(
            source.stream,
            taken.survey,
            tapes.get(fact.tape or ""),
            head_of(transfer, fact.session),
            progress,
        )


def head_of(transfer: Transfer, session: str) -> Head | None:
    """Return the head of a session's machine, if it has one that says how its tracks lie."""
    machine = next((one.machine for one in transfer.sessions if one.id == session), None)
    heads = (head for one in transfer.machines if one.id == machine for head in one.heads)
    return next((head for head in heads if head.spacing_mm is not None), None)


def payload(bench: Bench) -> Iterator[Streamed]:
    """Yield what a package holds of them, each file once."""
    lying = [
        (one.path, taken.files[0], one.sha256) for taken, one in bench.tones if one.path is not None
    ]
    lying += [(one.path, taken.files[0], one.sha256) for taken, one in bench.rests]
    files = {(path, file.path): (file, sha256) for path, file, sha256 in lying}
    for (path, _), (file, sha256) in files.items():
        octets = file.survey.record.octets
        yield Streamed(path=path, octets=octets, write=_copier(file), source=sha256)


def _copier(file: LookedInto) -> Callable[[Callable[[bytes], object]], None]:
    def write(sink: Callable[[bytes], object]) -> None:
        for block in captures.octets_of(file):
            sink(block)

    return write


def _look(folder: Path, name: str, waiting: Waiting) -> Taken:
    # As the forms' own check takes it: `./a.wav` and `a.wav` are one file.
    path = folder / to_disk(PurePosixPath(name).as_posix())
    found = {name: Located(way="one file", files=(path,))}
    settle(found, folder, waiting)
    (taken,) = captures.look(found, folder, interleave=False)
    for fault in taken.survey.record.container.damage:
        if KIND_OF[fault.kind].verdict is Verdict.FAIL:
            raise MaterialError(
                f"The capture {taken.name} is not a sound audio file: {fault.text}",
                "Capture it again, or take its name out of the form; nothing was packed.",
            )
    return taken


def _named(session: Session) -> Iterator[tuple[str, CalibrationMoment, str | None, str]]:
    """Yield setting, moment, tape and file name of each capture of a session."""
    for setting in session.settings:
        if setting.found_capture is not None:
            yield setting.id, "as found", setting.tape, setting.found_capture
        if setting.capture is not None:
            yield setting.id, "as left", setting.tape, setting.capture


def _rests(transfer: Transfer) -> Mapping[str, tuple[str, ...]]:
    """Return the captures whose chain at rest a file shows, by its name."""
    shown: dict[str, tuple[str, ...]] = {}
    for one in transfer.captures:
        if one.at_rest is not None:
            name = PurePosixPath(one.at_rest).as_posix()
            shown[name] = (*shown.get(name, ()), one.id)
    return shown
