"""Loudness after ITU-R BS.1770-5 Annex 1, EBU Tech 3341 and EBU Tech 3342.

Energies are summed over 10 ms; windows slide over these sums, so a border between windows lies
within one sample of its place at any rate. Gating needs all values at the end: they are tallied
in bins of 0.001 LU with their exact sums, which keeps memory the same for any length.
Deliberately not here: windows that are not yet full; a file shorter than one has no such value.
"""

import math
from decimal import Decimal

import numpy as np

from tailsout.ground.pcm import Pcm
from tailsout.measure import kernels
from tailsout.measure.kernels import Floats, Integers
from tailsout.measure.levels import hundredths

_PUBLISHED_HZ = 48_000
_SHELF = (
    (1.53512485958697, -2.69169618940638, 1.19839281085285),
    (1.0, -1.69065929318241, 0.73248077421585),
)
"""BS.1770-5 Annex 1, Table 1: numerator, denominator."""
_HIGH_PASS = ((1.0, -2.0, 1.0), (1.0, -1.99004745483398, 0.99007225036621))
"""Table 2."""

_SURROUND = 1.41
"""BS.1770-5 Annex 1, Table 3."""
_LFE = 0.0
_BY_COUNT = {
    5: (1.0, 1.0, 1.0, _SURROUND, _SURROUND),
    6: (1.0, 1.0, 1.0, _LFE, _SURROUND, _SURROUND),
}
_MASK_LFE = 0x8
_MASK_BACK = 0x10 | 0x20
_MASK_SIDE = 0x200 | 0x400

_RANGE_GATE_LU = 20.0
_RELATIVE_GATE_LU = 10.0


def k_weighting(sample_rate_hz: int) -> Floats:
    """Return both filter stages for a sample rate, shape (2, 5): rows b0 b1 b2 a1 a2.

    The recommendation prints coefficients for 48 kHz only. They are taken back through the
    bilinear transform to the analogue filter and out again for the rate, warped so that the corner
    stays in place; at 48 kHz the printed ones come out.
    """
    return np.array([_at_rate(*stage, sample_rate_hz) for stage in (_SHELF, _HIGH_PASS)])


def _at_rate(
    numerator: tuple[float, float, float],
    denominator: tuple[float, float, float],
    sample_rate_hz: int,
) -> tuple[float, ...]:
    a0, a1, a2 = denominator
    tangent = math.sqrt((a0 + a1 + a2) / (a0 - a1 + a2))
    ratio = tangent / math.tan(math.atan(tangent) * _PUBLISHED_HZ / sample_rate_hz)
    b0, b1, b2 = _warped(numerator, ratio)
    a0, a1, a2 = _warped(denominator, ratio)
    return (b0 / a0, b1 / a0, b2 / a0, a1 / a0, a2 / a0)


def _warped(polynomial: tuple[float, float, float], ratio: float) -> tuple[float, float, float]:
    c0, c1, c2 = polynomial
    square = (c0 - c1 + c2) * ratio * ratio
    linear = 2.0 * (c0 - c2) * ratio
    constant = c0 + c1 + c2
    return (square + linear + constant, 2.0 * (constant - square), square - linear + constant)


def channel_weights(channels: int, mask: int | None) -> tuple[float, ...]:
    """Return the weight of each channel (BS.1770-5 Annex 1, Table 3).

    With positions stated, the low-frequency channel is left out and the surrounds weigh 1.41: the
    side pair, or the back pair where there is no side pair. Without (no mask, or one of no
    positions), by count: five are L R C Ls Rs and six L R C LFE Ls Rs. Any other count weighs 1.0
    throughout: no layout is known for four or eight channels, which on tape are mostly tracks.
    """
    if not mask:
        return _BY_COUNT.get(channels, (1.0,) * channels)
    surrounds = mask & _MASK_SIDE or mask & _MASK_BACK
    weights = []
    for bit in (1 << n for n in range(32) if mask >> n & 1):
        if bit == _MASK_LFE:
            weights.append(_LFE)
        else:
            weights.append(_SURROUND if bit & surrounds else 1.0)
    return (*weights, *(1.0,) * channels)[:channels]


class Loudness:
    """All loudness figures of one stream of blocks."""

    def __init__(self, pcm: Pcm, *, frames: int) -> None:
        """`frames`: most in a block."""
        self._rate = pcm.sample_rate_hz
        self._stages = k_weighting(pcm.sample_rate_hz)
        self._weights = np.array(channel_weights(pcm.channels, pcm.channel_mask))
        self._state = np.zeros((pcm.channels, 4))
        self._energy = np.zeros(pcm.channels)
        self._clock = np.zeros(2, np.int64)
        longest = frames * kernels.SUB_BLOCKS_A_SECOND // pcm.sample_rate_hz + 2
        self._energies = np.zeros(longest)
        self._ring = np.zeros(kernels.SHORT_TERM)
        self._maxima = np.zeros(2)
        self._counts: Integers = np.zeros((2, kernels.BINS), np.int64)
        self._powers: Floats = np.zeros((2, kernels.BINS))

    def take(self, planar: Floats, first: int, frames: int) -> None:
        """Take in the next frames: columns of a (channels, …) block from `first` on."""
        done = int(self._clock[1])
        written = kernels.weigh(
            planar,
            first,
            frames,
            self._rate,
            self._stages,
            self._weights,
            self._state,
            self._energy,
            self._clock,
            self._energies,
        )
        kernels.tally(
            self._energies,
            written,
            done,
            self._rate,
            self._ring,
            self._maxima,
            self._counts,
            self._powers,
        )

    @property
    def momentary_max(self) -> Decimal | None:
        """Largest momentary loudness in LUFS, window moved by 10 ms; None without energy."""
        return _lufs(float(self._maxima[0]))

    @property
    def short_term_max(self) -> Decimal | None:
        """Largest short-term loudness in LUFS, window moved by 100 ms; None without energy."""
        return _lufs(float(self._maxima[1]))

    @property
    def integrated(self) -> Decimal | None:
        """Gated loudness in LUFS (BS.1770-5 Annex 1); None if no block passes the gates."""
        counts, powers = self._gated(0, _RELATIVE_GATE_LU)
        return _lufs(float(powers.sum()) / int(counts.sum())) if counts.size else None

    @property
    def range(self) -> Decimal | None:
        """Loudness range in LU (EBU Tech 3342): 95th less 10th percentile, nearest rank."""
        counts, powers = self._gated(1, _RANGE_GATE_LU)
        if not counts.size:
            return None
        last = np.cumsum(counts) - 1
        low, high = np.searchsorted(last, [_rank(last[-1], 10), _rank(last[-1], 95)])
        return hundredths(
            10.0 * math.log10(powers[high] / counts[high] / (powers[low] / counts[low]))
        )

    def _gated(self, row: int, relative_lu: float) -> tuple[Integers, Floats]:
        filled = self._counts[row] > 0
        counts, powers = self._counts[row][filled], self._powers[row][filled]
        if not counts.size:
            return counts, powers
        gate = powers.sum() / counts.sum() * 10.0 ** (-relative_lu / 10.0)
        passes = powers / counts > gate
        return counts[passes], powers[passes]


def _rank(last: int, percent: int) -> int:
    return int((int(last) * percent + 50) // 100)


def _lufs(power: float) -> Decimal | None:
    if power <= 0.0:
        return None
    return hundredths(kernels.OFFSET_LUFS + 10.0 * math.log10(power))
