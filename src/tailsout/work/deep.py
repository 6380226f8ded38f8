"""Looks at the samples of a package: FLAC is decoded in a child, and all of it measured again.

One file after the other: reading, digests and meters of one keep two cores at work, and so do the
child that decodes and the meters here.
"""

from dataclasses import replace
from typing import TYPE_CHECKING, BinaryIO

from tailsout.bag.readable import ReadableBag
from tailsout.ground.errors import MaterialError, SurroundingsError, TailsoutError
from tailsout.ground.findings import Finding, Kind, Place, Severity
from tailsout.ground.progress import Progress
from tailsout.ground.units import printable
from tailsout.records.dossier import Dossier, Examined, FileRecord
from tailsout.rules.damage import HARMLESS
from tailsout.work.limited import FLAC_UNPROVED, decode
from tailsout.work.survey import survey

if TYPE_CHECKING:
    from tailsout.measure.onepass import Measured

NOT_MEASURED = Kind(
    code="samples-not-measured",
    severity=Severity.NOTE,
    title="The samples of a file were not measured again",
    basis="our limit: what is damaged, packed, or of a kind that the meters do not take",
    remedy="Nothing to do; of its samples nothing is said, of its octets the check of fixity.",
)
KINDS = (NOT_MEASURED,)

_Looked = tuple[FileRecord, tuple[Finding, ...]]


def looked_into(
    bag: ReadableBag, dossier: Dossier, progress: Progress, *, measuring: bool
) -> Dossier:
    """Add to a package that was proved what its samples show; FLAC alone if not `measuring`."""
    package = dossier.package or bag.facts
    unread = {file.path for file in package.files if file.trouble}
    files: list[FileRecord] = []
    reading: list[Finding] = []
    for file in dossier.files:
        looked: _Looked = (file, ())
        if file.path in unread:
            pass
        elif file.container.form == "FLAC":
            looked = _flac(bag, file, progress, measuring=measuring)
        elif measuring:
            looked = _wave(bag, file, progress)
        files.append(looked[0])
        reading += looked[1]
    examined = dossier.examined
    if measuring:
        examined |= frozenset[Examined]({"samples", "measurements"})
    return replace(
        dossier, files=tuple(files), reading=(*dossier.reading, *reading), examined=examined
    )


def _wave(bag: ReadableBag, file: FileRecord, progress: Progress) -> _Looked:
    # The meters load slowly, and no other depth needs them.
    from tailsout.work.measure import measure_stream  # noqa: PLC0415

    if any(one.kind not in HARMLESS for one in file.container.damage):
        return _not_measured(file, "its structure is damaged.")
    if file.pcm is None or file.frames is None:
        return _not_measured(file, "it holds no samples that are understood here.")
    try:
        with bag.stream(file.path) as stream:
            seen = survey(stream, file.path)
            measured = measure_stream(stream, seen, progress)
    except TailsoutError as error:
        return _not_measured(file, error.sentence)
    return replace(file, measured=measured.facts, overview=measured.kept_overview), ()


def _not_measured(file: FileRecord, why: str) -> _Looked:
    return file, (NOT_MEASURED.at(Place(file=printable(file.path)), printable(why)),)


def _flac(bag: ReadableBag, file: FileRecord, progress: Progress, *, measuring: bool) -> _Looked:
    """Hold the samples of a FLAC file against what it states of them, in a process of its own."""
    place = Place(file=printable(file.path))
    if bag.facts.archive is not None:
        why = "it lies in an archive; it is decoded once that is unpacked."
        return file, (FLAC_UNPROVED.at(place, why),)
    octets = (file.frames or 0) * (file.pcm.frame_octets if file.pcm else 0)
    progress.begin(f"Decoding {printable(file.path)}", octets)
    meters = _Meters(file, progress) if measuring and octets else None
    try:
        with bag.stream(file.path) as stream:
            told = decode(stream, file.octets, progress, meters.take if meters else None)
    except (MaterialError, SurroundingsError):
        # It was there to be read a moment ago: somebody is at the package.
        told = "it could not be opened a second time."
    if isinstance(told, str):
        return file, (FLAC_UNPROVED.at(place, told),)
    known = file.container.damage
    more = tuple(one for one in told.damage if one not in known)
    found = meters.found if meters and not more else None
    proof = replace(
        file,
        frames=told.frames if file.frames is None else file.frames,
        essence_sha256=told.essence_sha256,
        container=replace(file.container, damage=(*known, *more)),
        measured=found.facts if found is not None else None,
        overview=found.kept_overview if found is not None else None,
    )
    if not measuring or proof.measured is not None:
        return proof, ()
    # What the meters say of samples that end too early is a consequence of the damage.
    why = meters.why if meters and not more else ""
    why = why or "its samples are damaged, or none are stated."
    return _not_measured(proof, why)


class _Meters:
    """Measures the samples of a FLAC file as a child decodes them."""

    def __init__(self, file: FileRecord, progress: Progress) -> None:
        self._file, self._progress = file, progress
        self.found: Measured | None = None
        self.why = ""
        """Why nothing was found."""

    def take(self, samples: BinaryIO) -> None:
        """Measure samples as they lie in a wave file, nothing before or behind them."""
        from tailsout.measure.onepass import measure  # noqa: PLC0415  as above

        if self._file.pcm is None or self._file.frames is None:
            return
        octets = self._file.frames * self._file.pcm.frame_octets
        try:
            self.found = measure(
                samples,
                self._file.pcm,
                data_offset=0,
                data_octets=octets,
                file_octets=octets,
                advance=self._progress.advance,
            )
        except TailsoutError as error:
            self.why = error.sentence
