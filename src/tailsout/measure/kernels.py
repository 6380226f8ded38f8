"""The loops over samples, compiled: the only place for numba.

Every kernel has one fixed signature and is compiled, or taken from the cache, on import, so that
no time measured later hides a compilation. All release the interpreter lock. A *block* is planar:
`block[channel, position]`, float64, full scale 1.0; its first positions hold the end of the block
before, which the interpolation filter reaches back to.
Deliberately not here: any arithmetic that is done once a file.
"""

from collections.abc import Callable
from typing import Any, TypeVar

import numba
import numpy as np
from numba import boolean, float32, float64, int64, types, uint8, void
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]
Integers = NDArray[np.int64]
Octets = NDArray[np.uint8]

SUB_BLOCKS_A_SECOND = 100
MOMENTARY = 40
"""Sub-blocks in the 400 ms window of BS.1770-5 Annex 1 and EBU Tech 3341."""
SHORT_TERM = 300
"""Sub-blocks in the 3 s window of EBU Tech 3341."""
STEP = 10
"""Sub-blocks from one gating block or short-term value to the next: 100 ms."""
OFFSET_LUFS = -0.691
"""Constant of the loudness formula (BS.1770-5 Annex 1)."""
GATE_LUFS = -70.0
"""Absolute gate (BS.1770-5 Annex 1, EBU Tech 3342)."""
BINS_A_LU = 1000
BINS = 130 * BINS_A_LU
"""Loudness values are tallied from the gate up; the last bin also takes all that is louder."""

SHORTEST_RUN = 3
"""Samples at full scale in a row that count as clipped (common practice)."""

_PIECE = 256
_FADED = 1e-30

_Kernel = TypeVar("_Kernel", bound=Callable[..., Any])

_OCTETS = types.Array(uint8, 1, "C", readonly=True)
_VECTOR = float64[::1]
_TABLE = float64[:, ::1]
_WHOLE = int64[::1]
_GRID = int64[:, ::1]
_TAPS = float32[:, ::1]


def _compiled(signature: object, *liberties: str) -> Callable[[_Kernel], _Kernel]:
    # Called through Any: to numba's own annotations a compiled function is no function.
    njit: Any = numba.njit

    def compile_it(function: _Kernel) -> _Kernel:
        fastmath = set(liberties)
        try:
            kernel: _Kernel = njit(signature, cache=True, nogil=True, fastmath=fastmath)(function)
        except (RuntimeError, OSError):
            # No place to keep the cache, or a full one: a slower start is no reason to stop.
            kernel = njit(signature, nogil=True, fastmath=fastmath)(function)
        return kernel

    return compile_it


@_compiled(void(_OCTETS, int64, _TABLE, int64, int64))
def unpack_integers(raw: Octets, width: int, block: Floats, first: int, frames: int) -> None:
    """Spread interleaved little-endian integers of 1 to 4 octets; one octet is unsigned."""
    channels = block.shape[0]
    step = channels * width
    for c in range(channels):
        at = c * width
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
            block[c, i] = np.float64(np.int32(code)) * 2.0**-31
            at += step


@_compiled(int64(_TABLE, int64, int64, float64))
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


@_compiled(void(_TABLE, int64, int64, _VECTOR, _VECTOR))
def survey(block: Floats, first: int, frames: int, peaks: Floats, sums: Floats) -> None:
    """Raise the largest magnitude and add to the sum of each channel."""
    for c in range(block.shape[0]):
        peak = peaks[c]
        total = sums[c]
        for i in range(first, first + frames):
            x = block[c, i]
            total += x
            peak = max(peak, abs(x))
        peaks[c] = peak
        sums[c] = total


@_compiled(void(_GRID, int64, int64, int64))
def _keep_run(found: Integers, start: int, channel: int, length: int) -> None:
    row = found.shape[0]
    while row > 0 and (
        found[row - 1, 2] == 0
        or start < found[row - 1, 0]
        or (start == found[row - 1, 0] and channel < found[row - 1, 1])
    ):
        row -= 1
        if row + 1 < found.shape[0]:
            found[row + 1] = found[row]
    if row < found.shape[0]:
        found[row, 0] = start
        found[row, 1] = channel
        found[row, 2] = length


@_compiled(void(_TABLE, int64, int64, int64, _VECTOR, boolean, _GRID, _WHOLE, _GRID))
def find_runs(  # noqa: PLR0917 - compiled functions have no keyword-only arguments
    block: Floats,
    first: int,
    frames: int,
    position: int,
    rails: Floats,
    keeps_side: bool,
    under_way: Integers,
    counts: Integers,
    found: Integers,
) -> None:
    """Count the runs at full scale that end in this block and keep the earliest.

    `rails`: lowest and highest sample of full scale. `keeps_side`: leaving one rail for the other
    ends a run. `under_way[channel]`: rail, start, length. `found` rows: start, channel, length, in
    order; a free row has length 0.
    """
    for c in range(block.shape[0]):
        held, start, length = under_way[c]
        for i in range(first, first + frames):
            x = block[c, i]
            rail = 0
            if x >= rails[1]:
                rail = 1
            elif x <= rails[0]:
                rail = -1 if keeps_side else 1
            if rail == held:
                length += 1
                continue
            if held != 0 and length >= SHORTEST_RUN:
                counts[c] += 1
                _keep_run(found, start, c, length)
            held = rail
            start = position + i - first
            length = 1
        under_way[c, 0] = held
        under_way[c, 1] = start
        under_way[c, 2] = length


