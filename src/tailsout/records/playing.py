"""A run of the tape over the heads, and how the machine was set for it."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal

from tailsout.records.reel import Equalisation
from tailsout.records.vocab import Absence, AzimuthTo, Decoding, Direction, OutputTap, Run


@dataclass(frozen=True, slots=True, kw_only=True)
class SetUp:
    """How the machine was set for this pass."""

    speed_ips: Decimal | None = None
    """Speed selected, inches per second."""
    equalisation: Equalisation | None = None
    output_select: str | None = None
    output_tap: OutputTap | None = None
    meter_switch: str | None = None
    reel_size_supply: str | None = None
    reel_size_take_up: str | None = None
    lifters: str | None = None
    noise_reduction: str | None = None
    record_inhibited: str | None = None
    absent: Mapping[str, Absence] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class Stop:
    """A halt during the pass."""

    at: str
    reason: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Azimuth:
    """How the azimuth was set for a pass."""

    set_to: AzimuthTo | None = None
    how: str | None = None
    put_back: bool | None = None
    """Whether it was put back afterwards."""
    verified: bool | None = None
    """Whether that was checked with a tone."""
    absent: Mapping[str, Absence] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class Decoder:
    """Noise reduction in the path."""

    kind: str | None = None
    serial: str | None = None
    reference_level: str | None = None
    decoding: Decoding | None = None
    absent: Mapping[str, Absence] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class Channel:
    """Where one channel of the file comes from."""

    channel: int
    """Channel of the file, counted from 1."""
    track: str | None = None
    head_core: str | None = None
    output: str | None = None
    converter_input: str | None = None
    direction: Direction | None = None
    absent: Mapping[str, Absence] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class Pass:
    """One run of the tape over the heads, kept or not."""

    id: str
    machine: str | None = None
    """Id of the machine, as in the studio folder."""
    on: str | None = None
    by: str | None = None
    sides: tuple[str, ...] = ()
    kept: bool | None = None
    """Whether its capture is kept: true or false."""
    why_not_kept: str | None = None
    tape_ran: Run | None = None
    note: str | None = None
    set_up: SetUp | None = None
    stops: tuple[Stop, ...] = ()
    session: str | None = None
    """Id of the session, as in the studio folder."""
    hands_on_minutes: Decimal | None = None
    """Minutes of work."""
    programme_minutes: Decimal | None = None
    """Minutes the tape ran."""
    azimuth: Azimuth | None = None
    decoder: Decoder | None = None
    channels: tuple[Channel, ...] = ()
    absent: Mapping[str, Absence] = field(default_factory=dict)
