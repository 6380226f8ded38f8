"""The reel: what it says of itself, what it is made of, what is on it, what was done to it."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal

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
    RegionKind,
    Run,
    Tracks,
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
    """Words on the reel or its box, kept to the letter beside what was found."""

    place: InscriptionPlace
    text: str
    found: str | None = None
    absent: Mapping[str, Absence] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class StockSection:
    """One kind of tape within the reel; spliced reels hold several."""

    id: str
    maker: str | None = None
    number: str | None = None
    base: Base | None = None
    base_told_by: tuple[BaseTest, ...] = ()
    confidence: Confidence | None = None
    note: str | None = None
    absent: Mapping[str, Absence] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class Equalisation:
    """A replay curve: the standard's name and its time constants."""

    standard: str | None = None
    t1_us: Decimal | None = None
    """Low-frequency time constant, microseconds; None where the curve has none (infinite)."""
    t2_us: Decimal | None = None
    """High-frequency time constant, microseconds."""
    absent: Mapping[str, Absence] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class Region:
    """A stretch of one side with settings of its own, found at a place in a capture."""

    id: str
    kind: RegionKind
    capture: str
    """Id of the capture it lies in."""
    start: int
    """First sample position in the capture."""
    end: int | None = None
    """Sample position after the last one; None: to the end of the capture."""
    title: str | None = None
    speed_ips: Decimal | None = None
    equalisation: Equalisation | None = None
    tracks: Tracks | None = None
    direction: Direction | None = None
    noise_reduction: str | None = None
    stock: str | None = None
    """Id of the stock section it lies on."""
    basis: tuple[str, ...] = ()
    """What speed, equalisation and tracks were told by."""
    confidence: Confidence | None = None
    note: str | None = None
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
    """Something done to the reel other than a pass over the heads."""

    kind: EventKind
    on: str | None = None
    """Date, or date and time."""
    by: str | None = None
    """Id of a person."""
    why: str | None = None
    outcome: str | None = None
    tape_ran: Run | None = None
    note: str | None = None
    absent: Mapping[str, Absence] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class Reel:
    """The carrier."""

    title: str | None = None
    identifiers: tuple[Identifier, ...] = ()
    inscriptions: tuple[Inscription, ...] = ()
    stock: tuple[StockSection, ...] = ()
    sides: tuple[Side, ...] = ()
    end_out_on_arrival: End | None = None
    end_out_on_leaving: End | None = None
    last_motion: Run | None = None
    events: tuple[Event, ...] = ()
    note: str | None = None
    absent: Mapping[str, Absence] = field(default_factory=dict)
