"""What each second showed, kept in some tens of octets so that parts of a file can be asked later.

The seam for whatever looks along a tape: delay that wanders, level that falls, edges that move.
"""

import numpy as np
from numpy.typing import NDArray

from tailsout.measure.kernels import Floats, Octets, Singles
from tailsout.measure.seconds import SLOTS, Analysis

LEVELS_A_SECOND = 50
NOTHING = 255
"""Level code of digital silence in all channels."""

_SLOTS_A_LEVEL = SLOTS // LEVELS_A_SECOND

_Bytes = NDArray[np.uint8]


def variances(second: Analysis, slots: int) -> Floats:
    """Return the variance of each channel over so many slots, shape (channels, stretches)."""
    whole = second.sums.shape[1] // slots * slots
    if not whole:
        return np.zeros((second.sums.shape[0], 0))
    starts = np.arange(0, whole, slots)
    sizes = np.diff(second.edges[np.append(starts, whole)])
    squares = np.add.reduceat(second.squares[:, :whole], starts, axis=1) / sizes
    means = np.add.reduceat(second.sums[:, :whole], starts, axis=1) / sizes
    spread: Floats = np.maximum(squares - means**2, 0.0)
    return spread


class Trace:
    """Rows of a file, one a second, the last perhaps of a shorter one."""

    def __init__(self) -> None:
        self._rms: list[Singles] = []
        self._pairs: list[Singles] = []
        self._levels: list[_Bytes] = []

    def take(self, second: Analysis) -> None:
        """Add a row."""
        self._rms.append(np.sqrt(second.squares.sum(axis=1) / second.frames).astype(np.float32))
        power = np.sqrt(second.squares[:-1].sum(axis=1) * second.squares[1:].sum(axis=1))
        with np.errstate(divide="ignore", invalid="ignore"):
            correlations = second.products / power
        rows = np.stack([second.delays, second.coherences, correlations])
        self._pairs.append(rows.astype(np.float32))
        self._levels.append(_levels(second))

    @property
    def rms(self) -> Singles:
        """Root mean square, shape (seconds, channels), full scale 1.0."""
        return np.array(self._rms, np.float32)

    @property
    def delays(self) -> Singles:
        """Delay of each pair in samples, shape (seconds, pairs); NaN where none can be told."""
        return np.array([one[0] for one in self._pairs], np.float32)

    @property
    def coherences(self) -> Singles:
        """Coherence of each pair, shape (seconds, pairs); NaN where there is no power."""
        return np.array([one[1] for one in self._pairs], np.float32)

    @property
    def correlations(self) -> Singles:
        """Correlation of each pair, shape (seconds, pairs); NaN beside a dead channel."""
        return np.array([one[2] for one in self._pairs], np.float32)

    @property
    def levels(self) -> Octets:
        """Level of 20 ms after the other in steps of 0.5 dB below a full-scale sine.

        Of the loudest channel, its mean taken away; `NOTHING` where all channels are zeros. A
        stretch shorter than 20 ms at the end has none.
        """
        return np.concatenate([np.zeros(0, np.uint8), *self._levels])


def _levels(second: Analysis) -> _Bytes:
    powers = variances(second, _SLOTS_A_LEVEL).max(axis=0)
    zeros = second.squares.max(axis=0) == 0.0
    nothing = zeros[: powers.size * _SLOTS_A_LEVEL].reshape(-1, _SLOTS_A_LEVEL).all(axis=1)
    codes = np.rint(-20.0 * np.log10(np.maximum(2.0 * powers, 1e-20)))
    codes = np.clip(codes, 0, NOTHING - 1)
    return np.where(nothing, NOTHING, codes).astype(np.uint8)
