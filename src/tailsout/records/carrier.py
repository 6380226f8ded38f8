"""The reel as a thing: splices, leaders, state, keeping, photographs."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal

from tailsout.records.vocab import (
    Absence,
    ConditionMoment,
    Degree,
    End,
    ImageRole,
    LeaderKind,
    Odour,
    Pack,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Splice:
    """A splice."""

    at: str | None = None
    condition: str | None = None
    note: str | None = None
    absent: Mapping[str, Absence] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class Leader:
    """What lies before or behind the recorded tape."""

    end: End
    kind: LeaderKind | None = None
    colour: str | None = None
    length_m: Decimal | None = None
    """Length, metres."""
    holds: str | None = None
    absent: Mapping[str, Absence] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class Condition:
    """The state of the reel at one moment."""

    moment: ConditionMoment
    on: str | None = None
    by: str | None = None
    pack: tuple[Pack, ...] = ()
    odour: Odour | None = None
    mould: Degree | None = None
    shedding: Degree | None = None
    edges: str | None = None
    note: str | None = None
    absent: Mapping[str, Absence] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class Custody:
    """Where the reel was kept, and by whom."""

    from_date: str | None = None
    to_date: str | None = None
    holder: str | None = None
    conditions: str | None = None
    absent: Mapping[str, Absence] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class Expectation:
    """What label or owner lead one to expect, apart from what was found."""

    about: str
    expected: str
    said_by: str | None = None
    found: str | None = None
    absent: Mapping[str, Absence] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class Image:
    """A photograph or scan."""

    file: str
    """Path in the job folder."""
    role: ImageRole | None = None
    caption: str | None = None
    absent: Mapping[str, Absence] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class ReelTone:
    """A line-up tone recorded on the reel itself."""

    frequency_hz: Decimal
    """Frequency, hertz."""
    stated_level: str | None = None
    found_dbfs: Decimal | None = None
    """Level found in the capture, dBFS."""
    used_for: str | None = None
    absent: Mapping[str, Absence] = field(default_factory=dict)
