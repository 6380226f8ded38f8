"""The signal chain from head to file."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from tailsout.records.vocab import Absence, SignalState, StepKind


@dataclass(frozen=True, slots=True, kw_only=True)
class ChainStep:
    """One thing the signal went through."""

    kind: StepKind
    device: str | None = None
    serial: str | None = None
    setting: str | None = None
    signal: SignalState | None = None
    note: str | None = None
    absent: Mapping[str, Absence] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class Chain:
    """The signal chain from head to file, and why this one."""

    reason: str | None = None
    steps: tuple[ChainStep, ...] = ()
    absent: Mapping[str, Absence] = field(default_factory=dict)
