"""Length, speed and time: seconds = feet × 12 ÷ inches per second."""

from decimal import Decimal

INCHES_PER_FOOT = 12


def playing_seconds(feet: Decimal, speed_ips: Decimal) -> Decimal:
    """Return how long a length of tape plays, in seconds. Raises ValueError for no speed."""
    _check(speed_ips)
    return feet * INCHES_PER_FOOT / speed_ips


def tape_feet(seconds: Decimal, speed_ips: Decimal) -> Decimal:
    """Return how much tape passes in a time, in feet. Raises ValueError for no speed."""
    _check(speed_ips)
    return seconds * speed_ips / INCHES_PER_FOOT


def _check(speed_ips: Decimal) -> None:
    if speed_ips <= 0:
        raise ValueError(f"a tape speed of {speed_ips} ips is none")
