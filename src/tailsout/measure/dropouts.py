"""Dropouts: steady sound falls for 5 ms or so and more, and comes back as it was.

Measured on differences from one sample to the next, so that a low note is steady and the high
frequencies, which a bad contact takes first, count most. The sound must be steady for 100 ms on
either side: between syllables, where level falls and comes back too, it is not. In speech and
lively music a dropout may go unseen, as do several close together, and a steady sound that is
really interrupted, as by a percussive player's mute, counts as one.
"""

import numpy as np

from tailsout.measure.kernels import Floats, Integers
from tailsout.measure.kernels.dropouts import APART, BESIDE, REACH, find_dips
from tailsout.measure.levels import hundredths
from tailsout.measure.seconds import SLOTS, Analysis
from tailsout.records.sound import Dropout

FALL_DB = 5.0
"""Below the mean of what lies beside: hiss that fills a fall of 6 dB up a little is allowed for."""
UNDER_DB = 4.0
"""Below the lowest of what lies beside."""
SPREAD_DB = 4.0
"""Furthest that the level of steady sound strays (own trials: pauses of speech lie beyond)."""
MOST_KEPT = 100

_MEAN = 4
"""Slots in 5 ms."""
_BEFORE = APART + BESIDE
_KEPT = _BEFORE + REACH + _MEAN
_FAINTEST = 1e-13
_MOST_A_SECOND = SLOTS
_LIMITS = np.array([*(10.0 ** (db / 10.0) for db in (-FALL_DB, -UNDER_DB, SPREAD_DB)), _FAINTEST])


class Dropouts:
    """Finds the dropouts of every channel."""

    def __init__(self, channels: int, rate: int) -> None:
        self._rate = rate
        self._tail: Floats = np.zeros((channels, 0))
        self._done = np.zeros(channels, np.int64)
        """Slot of the file from which each channel is still to be searched."""
        self._tail_at = 0
        self._found: list[Dropout] = []
        self.counts: Integers = np.zeros(channels, np.int64)
        """How many each channel has."""

    def take(self, second: Analysis) -> None:
        """Take in the next second; a slot that is cut short counts as what it holds."""
        changes = second.changes / np.maximum(np.diff(second.edges) - 1, 1)
        slots = np.concatenate([self._tail, changes], axis=1)
        if slots.shape[1] > _BEFORE + REACH + _MEAN:
            sums = np.cumsum(np.pad(slots, ((0, 0), (1, 0))), axis=1)
            levels = np.ascontiguousarray(np.maximum(sums[:, _MEAN:] - sums[:, :-_MEAN], 0) / _MEAN)
            for channel in range(slots.shape[0]):
                self._search(channel, levels[channel])
        kept = min(slots.shape[1], _KEPT)
        self._tail_at += slots.shape[1] - kept
        self._tail = slots[:, slots.shape[1] - kept :]

    def _search(self, channel: int, levels: Floats) -> None:
        begin = max(int(self._done[channel]) - self._tail_at, _BEFORE)
        end = levels.size - REACH
        if begin >= end:
            return
        found = np.zeros((_MOST_A_SECOND, 2), np.int64)
        depths = np.zeros(_MOST_A_SECOND)
        state = np.zeros(2, np.int64)
        find_dips(levels, begin, end, _LIMITS, found, depths, state)
        count = int(state[0])
        self.counts[channel] += count
        self._done[channel] = self._tail_at + int(state[1])
        for (start, stop), depth in zip(found[:count].tolist(), depths, strict=False):
            first = self._place(self._tail_at + start)
            # A level is that of the four slots from its own on.
            last = self._place(self._tail_at + stop + _MEAN - 1)
            fallen = -10.0 * np.log10(max(float(depth), 1e-20))
            self._found.append(
                Dropout(
                    channel=channel + 1,
                    start=first,
                    length=last - first,
                    depth_db=hundredths(min(fallen, 200.0)),
                )
            )
        self._found.sort(key=lambda one: (one.start, one.channel))
        # A second behind may still come before what another channel has shown.
        del self._found[MOST_KEPT * 2 :]

    def first_ones(self) -> tuple[Dropout, ...]:
        """Return the first hundred in order of start, then channel."""
        return tuple(self._found[:MOST_KEPT])

    def _place(self, slot: int) -> int:
        return slot * self._rate // SLOTS
