"""Who a package is for, and what they ask of it: a recipient's form as it stood that day."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal

from tailsout.records.machine import CareIntervals
from tailsout.records.vocab import (
    Absence,
    AskedLevel,
    BagItVersion,
    CopyCorrection,
    CopyFormat,
    CopyPer,
    CopyTag,
    End,
    Export,
    FileRole,
    Guideline,
    ImageRole,
    InfoSource,
    Join,
    MarkChunk,
    MasterFormat,
    NameSet,
    SamplePosition,
    Separator,
    Serialisation,
    TextChunk,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class InfoEntry:
    """One entry of a LIST INFO chunk that a recipient asks for."""

    id: str
    says: InfoSource | None = None
    text: str | None = None
    absent: Mapping[str, Absence] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class NamesAsked:
    """How they want files called."""

    template: str | None = None
    """Of a name without its ending; fields stand in braces."""
    max_length: int | None = None
    """Characters, the ending counted."""
    allowed: NameSet | None = None
    separator: Separator | None = None
    """Stands for blanks and letters that are not allowed."""


@dataclass(frozen=True, slots=True, kw_only=True)
class RoleAsked:
    """A sort of file that they know, and where it lies."""

    role: FileRole
    folder: str | None = None
    """Below `data`."""
    suffix: str | None = None
    """What stands for the role in a name."""
    required: bool | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class TagAsked:
    """A tag that they want in access copies."""

    tag: CopyTag
    text: str
    """The fields of a name's template may stand in it in braces."""


@dataclass(frozen=True, slots=True, kw_only=True)
class CopyAsked:
    """A sort of access copy that `close` is to make."""

    format: CopyFormat
    sample_rate_hz: int | None = None
    bits: int | None = None
    """A sample, as WAV or FLAC."""
    kilobits_per_second: int | None = None
    """As MP3 or Opus."""
    per: CopyPer | None = None
    tags: tuple[TagAsked, ...] = ()
    corrections: tuple[CopyCorrection, ...] = ()
    """Of copies of regions."""


@dataclass(frozen=True, slots=True, kw_only=True)
class KeyAsked:
    """Something that they want to be told."""

    key: str
    """Keys of the side-car with full stops between, `[]` behind a list for each of its entries."""
    level: AskedLevel
    absences: tuple[Absence, ...] = ()
    """Absence words that do in place of a value."""
    why: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class TermList:
    """The only words that they take for a key."""

    key: str
    words: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class EmbeddedText:
    """A text that they want in a field of the masters."""

    chunk: TextChunk
    field: str
    """Name of a field of bext, or id of an entry of INFO."""
    text: str
    """The fields of a name's template may stand in it in braces."""


@dataclass(frozen=True, slots=True, kw_only=True)
class BagAsked:
    """How they want the bag."""

    version: BagItVersion | None = None
    serialisation: Serialisation | None = None
    bagit_profile: str | None = None
    """File beside the form."""


@dataclass(frozen=True, slots=True, kw_only=True)
class OverlapAsked:
    """How much two files of one tape are to have in common."""

    seconds: Decimal
    at: tuple[Join, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class ListeningSample:
    """How much they want somebody to have listened to."""

    share_percent: Decimal | None = None
    seconds: Decimal | None = None
    """At each of the positions."""
    positions: tuple[SamplePosition, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class DriveRules:
    """How they want a drive on which packages are delivered."""

    volume_name: str | None = None
    """`?` stands for one character, `*` for any number."""
    max_path_octets: int | None = None
    one_order: bool | None = None
    hidden_files_refused: bool | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Recipient:
    """Who the package is for, and what they ask of it."""

    id: str
    name: str | None = None
    version: str | None = None
    """Of the form, not of the vocabulary it is written in."""
    source: str | None = None
    extra_algorithms: tuple[str, ...] = ()
    originator: str | None = None
    embedding_guideline: Guideline | None = None
    umid: bool | None = None
    """Whether the bext chunk is to carry a UMID."""
    marks: tuple[MarkChunk, ...] = ()
    interleave: bool | None = None
    """Whether mono files are to become one file."""
    info: tuple[InfoEntry, ...] = ()
    master_format: MasterFormat | None = None
    names: NamesAsked | None = None
    roles: tuple[RoleAsked, ...] = ()
    copies: tuple[CopyAsked, ...] = ()
    asked: tuple[KeyAsked, ...] = ()
    terms: tuple[TermList, ...] = ()
    embedded: tuple[EmbeddedText, ...] = ()
    bag: BagAsked | None = None
    overlap: OverlapAsked | None = None
    stop_at_speed_change: bool | None = None
    care_intervals: CareIntervals | None = None
    house_rule_end_out: End | None = None
    """Of tapes recorded in one direction."""
    images: tuple[ImageRole, ...] = ()
    listening_sample: ListeningSample | None = None
    views: tuple[Export, ...] = ()
    drive: DriveRules | None = None
    withheld: tuple[str, ...] = ()
    """Keys that must not travel."""
    absent: Mapping[str, Absence] = field(default_factory=dict)
