"""Filtering and thinning out of samples in one sweep."""

import numpy as np
from numba import float32, int64, void

from tailsout.measure.kernels.compiled import Singles, compiled


@compiled(
    void(float32[:, ::1], int64, float32[::1], int64, float32[:, ::1]), "contract", "reassoc", "nsz"
)
def thin_out(samples: Singles, first: int, taps: Singles, step: int, thinned: Singles) -> None:
    """Write `thinned[channel, k]`: the filter laid on `samples` from `first + k * step` on."""
    for c in range(thinned.shape[0]):
        for k in range(thinned.shape[1]):
            start = first + k * step
            piece = samples[c, start : start + taps.size]
            total = np.float32(0.0)
            for i in range(taps.size):
                total += piece[i] * taps[i]
            thinned[c, k] = total
