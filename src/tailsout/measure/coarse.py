"""An overview made coarse enough for a side-car: whole numbers as text, a few kilobytes a channel.

Neighbours become one by the smallest whole number that leaves few enough of them, so that the same
samples always give the same columns. Text, because a list of numbers takes a line a number there.
"""

from collections.abc import Iterable
from math import ceil
from typing import Any

import numpy as np
from numpy.typing import NDArray

from tailsout.measure.kernels import Floats
from tailsout.records.sound import KeptCourse, KeptOverview, KeptSpectrogram, Overview

MOST_COLUMNS = 600
"""Of the waveform."""
MOST_CELLS_ACROSS = 300
"""Columns of the spectrogram."""
BANDS_JOINED = 2

_PARTS = 10_000
"""Steps to full scale."""
_MOST = 99_999
_NOTHING = 255


def coarsened(seen: Overview) -> KeptOverview | None:
    """Return what a side-car keeps of an overview; None of a file without a sample."""
    columns = len(seen.high[0]) if seen.high else 0
    if not columns:
        return None
    joined = _joined(columns, MOST_COLUMNS)
    courses = zip(seen.low, seen.high, seen.rms, strict=True)
    return KeptOverview(
        seconds_a_column=seen.seconds_a_column * joined,
        channels=tuple(_course(*one, joined) for one in courses),
        spectrogram=_spectrogram(seen, columns),
    )


def _joined(columns: int, most: int) -> int:
    return ceil(columns / most)


def _course(
    low: tuple[float, ...], high: tuple[float, ...], rms: tuple[float, ...], joined: int
) -> KeptCourse:
    starts = np.arange(0, len(low), joined)
    sizes = np.diff(np.append(starts, len(low)))
    squares = np.add.reduceat(np.square(np.asarray(rms)), starts) / sizes
    return KeptCourse(
        low=_parts(np.minimum.reduceat(np.asarray(low), starts)),
        high=_parts(np.maximum.reduceat(np.asarray(high), starts)),
        rms=_parts(np.sqrt(squares)),
    )


def _parts(values: Floats) -> str:
    return _text(np.clip(np.rint(values * _PARTS), -_MOST, _MOST).astype(int))


def _text(numbers: NDArray[Any]) -> str:
    return " ".join(map(str, numbers.tolist()))


def _spectrogram(seen: Overview, columns: int) -> KeptSpectrogram:
    bands = len(seen.bands_hz)
    joined = _joined(columns, MOST_CELLS_ACROSS)
    cells = np.frombuffer(seen.spectrogram, dtype=np.uint8).reshape(columns, bands)
    # The louder of two bands: below some 100 Hz both show one bin, which must not count twice.
    loudest = np.minimum.reduceat(cells, np.arange(0, bands, BANDS_JOINED), axis=1)
    power = np.where(loudest == _NOTHING, 0.0, 10.0 ** (-loudest.astype(float) / 10.0))
    starts = np.arange(0, columns, joined)
    sizes = np.diff(np.append(starts, columns))[:, np.newaxis]
    mean = np.add.reduceat(power, starts, axis=0) / sizes
    with np.errstate(divide="ignore"):
        level = np.clip(np.rint(-10.0 * np.log10(mean)), 0, _NOTHING - 1)
    octets = np.where(mean > 0.0, level, _NOTHING).astype(int)
    return KeptSpectrogram(
        seconds_a_column=seen.seconds_a_column * joined,
        bands_hz=_text(np.rint(list(_centres(seen.bands_hz))).astype(int)),
        levels=tuple(map(_text, octets.T)),
    )


def _centres(bands_hz: tuple[float, ...]) -> Iterable[float]:
    """Yield the centre, on a logarithmic scale, of the bands that became one."""
    for at in range(0, len(bands_hz), BANDS_JOINED):
        few = bands_hz[at : at + BANDS_JOINED]
        yield float(np.exp(np.mean(np.log(few))))
