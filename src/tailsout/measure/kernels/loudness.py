"""K-weighted energy of 10 ms, and windows that slide over it."""

import numpy as np
from numba import int64, void

from tailsout.measure.kernels.compiled import (
    GRID,
    TABLE,
    VECTOR,
    WHOLE,
    Floats,
    Integers,
    compiled,
)

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

_FADED = 1e-30


@compiled(
    int64(TABLE, int64, int64, int64, TABLE, VECTOR, TABLE, VECTOR, WHOLE, VECTOR),
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


@compiled(void(VECTOR, int64, int64, int64, VECTOR, VECTOR, GRID, TABLE))
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
