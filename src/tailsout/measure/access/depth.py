"""Samples brought to a depth: with dither of triangular density, or as they are where they fit.

Two steps of the new depth wide, from two even draws, so that error and signal have nothing in
common and the noise stays the same whatever is played (common practice). With the rounding it is
half a step r.m.s.: −96.3 dBFS at 16 bits. The draws depend on the seed alone.
"""

import numpy as np
from numpy.typing import NDArray

from tailsout.measure.kernels.compiled import Floats

Words = NDArray[np.int32]

_WORD_BITS = 32


class Depth:
    """Brings block after block to one depth."""

    def __init__(self, bits: int, seed: int | None) -> None:
        """Without a seed nothing is added: the samples have no more bits than that."""
        self._bits = bits
        self._draws = None if seed is None else np.random.Generator(np.random.PCG64(seed))
        self.clipped = 0
        """Samples so far that lay above full scale."""

    def words(self, block: Floats) -> Words:
        """Return a planar block as words of 32 bits, left-justified, shape (frames, channels)."""
        steps = float(1 << (self._bits - 1))
        scaled = block.T * steps
        if self._draws is not None:
            scaled += self._draws.random(scaled.shape)
            scaled -= self._draws.random(scaled.shape)
        scaled = np.floor(scaled + 0.5)
        self.clipped += int(np.count_nonzero((scaled < -steps) | (scaled > steps - 1.0)))
        np.clip(scaled, -steps, steps - 1.0, out=scaled)
        words: Words = scaled.astype(np.int32) << (_WORD_BITS - self._bits)
        return words
