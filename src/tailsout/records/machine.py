"""The machine and its maintenance log, calibration tapes, converters."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal

from tailsout.records.reel import Equalisation
from tailsout.records.vocab import (
    Absence,
    CareKind,
    FluxivityMethod,
    HeadKind,
    Swab,
    ToneUse,
    Tracks,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class CareEvent:
    """One line of the machine's maintenance log."""

    kind: CareKind
    on: str | None = None
    by: str | None = None
    parts: tuple[str, ...] = ()
    agent: str | None = None
    outcome: str | None = None
    note: str | None = None
    purity: str | None = None
    swab: Swab | None = None
    came_off: str | None = None
    dry_before_threading: bool | None = None
    """Whether the path was dry before a tape was threaded."""
    absent: Mapping[str, Absence] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class Head:
    """A head of the machine."""

    kind: HeadKind | None = None
    track_format: Tracks | None = None
    core_width_mm: Decimal | None = None
    """Width of a core, millimetres."""
    spacing_mm: Decimal | None = None
    """From track centre to track centre, millimetres."""
    note: str | None = None
    absent: Mapping[str, Absence] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class HourMeter:
    """A reading of the machine's hour meter."""

    on: str
    hours: Decimal
    """Hours."""


@dataclass(frozen=True, slots=True, kw_only=True)
class HoursSince:
    """How long the machine has run since it was cared for: at least so many hours."""

    since: CareKind
    on: str
    at_least_hours: Decimal
    """Hours of tape contact on record since then."""
    rests_on: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class CareIntervals:
    """After how long at most a machine is to be cared for."""

    clean_hours: Decimal | None = None
    demagnetise_hours: Decimal | None = None
    check_hours: Decimal | None = None
    full_check_months: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Machine:
    """A tape machine as it stood on the day."""

    id: str
    maker: str | None = None
    model: str | None = None
    serial: str | None = None
    head: str | None = None
    note: str | None = None
    care: tuple[CareEvent, ...] = ()
    inherited_from: str | None = None
    transport: str | None = None
    outputs: tuple[str, ...] = ()
    modifications: tuple[str, ...] = ()
    speeds_ips: tuple[Decimal, ...] = ()
    """Speeds it runs at, inches per second."""
    equalisations: tuple[str, ...] = ()
    heads: tuple[Head, ...] = ()
    hour_meter: tuple[HourMeter, ...] = ()
    care_intervals: CareIntervals | None = None
    """By its manual or the studio's own custom; a recipient may ask for others."""
    hours_since: tuple[HoursSince, ...] = ()
    absent: Mapping[str, Absence] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class Tone:
    """A tone of a calibration tape, as its certificate gives it."""

    frequency_hz: Decimal
    """Frequency, hertz."""
    use: ToneUse | None = None
    level_db: Decimal | None = None
    """Nominal level re the reference tone, dB."""
    deviation_db: Decimal | None = None
    """Deviation by the certificate, dB."""
    tolerance_db: Decimal | None = None
    """Tolerance, ± dB."""
    absent: Mapping[str, Absence] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class CalibrationTape:
    """A calibration tape."""

    id: str
    maker: str | None = None
    number: str | None = None
    speed_ips: Decimal | None = None
    """Speed it is made for, inches per second."""
    equalisation: Equalisation | None = None
    reference_fluxivity_nwb_m: Decimal | None = None
    """Reference fluxivity, nWb/m."""
    fluxivity_method: FluxivityMethod | None = None
    track_format: Tracks | None = None
    announced: bool | None = None
    """Whether tones are announced by voice."""
    certificate_on: str | None = None
    uses: int | None = None
    """Times it has been played."""
    note: str | None = None
    tones: tuple[Tone, ...] = ()
    inherited_from: str | None = None
    absent: Mapping[str, Absence] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class Converter:
    """An analogue-to-digital converter."""

    id: str
    maker: str | None = None
    model: str | None = None
    serial: str | None = None
    inputs: tuple[str, ...] = ()
    clock: str | None = None
    tested: str | None = None
    note: str | None = None
    inherited_from: str | None = None
    absent: Mapping[str, Absence] = field(default_factory=dict)
