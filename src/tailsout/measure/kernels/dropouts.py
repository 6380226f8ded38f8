"""Short losses of level in a row of slots."""

from numba import float64, int64, void

from tailsout.measure.kernels.compiled import GRID, VECTOR, WHOLE, Floats, Integers, compiled

BESIDE = 40
"""Slots before and after that the level is held against: 50 ms."""
APART = 4
"""Slots between these and the dip: its edges."""
LONGEST = 160
"""Slots of the longest dip that is no pause: 200 ms."""
REACH = LONGEST + APART + BESIDE
"""Slots that must follow before it is known whether a dip begins here."""


@compiled(float64(VECTOR, int64, int64))
def _lowest(levels: Floats, start: int, end: int) -> float:
    low: float = levels[start]
    for i in range(start, end):
        low = min(low, levels[i])
    return low


@compiled(void(VECTOR, int64, int64, float64, float64, GRID, VECTOR, WHOLE))
def find_dips(  # noqa: PLR0917 - compiled functions have no keyword-only arguments
    levels: Floats,
    begin: int,
    end: int,
    fall: float,
    faintest: float,
    found: Integers,
    depths: Floats,
    state: Integers,
) -> None:
    """Find dips that begin from `begin` up to `end`, in `levels` of running means.

    A level below `fall` of the lowest of the `BESIDE` slots before, which comes back within
    `LONGEST` slots to stay above as much for as long. `found` rows: start, end; `depths`: lowest by
    the mean around. `state`: how many were found, where to go on.
    """
    count = 0
    i = begin
    while i < end:
        before = _lowest(levels, i - APART - BESIDE, i - APART)
        if before <= faintest or levels[i] >= fall * before:
            i += 1
            continue
        stop = i
        low = levels[i]
        while stop < i + LONGEST and levels[stop] < fall * before:
            low = min(low, levels[stop])
            stop += 1
        after = _lowest(levels, stop + APART, stop + APART + BESIDE)
        if stop < i + LONGEST and low < fall * after:
            total = 0.0
            for k in range(BESIDE):
                total += levels[i - APART - 1 - k] + levels[stop + APART + k]
            if count < found.shape[0]:
                found[count, 0] = i
                found[count, 1] = stop
                depths[count] = low / (total / (2 * BESIDE))
            count += 1
        i = stop
    state[0] = count
    state[1] = i
