"""What two passes of one recording show of each other."""

from dataclasses import dataclass
from decimal import Decimal


@dataclass(frozen=True, slots=True, kw_only=True)
class BandDifference:
    """Level of one band in the second pass less that in the first."""

    centre_hz: Decimal
    """Of a third of an octave (IEC 61260-1), nominal."""
    difference_db: Decimal
    """Median over the windows."""


@dataclass(frozen=True, slots=True, kw_only=True)
class OnePass:
    """What one of the two passes is like."""

    noise_floor_dbfs: Decimal | None = None
    """Of its quietest channel-half-second, dB re a full-scale sine."""
    dropouts: int = 0
    """Of all channels."""
    dropouts_only_here: int | None = None
    """Those with no counterpart in the other pass; None if either list is not whole."""
    delay_us: Decimal | None = None
    """Of its second channel against its first; None of one channel."""
    delay_spread_us: Decimal | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Comparison:
    """Two passes, laid on each other."""

    offset_s: Decimal
    """Where the first sample of the first pass lies in the second, seconds; may be negative."""
    speed_difference_percent: Decimal
    """How much faster the tape ran in the second pass; 0.001 %."""
    wander_ms: Decimal
    """Largest departure from steady speed between the two, ±, milliseconds."""
    overlap_s: Decimal
    """How much of the recording both hold, seconds of the first pass."""
    windows: int
    """How many stretches of four seconds it rests on."""
    likeness: Decimal
    """Median height of the correlation of these, 0 to 1."""
    is_inverted: bool
    """Whether the second pass has the other polarity."""
    level_difference_db: Decimal
    """Second less first, 200 Hz to 4 kHz, median over the windows."""
    bands: tuple[BandDifference, ...]
    first: OnePass
    second: OnePass
