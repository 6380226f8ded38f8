"""What the samples show of print-through: evidence, never a verdict."""

from dataclasses import dataclass
from decimal import Decimal

from tailsout.records.vocab import PackEnd


@dataclass(frozen=True, slots=True, kw_only=True)
class PossibleEcho:
    """One sound that comes again, faint, about a turn of the reel before or after it."""

    channel: int
    """1-based."""
    at: int
    """Sample position in the file at which the sound begins (pre-echo) or ends (post-echo)."""
    is_before: bool
    """Pre-echo."""
    delay_s: Decimal
    """Between sound and echo, to 0.1 ms."""
    level_db: Decimal
    """Of the echo re the sound."""
    z: Decimal
    """Height of the correlation by its scatter over all delays that were tried."""


@dataclass(frozen=True, slots=True, kw_only=True)
class EchoSide:
    """All echoes of one side in time, before or after."""

    tried: int
    """Sudden beginnings, or ends, that were loud enough beside enough quiet."""
    found: int = 0
    delay_s: Decimal | None = None
    """Median."""
    level_db: Decimal | None = None
    """Median, re the sound."""
    z: Decimal | None = None
    """Highest."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PrintThrough:
    """Possible print-through of a file."""

    shortest_s: Decimal
    """Delays from here on were looked for."""
    longest_s: Decimal
    before: EchoSide
    """Pre-echoes."""
    after: EchoSide
    """Post-echoes."""
    echoes: tuple[PossibleEcho, ...] = ()
    """In order of position."""
    later_by_ms: Decimal | None = None
    """By how much the post-echo is farther from its sound than the pre-echo; None if too few were
    found to tell."""
    later_by_spread_ms: Decimal | None = None
    """Standard error of it."""
    slope_s: Decimal | None = None
    """How the square of the delay runs along the file, s² a second."""
    slope_spread_s: Decimal | None = None
    end_out: PackEnd | None = None
    """Which end this is consistent with having been out while the tape printed: `head`, `tail`."""
