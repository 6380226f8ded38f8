"""A whole file in a few columns, for plots.

A column begins as a tenth of a second; whenever there are too many, each two neighbours become
one. So memory does not grow with the file.
"""

from collections.abc import Callable
from decimal import Decimal
from typing import Any

import numpy as np
from numpy.typing import NDArray

from tailsout.measure.kernels import Floats
from tailsout.measure.seconds import COLUMNS, SLOTS, Analyser, Analysis
from tailsout.records.sound import Overview

MOST_COLUMNS = 2048
MOST_BANDS = 128
LOWEST_HZ = 20.0

_SLOTS_A_COLUMN = SLOTS // COLUMNS
_NOTHING = 255
_FAINTEST = 1e-25

_Reduce = Callable[..., NDArray[Any]]
_WAYS: tuple[_Reduce, ...] = (np.min, np.max, np.mean, np.mean)
"""How columns become one: lowest, highest, mean square, power of each band."""


class OverviewMeter:
    """Gathers an `Overview`."""

    def __init__(self, channels: int, analyser: Analyser) -> None:
        self._bands = np.geomspace(LOWEST_HZ, analyser.rate / 2, MOST_BANDS + 1)
        bins = analyser.size // 2 + 1
        # A band narrower than a bin shows the bin it lies in.
        self._starts = np.clip(np.rint(self._bands[:-1] / analyser.bin_hz), 1, bins - 1).astype(int)
        self._merged = 1
        self._used = 0
        widths = (channels, channels, channels, MOST_BANDS)
        self._kept: list[Floats] = [np.zeros((MOST_COLUMNS, w)) for w in widths]
        self._rest: list[Floats] = [np.zeros((0, w)) for w in widths]

    def take(self, second: Analysis) -> None:
        """Add the columns of a second."""
        starts = np.arange(0, second.sums.shape[1], _SLOTS_A_COLUMN)
        sizes = np.diff(np.append(second.edges[starts], second.frames))
        cells = np.zeros((starts.size, MOST_BANDS))
        if second.columns.size:
            cells[: second.columns.shape[0]] = np.add.reduceat(second.columns, self._starts, axis=1)
        new: tuple[NDArray[Any], ...] = (
            np.minimum.reduceat(second.lows, starts, axis=1).T,
            np.maximum.reduceat(second.highs, starts, axis=1).T,
            (np.add.reduceat(second.squares, starts, axis=1) / sizes).T,
            cells,
        )
        self._rest = [
            np.concatenate([old, more]) for old, more in zip(self._rest, new, strict=True)
        ]
        self._settle()

    def _settle(self) -> None:
        while groups := min(self._rest[0].shape[0] // self._merged, MOST_COLUMNS - self._used):
            end = groups * self._merged
            for kept, rest, way in zip(self._kept, self._rest, _WAYS, strict=True):
                kept[self._used : self._used + groups] = _merge(rest[:end], self._merged, way)
            self._rest = [rest[end:] for rest in self._rest]
            self._used += groups
            if self._used == MOST_COLUMNS:
                for kept, way in zip(self._kept, _WAYS, strict=True):
                    kept[: MOST_COLUMNS // 2] = _merge(kept, 2, way)
                self._used //= 2
                self._merged *= 2

    def overview(self) -> Overview:
        """Return what there is; a last column may be narrower."""
        columns = [kept[: self._used] for kept in self._kept]
        count = self._rest[0].shape[0]
        if count:
            columns = [
                np.concatenate([kept, _merge(rest, count, way)])
                for kept, rest, way in zip(columns, self._rest, _WAYS, strict=True)
            ]
        low, high, square, cells = columns
        level = np.rint(-10.0 * np.log10(np.maximum(cells, _FAINTEST)))
        octets = np.where(cells > _FAINTEST, np.clip(level, 0, _NOTHING - 1), _NOTHING)
        return Overview(
            seconds_a_column=Decimal(self._merged) / COLUMNS,
            low=_by_channel(low),
            high=_by_channel(high),
            rms=_by_channel(np.sqrt(square)),
            bands_hz=tuple(np.sqrt(self._bands[:-1] * self._bands[1:]).tolist()),
            spectrogram=octets.astype(np.uint8).tobytes(),
        )


def _merge(rows: Floats, size: int, way: _Reduce) -> Floats:
    merged: Floats = way(rows.reshape(-1, size, rows.shape[1]), axis=1)
    return merged


def _by_channel(columns: Floats) -> tuple[tuple[float, ...], ...]:
    return tuple(tuple(one) for one in columns.T.tolist())
