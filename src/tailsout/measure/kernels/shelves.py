"""Filters of the first order, one after the other."""

from numba import float64, int64, void

from tailsout.measure.kernels.compiled import TABLE, Floats, compiled


@compiled(void(TABLE, int64, TABLE, float64[:, :, ::1]))
def shelve(block: Floats, frames: int, sections: Floats, state: Floats) -> None:
    """Filter the first `frames` of a planar block in place.

    `sections[k]` is b0, b1 and a1 of one section, `state[k, channel]` its last input and output.
    """
    for k in range(sections.shape[0]):
        b0, b1, a1 = sections[k, 0], sections[k, 1], sections[k, 2]
        for c in range(block.shape[0]):
            before, told = state[k, c, 0], state[k, c, 1]
            for i in range(frames):
                now = block[c, i]
                told = b0 * now + b1 * before - a1 * told
                before = now
                block[c, i] = told
            state[k, c, 0], state[k, c, 1] = before, told
