"""Everything people state about one transfer."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from tailsout.ground.pcm import Pcm
from tailsout.records.facts import AudioFacts
from tailsout.records.machine import Chain, Machine, Pass
from tailsout.records.reel import Reel
from tailsout.records.vocab import Absence


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
class Recipient:
    """Who the package is for, and what they ask of it."""

    id: str
    name: str | None = None
    extra_algorithms: tuple[str, ...] = ()
    """Manifests beyond sha512 and sha256."""
    absent: Mapping[str, Absence] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class Capture:
    """One file as the recorder wrote it."""

    id: str
    file: str
    """Path in the job folder, as stated."""
    pass_id: str | None = None
    started: str | None = None
    """Date, or date and time, at which the capture began."""
    program: str | None = None
    """Recording program and its version."""
    note: str | None = None
    absent: Mapping[str, Absence] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class Transfer:
    """One closing-out: the reel, the machines, the passes, the chain, the captures."""

    job_id: str
    """Random UUID written when the job was begun; every other id derives from it."""
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
    absent: Mapping[str, Absence] = field(default_factory=dict)


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
    capture_sha256: str
    """Of the capture as the recorder left it."""
    pcm: Pcm
    measured: AudioFacts
    methods: Mapping[str, str]
    """How each measured value was taken, and the source of the method."""


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
    this_file: ThisFile
    extensions: Mapping[str, object] = field(default_factory=dict)
    """The one open object; kept as found."""
