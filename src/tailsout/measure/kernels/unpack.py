"""Octets to planar samples."""

import numpy as np
from numba import float64, int64, void

from tailsout.measure.kernels.compiled import (
    OCTETS,
    TABLE,
    WHOLE,
    Floats,
    Integers,
    Octets,
    compiled,
)


@compiled(void(OCTETS, int64, TABLE, int64, int64, WHOLE))
def unpack_integers(  # noqa: PLR0917 - compiled functions have no keyword-only arguments
    raw: Octets, width: int, block: Floats, first: int, frames: int, bits: Integers
) -> None:
    """Spread interleaved little-endian integers of 1 to 4 octets; one octet is unsigned.

    `bits[channel]` gains every bit that is set in a sample of 32 bits, left-justified.
    """
    channels = block.shape[0]
    step = channels * width
    for c in range(channels):
        at = c * width
        seen = np.int32(0)
        for i in range(first, first + frames):
            code = np.int32(0)
            if width == 3:
                code = np.int32(raw[at]) << 8 | np.int32(raw[at + 1]) << 16
                code |= np.int32(raw[at + 2]) << 24
            elif width == 2:
                code = np.int32(raw[at]) << 16 | np.int32(raw[at + 1]) << 24
            elif width == 1:
                code = (np.int32(raw[at]) - 128) << 24
            else:
                code = np.int32(raw[at]) | np.int32(raw[at + 1]) << 8
                code |= np.int32(raw[at + 2]) << 16 | np.int32(raw[at + 3]) << 24
            seen |= np.int32(code)
            block[c, i] = np.float64(np.int32(code)) * 2.0**-31
            at += step
        bits[c] |= np.int64(seen)


@compiled(int64(TABLE, int64, int64, float64))
def silence_wild(block: Floats, first: int, frames: int, limit: float) -> int:
    """Set samples that are NaN or beyond the limit to zero and return how many there were."""
    wild = 0
    for c in range(block.shape[0]):
        for i in range(first, first + frames):
            # Written so that NaN, which compares false with everything, is caught too.
            if not abs(block[c, i]) <= limit:
                block[c, i] = 0.0
                wild += 1
    return wild
