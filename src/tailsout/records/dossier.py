"""The waist: everything known about one transfer, from whichever side it came.

A statement, an embedded claim and a measurement of one fact lie side by side here and are never
merged; comparing them is the work of the rules.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Literal

from tailsout.ground.findings import Finding, Place
from tailsout.ground.pcm import Pcm
from tailsout.records.amendment import Amendment
from tailsout.records.bagit_profile import BagItProfile
from tailsout.records.calibration import AtRest, CalibrationFacts
from tailsout.records.description import Description
from tailsout.records.echo import PrintThrough
from tailsout.records.facts import ContainerFacts, Embedded, PackageFacts
from tailsout.records.later_events import Afterwards
from tailsout.records.recipient import Recipient
from tailsout.records.scale import Scale
from tailsout.records.sound import AudioFacts, KeptOverview, RegionFacts
from tailsout.records.tags import Tags
from tailsout.records.transfer import SideCar, SourceFile, ThisFile, Transfer
from tailsout.records.vocab import Made

Examined = Literal[
    "structure",
    "manifests",
    "fixity",
    "headers",
    "essence",
    "side-cars",
    "statements",
    "samples",
    "measurements",
    "bagit-profile",
    "versions",
    "descriptions",
    "official-schemas",
]
"""What was looked at; a rule whose needs are not all here did not run.

`samples` were measured in this run; `measurements` are known, from this run or a side-car.
`bagit-profile`: one was given to judge by. `versions`: the package's list of its amendments.
`descriptions`: documents of METS, PREMIS and the like. `official-schemas`: some to hold them to.
"""


class Depth(StrEnum):
    """How deep a package is to be looked at, each depth holding the one before it."""

    STRUCTURE = "structure"
    """Names, sizes and tag files; no payload is read, so it is not a fixity check."""
    FULL = "full"
    """Every listed file read through, and every rule that needs no decoded sample."""
    DEEP = "deep"
    """The samples too: measured again, and FLAC decoded."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FileRecord:
    """One audio file: a capture when closing out, a master when receiving."""

    path: str
    octets: int
    capture: str | None = None
    """Id of the capture it is or holds, where known."""
    made: Made = "as captured"
    starts_at: int = 0
    """Position of its first sample in the capture."""
    track: int | None = None
    """Which of the capture's mono files it is, counted from 1."""
    sources: tuple[SourceFile, ...] = ()
    """What the recorder left, where known."""
    container: ContainerFacts
    pcm: Pcm | None = None
    frames: int | None = None
    embedded: Embedded | None = None
    """What the file says of itself."""
    tags: Tags | None = None
    """What it says beside that; None if it is not a wave file."""
    essence_sha256: str = ""
    """Taken from the data in this run; empty if not taken."""
    measured: AudioFacts | None = None
    """Measured in this run."""
    overview: KeptOverview | None = None
    """Of the same run; what was kept of it stands in `stated`."""
    regions: tuple[RegionFacts, ...] = ()
    """Of the regions in it; measured in this run, or as its side-car says."""
    print_through: PrintThrough | None = None
    """Possible echoes of neighbouring turns, likewise; None if they were not looked for."""
    scales: tuple[Scale, ...] = ()
    """What flux its levels stand for, likewise."""
    sidecar: SideCar | None = None
    """What the side-car beside it says."""

    @property
    def stated(self) -> ThisFile | None:
        """What its side-car says of the file itself."""
        return self.sidecar.this_file if self.sidecar is not None else None


@dataclass(frozen=True, slots=True, kw_only=True)
class Dossier:
    """One transfer or package, and what has been examined of it."""

    origin: Literal["closing", "received"]
    as_of: str | None = None
    """The day on which a job is looked at, YYYY-MM-DD in UTC; a package has its Bagging-Date."""
    transfer: Transfer | None = None
    """What people state; None for a package that carries no side-car of ours."""
    files: tuple[FileRecord, ...] = ()
    package: PackageFacts | None = None
    bagit_profile: BagItProfile | None = None
    """The one that the package is to be judged against."""
    calibrations: tuple[CalibrationFacts, ...] = ()
    at_rest: tuple[AtRest, ...] = ()
    record_only: SideCar | None = None
    """The one side-car of a package without audio."""
    amendments: tuple[Amendment, ...] | None = None
    """What the package's own list of them says; None if it has none, or none that can be read."""
    recipient_form: Recipient | None = None
    """What the copy of the recipient's form in the package asks; None if it has none, or none that
    can be read."""
    descriptions: tuple[Description, ...] = ()
    """Documents of METS, PREMIS and the like that lie in the package."""
    papers: Mapping[str, str] = field(default_factory=dict)
    """What payload documents of plain text say, by their path, as far as that is kept."""
    afterwards: tuple[Afterwards, ...] = ()
    """What receipts and acceptances that were named tell of the package."""
    reading: tuple[Finding, ...] = ()
    """Met while reading."""
    examined: frozenset[Examined] = frozenset()
    unasked: frozenset[Examined] = frozenset()
    """What nobody asked to be looked at; a check that needs it is listed and does not weigh."""
    places: Mapping[str, Place] = field(default_factory=dict)
    """JSON pointer into the transfer → the file and part it came from, for all below it."""

    @property
    def aside(self) -> frozenset[str]:
        """Paths of audio that is told of and not the reel's own: calibration, copies of masters."""
        copies = (copy.path for file in self.files if file.stated for copy in file.stated.copies)
        calibrations = (one.path for one in self.calibrations if one.path is not None)
        return frozenset((*calibrations, *(one.path for one in self.at_rest), *copies))

    def frames_of(self, capture: str) -> int | None:
        """Return the length of a capture in samples, be it one file, parts or tracks."""
        ends = [
            file.starts_at + file.frames
            for file in self.files
            if file.capture == capture and file.frames is not None
        ]
        return max(ends, default=None)

    def place(self, pointer: str) -> Place:
        """Return where a part of the transfer was written."""
        start = pointer
        while start and start not in self.places:
            start = start.rpartition("/")[0]
        origin = self.places.get(start, Place(file="transfer"))
        return Place(file=origin.file, part=origin.part + pointer.removeprefix(start))
