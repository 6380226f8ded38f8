"""Azimuth of programme: how late one channel is, how it wanders, and whether by a whole cycle.

Where only a narrow band is shared, or the seconds disagree by a period, the delay that looks best
may be one period of that band beside the true one.
"""

import math
from dataclasses import dataclass
from decimal import Decimal

import numpy as np

from tailsout.measure.delays import COHERENT, FARTHEST_S
from tailsout.measure.kernels import Floats
from tailsout.measure.levels import hundredths
from tailsout.measure.seconds import Analyser, Analysis

FROM_HZ, TO_HZ = 1_000.0, 8_000.0
"""Band in which cycles are told apart (common practice)."""
RIVAL = 0.8
"""Height of another delay, by that of the one told, from which there is doubt (own trials)."""
ELSEWHERE = 0.25
"""Share of the seconds more than half a period away, from which there is doubt."""

_STEPS_A_PERIOD = 16
_LOBE = 0.6
"""Of a period: nearer ones are the delay itself."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ProgrammeAzimuth:
    """Delay between two channels over a stretch."""

    delay_us: Decimal | None = None
    """Median over the seconds that show one; positive if the second channel is late."""
    spread_us: Decimal | None = None
    """Half the distance between the 16th and the 84th percentile."""
    seconds: int = 0
    """How many show a delay."""
    rival_us: Decimal | None = None
    """Another delay that fits nearly as well."""
    may_be_a_cycle_out: bool = False


class Delays:
    """Gathers the delays of all pairs of neighbours."""

    def __init__(self, pairs: int, analyser: Analyser) -> None:
        self._rate = analyser.rate
        top = min(TO_HZ, 0.45 * analyser.rate)
        self._band = slice(
            math.ceil(FROM_HZ / analyser.bin_hz), math.floor(top / analyser.bin_hz) + 1
        )
        self._hz: Floats = analyser.bin_hz * np.arange(
            self._band.start, self._band.stop, dtype=float
        )
        self._delays: list[Floats] = []
        self._phases = np.zeros((pairs, self._hz.size), np.complex128)

    def take(self, second: Analysis) -> None:
        """Take in the next second."""
        self._delays.append(second.delays.astype(np.float32))
        cross = second.crosses[:, self._band]
        powers = second.powers[:, self._band]
        both = np.sqrt(powers[:-1] * powers[1:])
        size = np.abs(cross)
        with np.errstate(divide="ignore", invalid="ignore"):
            shared = np.nan_to_num(np.minimum((size / both) ** 2, 1.0), posinf=0.0)
            units = np.where(size > 0.0, cross / size, 0.0)
        told = np.isfinite(second.delays)[:, np.newaxis] & (shared > COHERENT)
        self._phases += np.where(told, shared * units, 0.0)

    def azimuth(self, pair: int) -> ProgrammeAzimuth:
        """Return what a pair shows."""
        told = np.array([one[pair] for one in self._delays], np.float64)
        told = told[np.isfinite(told)] / self._rate
        if not told.size:
            return ProgrammeAzimuth()
        low, middle, high = (float(one) for one in np.percentile(told, (16, 50, 84)))
        rival, is_doubtful = self._rival(self._phases[pair], told, middle)
        return ProgrammeAzimuth(
            delay_us=hundredths(1e6 * middle),
            spread_us=hundredths(1e6 * (high - low) / 2.0),
            seconds=int(told.size),
            rival_us=None if rival is None else hundredths(1e6 * rival),
            may_be_a_cycle_out=is_doubtful,
        )

    def _rival(self, phases: np.ndarray, told: Floats, middle: float) -> tuple[float | None, bool]:
        """Return the next best delay if it is nearly as good, and whether there is doubt."""
        weights = np.abs(phases)
        total = float(weights.sum())
        if total <= 0.0:
            return None, False
        period = total / float(np.sum(weights * self._hz))
        # One of the steps is the delay itself.
        step = period / _STEPS_A_PERIOD
        reach = math.floor(FARTHEST_S / step)
        tried = middle + step * np.arange(-reach, reach + 1)
        heights = np.real(np.exp(2j * np.pi * np.outer(tried, self._hz)) @ phases)
        own = float(heights[reach])
        apart = np.abs(tried - middle)
        # An inverted leg turns all of them over.
        others = np.where(apart > _LOBE * period, np.copysign(1.0, own) * heights, -np.inf)
        at = int(np.argmax(others))
        is_near = float(others[at]) >= RIVAL * abs(own)
        elsewhere = float(np.mean(np.abs(told - middle) > period / 2.0)) >= ELSEWHERE
        return (float(tried[at]) if is_near else None), is_near or elsewhere
