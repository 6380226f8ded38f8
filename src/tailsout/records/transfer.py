"""Everything people state about one transfer, and the side-car that carries it."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from tailsout.ground.pcm import Pcm
from tailsout.records.access import AccessCopy
from tailsout.records.amendment import Amendment
from tailsout.records.calibration import AtRest, CalibrationFacts
from tailsout.records.capture import Capture
from tailsout.records.chain import Chain
from tailsout.records.echo import PrintThrough
from tailsout.records.listening import Listening, SignalNote
from tailsout.records.machine import CalibrationTape, Converter, Machine
from tailsout.records.playing import Pass
from tailsout.records.recipient import Recipient
from tailsout.records.recording import Commission, Recording, Work
from tailsout.records.reel import Reel
from tailsout.records.scale import Scale
from tailsout.records.session import Session
from tailsout.records.sound import AudioFacts, KeptOverview, RegionFacts
from tailsout.records.statements import Answer, Correction, Jotting
from tailsout.records.vocab import Absence, JobKind, Made, NotPlayed


@dataclass(frozen=True, slots=True, kw_only=True)
class Person:
    """Somebody who had a hand in it."""

    id: str
    name: str | None = None
    role: str | None = None
    absent: Mapping[str, Absence] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class Studio:
    """Who made the transfer."""

    name: str | None = None
    place: str | None = None
    contact_name: str | None = None
    contact_email: str | None = None
    absent: Mapping[str, Absence] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class Transfer:
    """One closing-out: the reel, the machines, the passes, the chain, the captures."""

    job_id: str
    package_id: str
    studio: Studio
    reel: Reel
    recipient: Recipient | None = None
    people: tuple[Person, ...] = ()
    machines: tuple[Machine, ...] = ()
    passes: tuple[Pass, ...] = ()
    chain: Chain | None = None
    captures: tuple[Capture, ...] = ()
    note: str | None = None
    kind: JobKind | None = None
    not_played_because: str | None = None
    not_played_category: NotPlayed | None = None
    commission: Commission | None = None
    work: Work | None = None
    recording: Recording | None = None
    sessions: tuple[Session, ...] = ()
    calibration_tapes: tuple[CalibrationTape, ...] = ()
    converters: tuple[Converter, ...] = ()
    signal_notes: tuple[SignalNote, ...] = ()
    listening: tuple[Listening, ...] = ()
    corrections: tuple[Correction, ...] = ()
    answers: tuple[Answer, ...] = ()
    jottings: tuple[Jotting, ...] = ()
    absent: Mapping[str, Absence] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class SourceFile:
    """One file as the recorder left it."""

    file: str
    """Path in the job folder."""
    octets: int
    frames: int
    """Samples a channel."""
    sha256: str
    """Empty while it has not been read through."""
    time_reference: int | None = None
    """In its bext chunk: samples since midnight."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ThisFile:
    """What a side-car says of the one file it lies beside."""

    id: str
    """UUID derived from the job."""
    path: str
    """Path in the package."""
    capture: str
    """Id of the capture whose audio it holds."""
    octets: int
    sha256: str
    """Of the file as packed."""
    sha512: str
    made: Made
    sources: tuple[SourceFile, ...]
    """What the recorder left, in order."""
    pcm: Pcm
    measured: AudioFacts
    methods: Mapping[str, str]
    """How each measured value was taken, and the source of the method."""
    regions: tuple[RegionFacts, ...] = ()
    """What was measured of each region in it."""
    print_through: PrintThrough | None = None
    """Possible echoes of neighbouring turns; None if they were not looked for."""
    scales: tuple[Scale, ...] = ()
    """What flux its levels stand for."""
    starts_at: int | None = None
    """Position of its first sample in the capture; None: 0."""
    track: int | None = None
    """Which of the mono files it is, counted from 1."""
    copies: tuple[AccessCopy, ...] = ()
    """Access copies made from it."""
    overview: KeptOverview | None = None
    """What it looks like from afar; None beyond 32 channels and without a sample."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SideCar:
    """The JSON file beside each preservation master."""

    schema: str
    """URN of the schema and its version."""
    software: str
    """Name and version of what wrote it."""
    written: str
    """Instant, RFC 3339, UTC."""
    transfer: Transfer
    this_file: ThisFile | None = None
    """None for a reel that was not played: there is no file."""
    calibrations: tuple[CalibrationFacts, ...] = ()
    """What the captures of calibration tapes prove, of all sessions."""
    at_rest: tuple[AtRest, ...] = ()
    amendments: tuple[Amendment, ...] = ()
    """What was corrected since the package was first made, oldest first."""
    extensions: Mapping[str, object] = field(default_factory=dict)
    """The one open object; kept as found."""
