"""The reel: what it says of itself, what it is made of, what is on it, what was done to it."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal

from tailsout.records.carrier import (
    Condition,
    Custody,
    Expectation,
    Image,
    Leader,
    ReelTone,
    Splice,
)
from tailsout.records.vocab import (
    Absence,
    Base,
    BaseTest,
    Confidence,
    Direction,
    End,
    EventKind,
    IdentifierKind,
    InscriptionPlace,
    OxideSide,
    RegionKind,
    Run,
    Tracks,
    TreatmentState,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Identifier:
    """A name somebody gave the reel."""

    value: str
    kind: IdentifierKind | None = None
    assigned_by: str | None = None
    absent: Mapping[str, Absence] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class Inscription:
    """Words on the reel or its box, to the letter, beside what was found."""

    place: InscriptionPlace
    text: str
    found: str | None = None
    image: str | None = None
    """Path of a photograph of it in the job folder."""
    absent: Mapping[str, Absence] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class StockSection:
    """One kind of tape within the reel; a spliced reel has several."""

    id: str
    maker: str | None = None
    number: str | None = None
    base: Base | None = None
    base_told_by: tuple[BaseTest, ...] = ()
    confidence: Confidence | None = None
    note: str | None = None
    thickness_um: Decimal | None = None
    """Thickness of the tape, coating and all, micrometres."""
    back_coat: bool | None = None
    """Whether the back is coated."""
    absent: Mapping[str, Absence] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class Equalisation:
    """A replay curve: the standard's name and its time constants in microseconds."""

    standard: str | None = None
    t1_us: Decimal | None = None
    """Low-frequency time constant, µs; None where the curve has none (infinite)."""
    t2_us: Decimal | None = None
    """High-frequency time constant, µs."""
    absent: Mapping[str, Absence] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class Region:
    """A stretch of one side with settings of its own, at a place in a capture."""

    id: str
    kind: RegionKind
    capture: str
    """Id of the capture it lies in."""
    start: int
    """Where it starts in the capture: sample position."""
    end: int | None = None
    """Sample position after the last one; None: at the end of the capture."""
    title: str | None = None
    speed_ips: Decimal | None = None
    """Tape speed on playback, inches per second."""
    equalisation: Equalisation | None = None
    tracks: Tracks | None = None
    direction: Direction | None = None
    noise_reduction: str | None = None
    stock: str | None = None
    """Id of the stock section it lies on."""
    basis: tuple[str, ...] = ()
    confidence: Confidence | None = None
    note: str | None = None
    setting: str | None = None
    """Id of the calibration setting that covers it."""
    rivals: tuple[str, ...] = ()
    tones: tuple[ReelTone, ...] = ()
    overlap_seconds: Decimal | None = None
    """Of tape at its beginning that the file before it holds too."""
    recorded_speed_ips: Decimal | None = None
    """Where it was played at another, inches per second."""
    recorded_equalisation: Equalisation | None = None
    """Where it was played by another curve."""
    absent: Mapping[str, Absence] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class Side:
    """One face of the reel and its regions in playing order."""

    id: str
    title: str | None = None
    regions: tuple[Region, ...] = ()
    absent: Mapping[str, Absence] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class Event:
    """Something done to the reel, apart from a pass over the heads."""

    kind: EventKind
    on: str | None = None
    by: str | None = None
    why: str | None = None
    outcome: str | None = None
    tape_ran: Run | None = None
    note: str | None = None
    state: TreatmentState | None = None
    approved_by: str | None = None
    temperature_c: Decimal | None = None
    """For a treatment: temperature, °C."""
    hours: Decimal | None = None
    """For a treatment: hours at it."""
    cool_down_hours: Decimal | None = None
    """Hours of cooling down."""
    repeats: int | None = None
    """Times it was done before."""
    length_lost_mm: Decimal | None = None
    """For a splice or leader: tape lost, millimetres."""
    kept_where: str | None = None
    speed: str | None = None
    helper_reel: str | None = None
    old_text: str | None = None
    new_text: str | None = None
    held_with: str | None = None
    opens_how: str | None = None
    contact_minutes: Decimal | None = None
    """Minutes the tape ran over the heads meanwhile."""
    jotting: str | None = None
    images: tuple[Image, ...] = ()
    absent: Mapping[str, Absence] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class Reel:
    """The reel: what it says of itself, what it is made of, what is on it, what was done to it."""

    title: str | None = None
    end_out_on_arrival: End | None = None
    end_out_on_leaving: End | None = None
    last_motion: Run | None = None
    note: str | None = None
    identifiers: tuple[Identifier, ...] = ()
    inscriptions: tuple[Inscription, ...] = ()
    stock: tuple[StockSection, ...] = ()
    sides: tuple[Side, ...] = ()
    events: tuple[Event, ...] = ()
    width_mm: Decimal | None = None
    """Width of the tape, millimetres."""
    diameter_in: Decimal | None = None
    """Diameter of the reel, inches."""
    hub: str | None = None
    reel_material: str | None = None
    oxide: OxideSide | None = None
    acclimatised_hours: Decimal | None = None
    """Hours in the room before it was played."""
    original_reel: str | None = None
    splices: tuple[Splice, ...] = ()
    leaders: tuple[Leader, ...] = ()
    condition: tuple[Condition, ...] = ()
    custody: tuple[Custody, ...] = ()
    expectations: tuple[Expectation, ...] = ()
    images: tuple[Image, ...] = ()
    absent: Mapping[str, Absence] = field(default_factory=dict)
