"""Linear figures to decibels, rounded as they are stored."""

import math
from decimal import ROUND_HALF_UP, Decimal

_HUNDREDTH = Decimal("0.01")


def hundredths(value: float) -> Decimal:
    """Round to 0.01, half away from zero; never a negative zero."""
    return Decimal(value).quantize(_HUNDREDTH, ROUND_HALF_UP) + 0


def decibels(magnitude: float) -> Decimal | None:
    """Return a magnitude in dB re 1.0; None for zero."""
    return hundredths(20.0 * math.log10(magnitude)) if magnitude > 0.0 else None
