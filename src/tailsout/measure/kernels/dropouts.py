"""Short losses of level in a row of slots."""

import numpy as np
from numba import boolean, float64, int64, void

from tailsout.measure.kernels.compiled import GRID, VECTOR, WHOLE, Floats, Integers, compiled

BESIDE = 80
"""Slots of steady sound that must lie before and after: 100 ms."""
APART = 4
"""Slots between these and the dip: its edges."""
LONGEST = 160
"""Slots of the longest dip that is no pause: 200 ms."""
REACH = LONGEST + APART + BESIDE
"""Slots that must follow before it is known whether a dip begins here."""


@compiled(void(VECTOR, int64, VECTOR))
def _beside(levels: Floats, start: int, into: Floats) -> None:
    """Write mean, lowest and highest of the `BESIDE` slots from `start` on."""
    total = 0.0
    low = levels[start]
    high = levels[start]
    for i in range(start, start + BESIDE):
        total += levels[i]
        low = min(low, levels[i])
        high = max(high, levels[i])
    into[0] = total / BESIDE
    into[1] = low
    into[2] = high


@compiled(boolean(VECTOR, float64))
def _is_steady(beside: Floats, spread: float) -> bool:
    steady: bool = beside[2] <= spread * beside[0] and beside[1] * spread >= beside[0]
    return steady


@compiled(void(VECTOR, int64, int64, VECTOR, GRID, VECTOR, WHOLE))
def find_dips(  # noqa: PLR0917 - compiled functions have no keyword-only arguments
    levels: Floats,
    begin: int,
    end: int,
    limits: Floats,
    found: Integers,
    depths: Floats,
    state: Integers,
) -> None:
    """Find dips in steady sound that begin from `begin` up to `end`, in `levels` of running means.

    `limits`, ratios of power: how far the mean of the `BESIDE` slots before and that of those after
    is fallen below, and how far the lowest of them; how far each of these may lie from their mean,
    and the means from each other; a power below which there is no sound. `found` rows: start, end;
    `depths`: lowest by the mean around. `state`: how many were found, where to go on.
    """
    fall, under, spread, faintest = limits
    before = np.zeros(3)
    after = np.zeros(3)
    count = 0
    i = begin
    while i < end:
        # Against any slot of steady sound the fall shows: most are passed by without their means.
        if levels[i] >= fall * spread * levels[i - APART - 1]:
            i += 1
            continue
        _beside(levels, i - APART - BESIDE, before)
        deep = min(fall * before[0], under * before[1])
        if before[0] <= faintest or levels[i] >= deep or not _is_steady(before, spread):
            i += 1
            continue
        stop = i
        low = levels[i]
        while stop < i + LONGEST and levels[stop] < fall * before[0]:
            low = min(low, levels[stop])
            stop += 1
        _beside(levels, stop + APART, after)
        mean = (before[0] + after[0]) / 2
        is_alike = after[0] <= spread * before[0] and before[0] <= spread * after[0]
        is_deep = low < min(fall * after[0], under * after[1])
        if not (stop < i + LONGEST and is_alike and is_deep and _is_steady(after, spread)):
            i += 1
            continue
        if count < found.shape[0]:
            found[count, 0] = i
            found[count, 1] = stop
            depths[count] = low / mean
        count += 1
        i = stop
    state[0] = count
    state[1] = i
