"""Delay between two channels from their cross-spectrum.

Coarse by the phase transform (Knapp and Carter 1976): all coherent bins weigh the same and the
largest point of the transform is taken, either sign. Fine by the slope of the phase that is left,
weighed by coherence. Each second stands for itself, so that wander along a tape shows.
"""

from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from tailsout.measure.kernels import Floats
from tailsout.measure.kernels.second import Transforms

FARTHEST_S = 0.002
"""Longest delay looked for."""

_LOWEST_HZ = 100.0
_HIGHEST_HZ = 20_000.0
COHERENT = 0.6
"""Ten spectra of nothing in common pass this in 3 bins of 10,000."""
_BINS_NEEDED = 16
_FEWEST_PEAK = 0.3
"""Of the largest the transform can reach: less, and phases do not lie on a line."""


class _Analyser(Protocol):
    rate: int
    size: int


def delay_of(
    first: Floats, second: Floats, cross: Transforms, analyser: _Analyser
) -> tuple[float, float]:
    """Return delay in samples, positive if `second` is late, and coherence.

    `first`, `second`: mean power spectra. `cross`: mean of the conjugate of the first times the
    second. The delay is NaN where too few bins are coherent, the coherence NaN without any power.
    """
    both = np.sqrt(first * second)
    size = np.sqrt(cross.real**2 + cross.imag**2)
    total = float(both.sum())
    if total <= 0.0:
        return float("nan"), float("nan")
    coherence = min(1.0, (float(size.sum()) / total) ** 2)
    with np.errstate(divide="ignore", invalid="ignore"):
        shared = np.minimum((size / both) ** 2, 1.0)
    lowest = int(_LOWEST_HZ * analyser.size / analyser.rate) + 1
    used = np.nan_to_num(shared) > COHERENT
    used[:lowest] = False
    used[int(min(0.9 * used.size, _HIGHEST_HZ * analyser.size / analyser.rate)) :] = False
    if np.count_nonzero(used) < _BINS_NEEDED:
        return float("nan"), coherence
    return _delay(cross, size, shared, used, analyser), coherence


def _delay(
    cross: Transforms, size: Floats, shared: Floats, used: NDArray[np.bool_], analyser: _Analyser
) -> float:
    bins = np.flatnonzero(used)
    unit = np.zeros(cross.size, np.complex128)
    unit[bins] = cross[bins] / size[bins]
    lags = np.fft.irfft(unit, analyser.size)
    reach = max(2, min(analyser.size // 4, int(FARTHEST_S * analyser.rate)))
    near = np.concatenate([lags[-reach:], lags[: reach + 1]])
    at = int(np.argmax(np.abs(near)))
    if abs(near[at]) < _FEWEST_PEAK * 2.0 * bins.size / analyser.size or at in {0, near.size - 1}:
        return float("nan")
    coarse = float(at - reach)
    turn = 2.0 * np.pi / analyser.size * bins
    # An inverted leg turns every phase by half a circle.
    residue = np.angle(np.sign(near[at]) * unit[bins]) + turn * coarse
    residue -= 2.0 * np.pi * np.rint(residue / (2.0 * np.pi))
    weight = shared[bins] / (1.0001 - shared[bins])
    for _ in range(2):
        straight = np.abs(residue) < np.pi / 2
        weigh = weight * straight * turn
        slope = float(np.sum(weigh * residue) / max(float(np.sum(weigh * turn)), 1e-30))
        coarse -= slope
        residue -= slope * turn
    return coarse
