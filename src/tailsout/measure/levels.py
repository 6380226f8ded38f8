"""Linear figures to decibels, rounded as they are stored."""

import math
from decimal import ROUND_HALF_UP, Decimal

_HUNDREDTH = Decimal("0.01")
_TENTH = Decimal("0.1")
_TEN_THOUSANDTH = Decimal("0.0001")


def hundredths(value: float) -> Decimal:
    """Round to 0.01, half away from zero; never a negative zero."""
    return Decimal(value).quantize(_HUNDREDTH, ROUND_HALF_UP) + 0


def tenths(value: float) -> Decimal:
    """Round to 0.1, half away from zero; never a negative zero."""
    return Decimal(value).quantize(_TENTH, ROUND_HALF_UP) + 0


def decibels(magnitude: float) -> Decimal | None:
    """Return a magnitude in dB re 1.0; None for zero."""
    return hundredths(20.0 * math.log10(magnitude)) if magnitude > 0.0 else None


def sine_decibels(mean_square: float) -> Decimal | None:
    """Return a mean square in dB re that of a full-scale sine, which is 0.5; None for zero.

    The convention of AES17 and IEC 61606-3: a full-scale sine reads 0 dBFS as peak and as RMS.
    """
    return hundredths(10.0 * math.log10(2.0 * mean_square)) if mean_square > 0.0 else None


def per_cent(share: float) -> Decimal:
    """Return a share of the whole in per cent, rounded to 0.0001."""
    return Decimal(100.0 * share).quantize(_TEN_THOUSANDTH, ROUND_HALF_UP) + 0
