"""What was read rather than stated: embedded metadata, the container, the bag itself."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Literal, NamedTuple

from tailsout.ground.damage import Damage


@dataclass(frozen=True, slots=True, kw_only=True)
class EmbeddedHistoryLine:
    """One line of CodingHistory as found (EBU R 98)."""

    parameters: tuple[tuple[str, str], ...]
    """Key and value in the order found."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Embedded:
    """What a file says of itself in its `bext` chunk, text as found."""

    version: int
    description: str
    originator: str
    originator_reference: str
    origination_date: str
    origination_time: str
    time_reference: int
    """Samples since midnight of the first sample."""
    umid: str
    """Hex; empty if all zero or not defined by the version."""
    loudness_value: Decimal | None = None
    """LUFS; None if marked unknown, out of range, or not defined by the version."""
    loudness_range: Decimal | None = None
    max_true_peak_level: Decimal | None = None
    max_momentary_loudness: Decimal | None = None
    max_short_term_loudness: Decimal | None = None
    coding_history: tuple[EmbeddedHistoryLine, ...] = ()


class ManifestLine(NamedTuple):
    """One line of a manifest or tag manifest.

    A tuple, which is made in a third of the time: a bag may have 800,000 of them.
    """

    path: str
    """Relative to the bag, percent-decoded as the bag's version asks."""
    digest: str
    """As written."""
    line: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Manifest:
    """One `manifest-*.txt` or `tagmanifest-*.txt`."""

    name: str
    algorithm: str
    is_tag: bool
    lines: tuple[ManifestLine, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class InfoLine:
    """One element of bag-info.txt, in the order found."""

    label: str
    value: str
    line: int
    file: str = "bag-info.txt"
    """In drafts before 0.96 it was called otherwise."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FoundFile:
    """A regular file met in the bag."""

    path: str
    """Relative to the bag, `/` between parts; undecodable octets as surrogates."""
    octets: int
    changed_ns: tuple[int, int] = (0, 0)
    """When its content and when its status changed last, in ns since 1970; 0 where nothing tells.

    On Windows the second is when it was made.
    """
    digests: Mapping[str, str] = field(default_factory=dict)
    """Digests taken from disk, by algorithm; empty if the file was not read."""
    essence_sha256: str = ""
    """SHA-256 of the stretch of audio asked for, from the same read; empty if none was asked for
    or the file does not hold all of it."""
    trouble: str = ""
    """Why it could not be read, or that it changed while read; empty if all went well."""
    pronom: str = ""
    """PRONOM identifier of a picture or a PDF by its octets; empty if they do not say one, or were
    not asked."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Observation:
    """A fault of the bag's own structure: observed by the reader, judged by a rule."""

    kind: str
    """Short stable word for the sort of fault."""
    file: str
    line: int | None = None
    text: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class DigestBeside:
    """A file beside an archive that states a digest of it, in the manner of `sha512sum`."""

    name: str
    algorithm: str
    stated: str
    """Lower-case hex; empty if the file is no such line on this archive."""
    found: str = ""
    """Taken from the archive in this run; empty if it was not taken."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ArchiveFacts:
    """The archive a bag lies in."""

    name: str
    form: Literal["tar", "tar.gz", "tar.xz", "zip"]
    octets: int
    whole: bool
    """False if it could not be read to its end, or holds what is not to be touched: then nothing
    is said of what lacks in it."""
    beside: tuple[DigestBeside, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class ReceiptBeside:
    """A file beside a package under the name of its receipt."""

    name: str
    stated: Mapping[str, Mapping[str, str]] | None
    """Digests of each tag manifest by algorithm; None if it is not a receipt of this package."""
    found: Mapping[str, Mapping[str, str]]
    """The same of those that are there and can be read."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PackageFacts:
    """What a bag's own files say and what was found on disk."""

    name: str
    """Name of the base directory."""
    bagit_version: str
    """As stated in bagit.txt; empty if it could not be read."""
    encoding: str
    bag_info: tuple[InfoLine, ...]
    manifests: tuple[Manifest, ...]
    files: tuple[FoundFile, ...]
    """Every regular file below the base directory, sorted by path."""
    observations: tuple[Observation, ...] = ()
    unseen: tuple[str, ...] = ()
    """Folders not entered, and tag files not read or not to their end; empty: the bag itself."""
    holes: tuple[str, ...] = ()
    """Files that fetch.txt names and that are not in the bag."""
    archive: ArchiveFacts | None = None
    """None if it is a folder."""
    receipt: ReceiptBeside | None = None
    """None if none lies beside it, or none was looked for."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ChunkFacts:
    """Where one chunk of a wave file lies."""

    id: str
    """Four characters, each an octet; of a FLAC file the name of the metadata block."""
    offset: int
    """Of the payload, in octets; the header stands before it: 8 octets, in a FLAC file 4."""
    octets: int
    """Of the payload as declared."""
    pad: int = 0
    """1 where a pad octet follows."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ContainerFacts:
    """What an audio file's structure shows."""

    form: str
    """`RIFF`, `RF64`, `BW64` or `FLAC`; else the name of what it is."""
    chunks: tuple[ChunkFacts, ...]
    """In file order; of FLAC the metadata blocks."""
    damage: tuple[Damage, ...] = ()