@_compiled(void(_TABLE, int64, _TAPS, float64, _VECTOR), "contract", "nnan", "nsz")
def true_peaks(block: Floats, frames: int, taps: Singles, bound: float, peaks: Floats) -> None:
    """Raise the largest magnitude between the samples of each channel.

    `block` begins with `taps.shape[1] - 1` positions of history. `bound`: the largest possible
    output for inputs within ±1. A piece that cannot surpass the peak so far is passed over, which
    saves nearly all the work on programme and cannot change the answer.
    """
    phases, length = taps.shape
    inputs = np.empty(_PIECE + length - 1, dtype=np.float32)
    outputs = np.empty(_PIECE, dtype=np.float32)
    for c in range(block.shape[0]):
        for at in range(0, frames, _PIECE):
            here = min(_PIECE, frames - at)
            loudest = 0.0
            for i in range(at, at + here + length - 1):
                loudest = max(loudest, abs(block[c, i]))
            if loudest * bound <= peaks[c]:
                continue
            for i in range(here + length - 1):
                inputs[i] = np.float32(block[c, at + i])
            for p in range(phases):
                outputs[:] = 0.0
                # Tap outside, sample inside, and a slice, whose index cannot be negative: only so
                # does the compiler fill its vector registers (four times as fast).
                for k in range(length):
                    tap = taps[p, k]
                    shifted = inputs[k:]
                    for i in range(here):
                        outputs[i] += tap * shifted[i]
                top = np.float32(0.0)
                for i in range(here):
                    top = max(top, abs(outputs[i]))
                peaks[c] = max(peaks[c], np.float64(top))


@_compiled(
    int64(_TABLE, int64, int64, int64, _TABLE, _VECTOR, _TABLE, _VECTOR, _WHOLE, _VECTOR),
    "contract",
)
def weigh(  # noqa: PLR0917 - compiled functions have no keyword-only arguments
    block: Floats,
    first: int,
    frames: int,
    rate: int,
    stages: Floats,
    weights: Floats,
    state: Floats,
    energy: Floats,
    clock: Integers,
    energies: Floats,
) -> int:
    """K-weight every channel and write the energy of each sub-block that ends in this block.

    `stages` rows: b0 b1 b2 a1 a2. `state[channel]` and `energy[channel]` carry over borders, as
    does `clock`: frames and sub-blocks so far. Returns how many `energies` were written; they are
    sums of squares, channels weighted and added.
    """
    b0, b1, b2, a1, a2 = stages[0]
    d0, d1, d2, c1, c2 = stages[1]
    written = 0
    at = first
    end = first + frames
    while at < end:
        edge = (clock[1] + 1) * rate // SUB_BLOCKS_A_SECOND
        stop = min(end, at + edge - clock[0])
        for c in range(block.shape[0]):
            if weights[c] == 0.0:
                continue
            u1, u2, v1, v2 = state[c]
            total = energy[c]
            for i in range(at, stop):
                # Direct form II: one multiply-add between one sample and the next.
                u = block[c, i] - a2 * u2 - a1 * u1
                y = b0 * u + (b1 * u1 + b2 * u2)
                u2 = u1
                u1 = u
                v = y - c2 * v2 - c1 * v1
                z = d0 * v + (d1 * v1 + d2 * v2)
                v2 = v1
                v1 = v
                total += z * z
            state[c, 0] = u1
            state[c, 1] = u2
            state[c, 2] = v1
            state[c, 3] = v2
            energy[c] = total
        clock[0] += stop - at
        at = stop
        if clock[0] == edge:
            energies[written] = np.sum(weights * energy)
            written += 1
            energy[:] = 0.0
            clock[1] += 1
            # In digital silence the filters would else decay into subnormals, which are very slow.
            for c in range(block.shape[0]):
                for s in range(4):
                    if abs(state[c, s]) < _FADED:
                        state[c, s] = 0.0
    return written


@_compiled(void(_VECTOR, int64, int64, int64, _VECTOR, _VECTOR, _GRID, _TABLE))
def tally(  # noqa: PLR0917 - compiled functions have no keyword-only arguments
    energies: Floats,
    written: int,
    done: int,
    rate: int,
    ring: Floats,
    maxima: Floats,
    counts: Integers,
    powers: Floats,
) -> None:
    """Slide both windows over new sub-blocks.

    `done`: sub-blocks before these; `ring`: the last `SHORT_TERM` of them. `maxima`: largest mean
    square of the momentary and the short-term window. `counts` and `powers`, one row for each
    window: how many values above the absolute gate fell into each bin, and their sum.
    """
    for j in range(written):
        ring[(done + j) % SHORT_TERM] = energies[j]
        n = done + j + 1
        for row, window in enumerate((MOMENTARY, SHORT_TERM)):
            if n < window or (row == 1 and n % STEP != 0):
                continue
            power = 0.0
            for k in range(n - window, n):
                power += ring[k % SHORT_TERM]
            power /= n * rate // SUB_BLOCKS_A_SECOND - (n - window) * rate // SUB_BLOCKS_A_SECOND
            maxima[row] = max(maxima[row], power)
            if n % STEP != 0 or power <= 0.0:
                continue
            loudness = OFFSET_LUFS + 10.0 * np.log10(power)
            if loudness > GATE_LUFS:
                into = min(BINS - 1, int((loudness - GATE_LUFS) * BINS_A_LU))
                counts[row, into] += 1
                powers[row, into] += power
