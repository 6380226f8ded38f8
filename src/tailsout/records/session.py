"""A spell at one machine on one date, and what was checked against a calibration tape."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal

from tailsout.records.chain import Chain
from tailsout.records.playing import SetUp
from tailsout.records.reel import Equalisation
from tailsout.records.vocab import Absence, CalibrationOutcome


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """One tone read on one channel."""

    frequency_hz: Decimal
    """Frequency, hertz."""
    channel: int | None = None
    """Channel, counted from 1."""
    level_db: Decimal | None = None
    """Level re the reference tone, dB."""
    phase_deg: Decimal | None = None
    """Phase against the first channel, degrees."""
    speed_error_percent: Decimal | None = None
    """Speed error, per cent."""
    flutter_percent: Decimal | None = None
    """Weighted peak flutter, ± per cent."""
    absent: Mapping[str, Absence] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class CalibrationSetting:
    """One speed, curve and head block, checked against a calibration tape."""

    id: str
    speed_ips: Decimal | None = None
    """Speed, inches per second."""
    equalisation: Equalisation | None = None
    head: str | None = None
    tape: str | None = None
    """Id of the calibration tape, as in the studio folder."""
    reading_point: str | None = None
    outcome: CalibrationOutcome | None = None
    capture: str | None = None
    found_capture: str | None = None
    note: str | None = None
    as_found: tuple[Reading, ...] = ()
    as_left: tuple[Reading, ...] = ()
    absent: Mapping[str, Absence] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class Session:
    """One spell at one machine on one date; jobs inherit it."""

    id: str
    on: str | None = None
    by: str | None = None
    machine: str | None = None
    """Id of the machine."""
    converter: str | None = None
    """Id of the converter."""
    room_temperature_c: Decimal | None = None
    """Temperature of the room, °C."""
    room_humidity_percent: Decimal | None = None
    """Relative humidity of the room, per cent."""
    tone_minutes: Decimal | None = None
    """Minutes that calibration tapes ran."""
    note: str | None = None
    settings: tuple[CalibrationSetting, ...] = ()
    chain: Chain | None = None
    set_up: SetUp | None = None
    inherited_from: str | None = None
    absent: Mapping[str, Absence] = field(default_factory=dict)
