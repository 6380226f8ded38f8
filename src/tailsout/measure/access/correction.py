"""The correction of a replay curve: of a tape of one curve that was played by another.

H(s) = N_replayed ÷ N_recorded, N being the flux of a curve (`tape.equalisation`), set to 0 dB at
1 kHz: sections of the first order. That of the low corners comes by the bilinear transform, which
bends the top (by 0.5 dB at 15 kHz of a file at 48 kHz); so that of the high corners has the
analogue gain at two frequencies instead. Derived: from 48 kHz on up to 15 kHz within 0.03 dB.
"""

import cmath
import math

import numpy as np

from tailsout.measure.kernels.compiled import Floats
from tailsout.measure.kernels.shelves import shelve
from tailsout.tape.equalisation import AT_LEVEL_HZ

LOWEST_HZ = 5.0
"""A curve without a low-frequency constant is taken to have one of this corner: else a tape of such
a curve that was played by one with it would need gain without end."""

_MATCHED = ((6_000.0, 0.15), (15_000.0, 0.4))
"""Frequencies, and what share of the rate they are at most."""

Curve = tuple[float | None, float]
"""Low- and high-frequency time constant in µs; None for a low one that is not there."""


class Correction:
    """One correction, running over block after block of one file."""

    def __init__(self, recorded: Curve, replayed: Curve, *, rate_hz: float, channels: int) -> None:
        """`rate_hz` is the rate in the programme's own time. Raises ValueError for no curve."""
        self._rate_hz = rate_hz
        slow = 1e6 / (2.0 * math.pi * LOWEST_HZ)
        low = (recorded[0], replayed[0])
        sections = [_matched(recorded[1], replayed[1], rate_hz)]
        if low != (None, None):
            sections.append(_bilinear(low[1] or slow, low[0] or slow, rate_hz))
        self._sections = np.array(sections)
        level = 10.0 ** (-self._raw_db(AT_LEVEL_HZ) / 20.0)
        self._sections[0, :2] *= level
        self._state = np.zeros((len(sections), channels, 2))

    def run(self, block: Floats) -> None:
        """Correct a planar block in place."""
        shelve(block, block.shape[1], self._sections, self._state)

    def gain_db(self, frequency_hz: float) -> float:
        """Return the gain at a frequency, dB, as the samples get it."""
        return self._raw_db(frequency_hz)

    def _raw_db(self, frequency_hz: float) -> float:
        z = cmath.exp(-2j * math.pi * frequency_hz / self._rate_hz)
        gain = 1.0
        for b0, b1, a1 in self._sections:
            gain *= abs((b0 + b1 * z) / (1.0 + a1 * z))
        return 20.0 * math.log10(gain)


def _bilinear(zero_us: float, pole_us: float, rate_hz: float) -> tuple[float, float, float]:
    """Return b0, b1 and a1 of (1 + s·zero) ÷ (1 + s·pole)."""
    _refuse_none(zero_us, pole_us)
    zero, pole = (2.0 * rate_hz * one * 1e-6 for one in (zero_us, pole_us))
    return (1.0 + zero) / (1.0 + pole), (1.0 - zero) / (1.0 + pole), (1.0 - pole) / (1.0 + pole)


def _matched(zero_us: float, pole_us: float, rate_hz: float) -> tuple[float, float, float]:
    """Return the same for a section whose gain is the analogue one at 0 Hz and two frequencies.

    Of b0 + b1·z⁻¹ the squared gain is linear in φ = sin²(ω/2), and so is that of the poles.
    """
    _refuse_none(zero_us, pole_us)
    # Of nearly the same the rows are the same but for rounding; the gain is within 0.00001 dB.
    if math.isclose(zero_us, pole_us, rel_tol=1e-6):
        return 1.0, 0.0, 0.0
    rows = []
    for hertz in (min(most, share * rate_hz) for most, share in _MATCHED):
        turns = (2.0 * math.pi * hertz * 1e-6) ** 2
        gain = (1.0 + turns * zero_us**2) / (1.0 + turns * pole_us**2)
        phi = math.sin(math.pi * hertz / rate_hz) ** 2
        rows.append((phi, -gain * phi, gain - 1.0))
    (p, q, r), (s, t, u) = rows
    zeros = (r * t - q * u) / (p * t - q * s)
    poles = (p * u - r * s) / (p * t - q * s)
    (b0, b1), (a0, a1) = _halves(zeros), _halves(poles)
    return b0 / a0, b1 / a0, a1 / a0


def _halves(slope: float) -> tuple[float, float]:
    """Return the two coefficients that have the squared gain 1 + slope · φ."""
    root = math.sqrt(1.0 + slope)
    return (1.0 + root) / 2.0, (1.0 - root) / 2.0


def _refuse_none(*constants: float) -> None:
    if min(constants) <= 0:
        raise ValueError("a time constant is above 0")
