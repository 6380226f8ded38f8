"""Length, speed, time and pitch: seconds = feet × 12 ÷ inches per second."""

import math
from decimal import Decimal

INCHES_PER_FOOT = 12

_LABELS = {
    Decimal("2.4"): Decimal("0.9375"),
    Decimal("4.75"): Decimal("1.875"),
    Decimal("4.76"): Decimal("1.875"),
    Decimal("9.5"): Decimal("3.75"),
    Decimal(19): Decimal("7.5"),
    Decimal(38): Decimal(15),
    Decimal(76): Decimal(30),
}
"""What machines have on their switches in cm/s, and the exact speed in ips that each stands for."""


def labelled_ips(cm_s: Decimal) -> Decimal | None:
    """Return the speed that a usual label in cm/s stands for, as 7.5 for 19; None for no label."""
    return _LABELS.get(cm_s)


def playing_seconds(feet: Decimal, speed_ips: Decimal) -> Decimal:
    """Return how long a length of tape plays, in seconds. Raises ValueError for no speed."""
    _check(speed_ips)
    return feet * INCHES_PER_FOOT / speed_ips


def tape_feet(seconds: Decimal, speed_ips: Decimal) -> Decimal:
    """Return how much tape passes in a time, in feet. Raises ValueError for no speed."""
    _check(speed_ips)
    return seconds * speed_ips / INCHES_PER_FOOT


def cents(speed_ratio: float) -> float:
    """Return the pitch error of replay speed ÷ recording speed: 1200 · lg2 k, in cents.

    Raises ValueError for a ratio that is not above 0.
    """
    if speed_ratio <= 0:
        raise ValueError(f"a speed ratio of {speed_ratio} is impossible")
    return 1200.0 * math.log2(speed_ratio)


def error_percent(found_hz: float, nominal_hz: float) -> float:
    """Return the speed error that a tone of known pitch shows: (found ÷ nominal - 1) · 100.

    Raises ValueError for a frequency that is not above 0.
    """
    if found_hz <= 0 or nominal_hz <= 0:
        raise ValueError("a frequency must be above 0")
    return (found_hz / nominal_hz - 1.0) * 100.0


def mains_of(hum_hz: float) -> float | None:
    """Return which mains a hum near 50 or 60 Hz may come from; None if it is far from both.

    Older and rural supplies were off by a per cent and more, and battery machines by far more:
    evidence, no proof (common practice).
    """
    for mains in (50.0, 60.0):
        if abs(hum_hz / mains - 1.0) <= _MAINS_WITHIN:
            return mains
    return None


_MAINS_WITHIN = 0.06


def _check(speed_ips: Decimal) -> None:
    if speed_ips <= 0:
        raise ValueError(f"a tape speed of {speed_ips} ips is impossible")
