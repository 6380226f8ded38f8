"""One second of sound in one sweep: energies of short slots, products of pairs, spectra."""

import numpy as np
from numba import complex128, float32, int64, types, void
from numpy.typing import NDArray

from tailsout.measure.kernels.compiled import TABLE, WHOLE, Floats, Integers, Singles, compiled

Transforms = NDArray[np.complex128]

_SECOND = float32[:, ::1]
_CUBE = types.Array(types.float64, 3, "C")
_SPECTRA = complex128[:, :, ::1]


@compiled(void(_SECOND, WHOLE, _CUBE), "contract", "reassoc", "nnan", "nsz")
def sum_slots(second: Singles, edges: Integers, slots: Floats) -> None:
    """Write sums of each channel and slot.

    `edges`: where slots begin, and where the last ends. `slots[channel, slot]`: sum, sum of
    squares, sum of squares of first differences within the slot, lowest and highest sample.
    """
    for c in range(second.shape[0]):
        for k in range(edges.size - 1):
            total = 0.0
            square = 0.0
            change = 0.0
            low = second[c, edges[k]]
            high = low
            piece = second[c, edges[k] : edges[k + 1]]
            for i in range(piece.size):
                x = piece[i]
                wide = np.float64(x)
                total += wide
                square += wide * wide
                low = min(low, x)
                high = max(high, x)
            for i in range(1, piece.size):
                step = np.float64(piece[i]) - np.float64(piece[i - 1])
                change += step * step
            slots[c, k, 0] = total
            slots[c, k, 1] = square
            slots[c, k, 2] = change
            slots[c, k, 3] = low
            slots[c, k, 4] = high


@compiled(void(_SECOND, TABLE), "contract", "reassoc", "nsz")
def multiply_pairs(second: Singles, pairs: Floats) -> None:
    """Write of each pair of neighbours: sum of products, sum of squared differences."""
    for c in range(second.shape[0] - 1):
        product = 0.0
        apart = 0.0
        for i in range(second.shape[1]):
            one = np.float64(second[c, i])
            other = np.float64(second[c + 1, i])
            product += one * other
            apart += (one - other) * (one - other)
        pairs[c, 0] = product
        pairs[c, 1] = apart


@compiled(void(_SPECTRA, int64, TABLE, TABLE, complex128[:, ::1]), "contract", "reassoc", "nsz")
def gather_spectra(
    spectra: Transforms, frames: int, powers: Floats, columns: Floats, crosses: Transforms
) -> None:
    """Add up transforms `spectra[channel, frame, bin]`.

    `powers[channel, bin]`: over frames. `columns[frame, bin]`: over channels.
    `crosses[pair, bin]`: the conjugate of one channel times the next, over frames.
    """
    powers[:] = 0.0
    columns[:] = 0.0
    crosses[:] = 0.0
    for c in range(spectra.shape[0]):
        for f in range(frames):
            for b in range(spectra.shape[2]):
                x = spectra[c, f, b]
                power = x.real * x.real + x.imag * x.imag
                powers[c, b] += power
                columns[f, b] += power
            if c > 0:
                for b in range(spectra.shape[2]):
                    one = spectra[c - 1, f, b]
                    crosses[c - 1, b] += np.conj(one) * spectra[c, f, b]
