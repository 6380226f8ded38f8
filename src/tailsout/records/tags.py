"""What a wave file says of itself in the chunks beside its audio and its `bext`.

Text is as found, from strangers; empty text stands for none.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field

from tailsout.records.ixml import Ixml


@dataclass(frozen=True, slots=True, kw_only=True)
class InfoEntry:
    """One statement of a LIST of type INFO (RIFF 1991)."""

    id: str
    """Four characters, as `INAM`."""
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class SetMark:
    """A cue point with what its labels say of it (RIFF 1991)."""

    frame: int
    """From the start of the file, the first one 0."""
    label: str
    note: str
    frames: int | None
    """How long it is; None for a moment."""
    purpose: str
    """What a stretch is for, four characters as `rgn `; empty for a moment."""
    text: str
    """What is said of a stretch as a whole."""


@dataclass(frozen=True, slots=True, kw_only=True)
class UmidParts:
    """The UMID of the `bext` chunk, taken apart (SMPTE ST 330)."""

    material_type: int
    """0x0F is material that is not identified."""
    material_method: int
    """How the material number was made: 1 SMPTE, 2 UUID, 3 masked, 4 IEEE 1394; 0 not defined."""
    instance_number: int
    """0 for the first instance of the material."""
    material_number: str
    """Hex of 16 octets."""
    country: str
    organisation: str
    user: str


@dataclass(frozen=True, slots=True, kw_only=True)
class SourceIdentifier:
    """An OriginatorReference of the shape that EBU R 99 gives."""

    country: str
    organisation: str
    serial: str
    time: str
    """`HHMMSS`."""
    random: str


@dataclass(frozen=True, slots=True, kw_only=True)
class DefinitionRow:
    """One row of a `chna` chunk: which track carries which element (ITU-R BS.2088-1)."""

    track: int
    """1-based; 0 marks a row that is not used."""
    uid: str
    track_format: str
    pack_format: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PeakEnvelope:
    """The head of a `levl` chunk (EBU Tech 3285 supplement 3)."""

    version: int
    bits: int
    """Of one point; 0 if not known."""
    points_per_value: int
    block_frames: int
    channels: int
    peak_frames: int
    """Values in each channel."""
    peak_of_peaks: int | None
    """Sample frame of the highest peak; None if marked unknown."""
    made: str
    """`YYYY:MM:DD:hh:mm:ss:uuu`."""


@dataclass(frozen=True, slots=True, kw_only=True)
class CartFacts:
    """A `cart` chunk (AES46)."""

    texts: Mapping[str, str] = field(default_factory=dict)
    """What is not empty, by the name of the field."""
    level_reference: int = 0
    """Sample value that is taken as 0 dB."""
    timers: tuple[tuple[str, int], ...] = ()
    """Usage and sample frame of each moment that is set."""


@dataclass(frozen=True, slots=True, kw_only=True)
class XmlDocument:
    """The document of an `iXML` or `axml` chunk."""

    chunk: str
    octets: int
    """Of the document, without what fills the chunk up."""
    root: str
    """Local name of its root; empty if the document was not read."""
    namespace: str
    ixml: Ixml | None = None
    all_text: str = ""
    """All that stands in its elements and attributes, a line each, as far as that is kept; it is
    there to be looked through and is shown nowhere."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Tags:
    """All of it."""

    history_lines: tuple[str, ...] = ()
    """CodingHistory line by line as it stands, as many as are read."""
    history_remarks: tuple[str, ...] = ()
    """What in it is not as EBU R 98 has it."""
    umid: UmidParts | None = None
    """None if there is none, or none of SMPTE ST 330."""
    source: SourceIdentifier | None = None
    reference_remark: str = ""
    """What is odd about the OriginatorReference: one sentence."""
    code_page: int | None = None
    """Of CSET; None if there is no such chunk."""
    info: tuple[InfoEntry, ...] = ()
    """Of every INFO list, in file order."""
    marks: tuple[SetMark, ...] = ()
    """By frame."""
    fact_frames: int | None = None
    """Frames that the `fact` chunk states."""
    definition_tracks: int | None = None
    """Tracks that the `chna` chunk states; None if there is none."""
    definition_rows: tuple[DefinitionRow, ...] = ()
    envelope: PeakEnvelope | None = None
    cart: CartFacts | None = None
    documents: tuple[XmlDocument, ...] = ()
    list_types: Mapping[int, str] = field(default_factory=dict)
    """Type of each LIST that was opened, by the offset of its payload."""
    listed: tuple[str, ...] = ()
    """Ids of chunks that are not looked into, each once, in file order."""
