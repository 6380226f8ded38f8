"""The machine, what was done for it, how it was set for a pass, and the way of the signal."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal

from tailsout.records.reel import Equalisation
from tailsout.records.vocab import Absence, CareKind, OutputTap, Run, SignalState, StepKind


@dataclass(frozen=True, slots=True, kw_only=True)
class CareEvent:
    """One line of a machine's maintenance log."""

    kind: CareKind
    on: str | None = None
    by: str | None = None
    parts: tuple[str, ...] = ()
    agent: str | None = None
    """What it was cleaned with, and how pure."""
    outcome: str | None = None
    note: str | None = None
    absent: Mapping[str, Absence] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class Machine:
    """A tape machine as it stood on the day."""

    id: str
    maker: str | None = None
    model: str | None = None
    serial: str | None = None
    head: str | None = None
    """Head block in use: format and core width in words."""
    care: tuple[CareEvent, ...] = ()
    note: str | None = None
    inherited_from: str | None = None
    """Form in the studio folder that these values were frozen from."""
    absent: Mapping[str, Absence] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class SetUp:
    """How the machine was set for one pass: never a property of the machine."""

    speed_ips: Decimal | None = None
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
    """A halt during a pass."""

    at: str
    """Running time on the machine's counter or the recorder's clock, as read."""
    reason: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Pass:
    """One run of the tape over the heads, kept or not."""

    id: str
    machine: str | None = None
    """Id of a machine."""
    on: str | None = None
    by: str | None = None
    sides: tuple[str, ...] = ()
    kept: bool | None = None
    why_not_kept: str | None = None
    tape_ran: Run | None = None
    set_up: SetUp | None = None
    stops: tuple[Stop, ...] = ()
    note: str | None = None
    absent: Mapping[str, Absence] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class ChainStep:
    """One thing the signal went through, in order from head to file."""

    kind: StepKind
    device: str | None = None
    serial: str | None = None
    setting: str | None = None
    signal: SignalState | None = None
    """What leaves this step."""
    note: str | None = None
    absent: Mapping[str, Absence] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class Chain:
    """The path of the signal, and why this one."""

    reason: str | None = None
    steps: tuple[ChainStep, ...] = ()
    absent: Mapping[str, Absence] = field(default_factory=dict)
