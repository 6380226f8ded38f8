"""Peaks of samples and between them, sums, runs at full scale."""

import numpy as np
from numba import boolean, float64, int64, void

from tailsout.measure.kernels.compiled import (
    GRID,
    TABLE,
    TAPS,
    VECTOR,
    WHOLE,
    Floats,
    Integers,
    Singles,
    compiled,
)

SHORTEST_RUN = 3
"""Samples at full scale in a row that count as clipped (common practice)."""

_PIECE = 256


@compiled(void(TABLE, int64, int64, VECTOR, VECTOR, VECTOR), "reassoc", "nnan", "nsz")
def survey(  # noqa: PLR0917 - compiled functions have no keyword-only arguments
    block: Floats, first: int, frames: int, lows: Floats, highs: Floats, sums: Floats
) -> None:
    """Write the lowest and the highest sample of each channel and add to its sum."""
    for c in range(block.shape[0]):
        low = block[c, first]
        high = low
        total = sums[c]
        for i in range(first, first + frames):
            x = block[c, i]
            total += x
            low = min(low, x)
            high = max(high, x)
        lows[c] = low
        highs[c] = high
        sums[c] = total


@compiled(void(GRID, int64, int64, int64))
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


@compiled(void(TABLE, int64, int64, int64, VECTOR, boolean, GRID, WHOLE, GRID))
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


@compiled(void(TABLE, int64, int64, int64, boolean, float64, float64, VECTOR, WHOLE))
def find_flat_tops(  # noqa: PLR0917 - compiled functions have no keyword-only arguments
    block: Floats,
    first: int,
    frames: int,
    channel: int,
    is_start: bool,
    sign: float,
    step: float,
    extreme: Floats,
    state: Integers,
) -> None:
    """Count runs of equal samples at the extreme of a channel; a higher one begins anew.

    `sign`: 1 for the highest, -1 for the lowest. `extreme`: the value so far, and the sample before
    the run under way. `state`: length of that run, runs counted. A run counts if the samples
    on both sides of it lie more than four quantising `step`s away: the top of a slow wave does not.
    """
    top, before = extreme
    length, count = state
    # What stands at the edge of a file has no neighbour to fall off to.
    last = sign * block[channel, first if is_start else first - 1]
    for i in range(first, first + frames):
        x = sign * block[channel, i]
        if x > top:
            top = x
            count = 0
            length = 1
            before = last
        elif x == top:
            if length == 0:
                before = last
            length += 1
        elif length > 0:
            if length >= SHORTEST_RUN and top - x > 4 * step and top - before > 4 * step:
                count += 1
            length = 0
        last = x
    extreme[0] = top
    extreme[1] = before
    state[0] = length
    state[1] = count


@compiled(void(TABLE, int64, TAPS, float64, VECTOR), "contract", "nnan", "nsz")
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
