"""Peaks, direct-current offset, clipped runs and flat tops of each channel.

True peak after ITU-R BS.1770-5 Annex 2: interpolation to four times the rate, or to twice from
176.4 kHz on, with a windowed-sinc filter of 48 taps a phase whose first phase is the samples
themselves. The start and the end of the file are taken to lie in silence.
"""

import numpy as np

from tailsout.ground.pcm import Pcm
from tailsout.measure import kernels
from tailsout.measure.blocks import rails
from tailsout.measure.kernels import Floats, Integers, Singles
from tailsout.records.sound import ClippedRun

TAPS = 48
"""Taps a phase."""
HISTORY = TAPS - 1
"""Frames the interpolation reaches back."""

_HALVED_FROM_HZ = 176_400
_KAISER_BETA = 6.0
_RUNS_KEPT = 100
_NO_OFFSET = 1e-10
_MARGIN = 1.0 + 1e-5
"""Single-precision sums may pass their bound by the rounding of 48 products."""


def interpolator(sample_rate_hz: int) -> Singles:
    """Return the phases between two samples, shape (3 or 1, TAPS), each with unity gain at 0 Hz."""
    factor = 2 if sample_rate_hz >= _HALVED_FROM_HZ else 4
    between = np.arange(1, factor)[:, np.newaxis] / factor
    distance = np.arange(TAPS) - (TAPS // 2 - 1) - between
    window = np.i0(_KAISER_BETA * np.sqrt(1.0 - (distance / (TAPS // 2)) ** 2))
    taps = np.sinc(distance) * window
    taps /= taps.sum(axis=1, keepdims=True)
    return taps.astype(np.float32)


def largest_output(taps: Singles) -> float:
    """Return the largest magnitude the filter can make of inputs within ±1."""
    return float(np.abs(taps.astype(np.float64)).sum(axis=1).max()) * _MARGIN


class Peaks:
    """What is seen in the samples of each channel one by one."""

    def __init__(self, pcm: Pcm) -> None:
        self._rails = rails(pcm)
        self._keeps_side = not pcm.is_float
        self._taps = interpolator(pcm.sample_rate_hz)
        self._bound = largest_output(self._taps)
        self._sums = np.zeros(pcm.channels)
        self._under_way: Integers = np.zeros((pcm.channels, 3), np.int64)
        self._found: Integers = np.zeros((_RUNS_KEPT, 3), np.int64)
        self._position = 0
        self._lows: Floats = np.zeros(pcm.channels)
        self._highs: Floats = np.zeros(pcm.channels)
        self._loudest_before: Floats = np.zeros(pcm.channels)
        self._step = 2.0 ** (1 - min(pcm.valid_bits, 24))
        self._extremes: Floats = np.zeros((pcm.channels, 2, 2))
        self._flat: Integers = np.zeros((pcm.channels, 2, 2), np.int64)
        self.sample: Floats = np.zeros(pcm.channels)
        """Largest magnitude of each channel."""
        self.true: Floats = np.zeros(pcm.channels)
        """The same between the samples as well."""
        self.run_counts: Integers = np.zeros(pcm.channels, np.int64)
        """Clipped runs of each channel that have ended."""

    def take(self, planar: Floats, frames: int, *, is_end: bool = False) -> None:
        """Take in the next frames of a block that begins with `HISTORY` columns of the last.

        `is_end`: they are the silence that follows the file.
        """
        if not frames:
            return
        lows, highs = self._lows, self._highs
        kernels.survey(planar, HISTORY, frames, lows, highs, self._sums)
        loudest = np.maximum(-lows, highs)
        np.maximum(self.sample, loudest, out=self.sample)
        # A block that keeps away from the rails, with no run under way, can hold none.
        reaches = np.any(lows <= self._rails[0]) or np.any(highs >= self._rails[1])
        if reaches or np.any(self._under_way[:, 0]):
            kernels.find_runs(
                planar,
                HISTORY,
                frames,
                self._position,
                self._rails,
                self._keeps_side,
                self._under_way,
                self.run_counts,
                self._found,
            )
        if not is_end:
            self._find_flat_tops(planar, frames)
        np.maximum(self.true, self.sample, out=self.true)
        # As the kernel passes over a piece: it reaches back into the block before.
        reach = np.maximum(loudest, self._loudest_before)
        if np.any(reach * self._bound > self.true):
            kernels.true_peaks(planar, frames, self._taps, self._bound, self.true)
        self._loudest_before = reach if frames < HISTORY else loudest
        self._position += frames

    def _find_flat_tops(self, planar: Floats, frames: int) -> None:
        for side, (sign, reached) in enumerate(((1.0, self._highs), (-1.0, -self._lows))):
            under_way = self._flat[:, side, 0] > 0
            for c in np.flatnonzero((reached >= self._extremes[:, side, 0]) | under_way):
                kernels.find_flat_tops(
                    planar,
                    HISTORY,
                    frames,
                    int(c),
                    self._position == 0,
                    sign,
                    self._step,
                    self._extremes[c, side],
                    self._flat[c, side],
                )

    def flat_tops(self, channel: int) -> int:
        """Return how many runs there are at the extremes of a channel, below full scale."""
        extremes = self._extremes[channel, :, 0]
        below = (extremes > 0.0) & (extremes < np.abs(self._rails[::-1]))
        return int(self._flat[channel, below, 1].sum())

    def offset(self, channel: int, frames: int) -> float:
        """Return the mean of a channel over so many frames; below -200 dB it counts as zero."""
        mean = float(self._sums[channel]) / frames
        # A sum of floats leaves a residue even where the truth is zero.
        return mean if abs(mean) >= _NO_OFFSET else 0.0

    def first_runs(self) -> tuple[ClippedRun, ...]:
        """Return the first hundred runs in order of start, then channel."""
        return tuple(
            ClippedRun(channel=channel + 1, start=start, length=length)
            for start, channel, length in self._found.tolist()
            if length
        )
