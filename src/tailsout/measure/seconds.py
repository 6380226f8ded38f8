"""Planar blocks of any size to whole seconds, and what one second shows.

Meters that need more than a sample at a time are fed by seconds on the file's own grid, so that no
split of the stream can change a figure. A second is single precision: 24-bit samples are exact.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from tailsout.ground.pcm import Pcm
from tailsout.measure import kernels
from tailsout.measure.delays import delay_of
from tailsout.measure.kernels import Floats, Integers, Singles
from tailsout.measure.kernels.second import Transforms

MOST_CHANNELS = 32
"""More have no facts by the second: a second of them all would not fit in memory."""
SLOTS = 800
"""Slots in a second: 1.25 ms each."""
COLUMNS = 10
"""Spectra in a second, and columns of the overview."""

_TOO_LOUD = 1e6
"""Squares of such floats would leave single precision; what they hold is not sound."""
_SUM, _SQUARE, _CHANGE, _LOW, _HIGH = range(5)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Analysis:
    """What one second shows; the last of a file may be shorter."""

    first: int
    """Sample position of its start."""
    frames: int
    edges: Integers
    """Where slots begin, from `first`, and where the last ends."""
    sums: Floats
    """Shape (channels, slots), like the next two."""
    squares: Floats
    changes: Floats
    """Sums of squares of differences from one sample to the next: the higher frequencies."""
    lows: Floats
    """Shape (channels, slots), like the next."""
    highs: Floats
    products: Floats
    """By pair of neighbours."""
    are_apart: Floats
    """By pair: zero if both channels hold the same samples."""
    powers: Floats
    """Shape (channels, bins): mean power spectrum; bins of a full-scale sine add up to 1."""
    columns: Floats
    """Shape (spectra, bins): the same of each spectrum, mean of the channels."""
    crosses: Transforms
    """Shape (pairs, bins): mean of the conjugate of the first times the second."""
    delays: Floats
    """By pair, in samples, positive if the second channel is late; NaN if none can be told."""
    coherences: Floats
    """By pair, 0 to 1; NaN without a spectrum."""
    slow: Singles | None
    """Shape (channels, samples at `Analyser.slow_hz`); None in a second that is cut short."""


class Analyser:
    """Analyses seconds of one sample rate."""

    def __init__(self, pcm: Pcm) -> None:
        rate = pcm.sample_rate_hz
        self.rate = rate
        self._edges: Integers = np.arange(SLOTS + 1, dtype=np.int64) * rate // SLOTS
        self._starts = [j * rate // COLUMNS for j in range(COLUMNS)]
        self.size = 1 << ((rate // COLUMNS).bit_length() - 1)
        """Samples of a transform: the largest power of two in a tenth of a second."""
        window = 0.5 - 0.5 * np.cos(2.0 * np.pi * np.arange(self.size) / self.size)
        self._window: Floats = window
        self._scale = 4.0 / (self.size * float(np.sum(window**2)))
        self._pieces = np.zeros((pcm.channels, COLUMNS, self.size))
        self._transforms: Transforms = np.zeros(
            (pcm.channels, COLUMNS, self.size // 2 + 1), np.complex128
        )
        # A fixed share of the rate, so that every second has as many; else hum is not looked for.
        fits = [q for q in range(1, rate // 2000 + 1) if rate % q == 0 and rate // q <= 5000]
        self.slow_step = max(fits) if fits else 0
        self.slow_hz = rate // self.slow_step if fits else 0

    @property
    def bin_hz(self) -> float:
        """Width of a bin of the spectra."""
        return self.rate / self.size

    def analyse(self, second: Singles, first: int) -> Analysis:
        """Return what a second shows, shape (channels, frames); it begins at sample `first`."""
        channels, frames = second.shape
        edges = np.append(self._edges[self._edges < frames], frames)
        slots = np.empty((channels, edges.size - 1, 5))
        kernels.sum_slots(second, edges, slots)
        pairs = np.zeros((max(channels - 1, 0), 2))
        kernels.multiply_pairs(second, pairs)
        loudest = float(np.abs(slots[:, :, _LOW:]).max(initial=0.0))
        means = slots[:, :, _SUM].sum(axis=1) / frames if loudest < _TOO_LOUD else None
        powers, columns, crosses = self._spectra(second, means)
        told = [delay_of(powers[p], powers[p + 1], crosses[p], self) for p in range(channels - 1)]
        delays = np.array(told).reshape(-1, 2)
        is_whole = frames == self.rate and self.slow_step
        return Analysis(
            first=first,
            frames=frames,
            edges=edges,
            sums=slots[:, :, _SUM],
            squares=slots[:, :, _SQUARE],
            changes=slots[:, :, _CHANGE],
            lows=slots[:, :, _LOW],
            highs=slots[:, :, _HIGH],
            products=pairs[:, 0],
            are_apart=pairs[:, 1],
            powers=powers,
            columns=columns,
            crosses=crosses,
            delays=delays[:, 0],
            coherences=delays[:, 1],
            slow=self._slowed(second) if is_whole else None,
        )

    def _spectra(self, second: Singles, means: Floats | None) -> tuple[Floats, Floats, Transforms]:
        """Return the spectra of a second whose means are to be taken away; zeros without these."""
        channels, frames = second.shape
        bins = self.size // 2 + 1
        count = sum(one + self.size <= frames for one in self._starts)
        powers = np.zeros((channels, bins))
        columns = np.zeros((count, bins))
        crosses = np.zeros((max(channels - 1, 0), bins), np.complex128)
        if count and means is not None:
            for j, start in enumerate(self._starts[:count]):
                piece = second[:, start : start + self.size]
                np.subtract(piece, means[:, np.newaxis], out=self._pieces[:, j])
            self._pieces *= self._window
            # In double precision, which numpy transforms faster than single; into room that is
            # there already, which saves as much again.
            np.fft.rfft(self._pieces, out=self._transforms)
            kernels.gather_spectra(self._transforms, count, powers, columns, crosses)
            powers *= self._scale / count
            columns *= self._scale / channels
            crosses *= self._scale / count
        return powers, columns, crosses

    def _slowed(self, second: Singles) -> Singles:
        channels = second.shape[0]
        slow: Singles = second.reshape(channels, -1, self.slow_step).mean(axis=2, dtype=np.float32)
        return slow


class Seconds:
    """Gathers planar samples and hands on whole seconds."""

    def __init__(self, pcm: Pcm, hand: Callable[[Singles, int], None]) -> None:
        """`hand` takes a second, shape (channels, frames), its own from then on, and its start."""
        self._rate = pcm.sample_rate_hz
        self._channels = pcm.channels
        self._hand = hand
        self._second: Singles = np.empty((0, 0), np.float32)
        self._filled = 0
        self._first = 0

    def take(self, planar: Floats, first: int, frames: int) -> None:
        """Take in columns of a (channels, …) block from `first` on."""
        at, end = first, first + frames
        while at < end:
            if not self._filled:
                self._second = np.empty((self._channels, self._rate), np.float32)
            fits = min(end - at, self._rate - self._filled)
            self._second[:, self._filled : self._filled + fits] = planar[:, at : at + fits]
            self._filled += fits
            at += fits
            if self._filled == self._rate:
                self._pass_on(self._second)

    def close(self) -> None:
        """Hand on what is left: the beginning of a second."""
        if self._filled:
            self._pass_on(np.ascontiguousarray(self._second[:, : self._filled]))

    def _pass_on(self, second: Singles) -> None:
        self._hand(second, self._first)
        self._first += second.shape[1]
        self._filled = 0
