"""Which turning part of a machine could make the speed swing at a rate.

A part that turns once a swing, with the tape on its rim, measures v ÷ (π·f) across. The sizes of
parts are common practice, and a swing that fits one is evidence, never proof.
"""

import math
from collections.abc import Iterator

from tailsout.records.vocab import TurningPart
from tailsout.tape.geometry import speed_mm_s

_SIZES_MM: tuple[tuple[TurningPart, float, float], ...] = (
    ("capstan", 2.0, 20.0),
    ("roller", 15.0, 60.0),
    ("reel", 40.0, 270.0),
)
_MAINS_HZ = (50.0, 60.0, 100.0, 120.0)
_MAINS_OFF = 0.01


def rim_mm(rate_hz: float, speed_ips: float) -> float:
    """Return the diameter of a part that turns so often, mm. Raises ValueError for no speed."""
    return speed_mm_s(speed_ips) / (math.pi * rate_hz)


def parts_at(rate_hz: float, speed_ips: float | None) -> tuple[TurningPart, ...]:
    """Return the parts that a swing is consistent with; without a speed only the mains."""
    return tuple(_parts(rate_hz, speed_ips))


def _parts(rate_hz: float, speed_ips: float | None) -> Iterator[TurningPart]:
    if speed_ips is not None:
        across = rim_mm(rate_hz, speed_ips)
        yield from (part for part, low, high in _SIZES_MM if low <= across <= high)
    if any(abs(rate_hz / mains - 1.0) < _MAINS_OFF for mains in _MAINS_HZ):
        yield "mains"
