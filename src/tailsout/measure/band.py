"""Bandwidth, brick walls and known lines in the mean spectrum of a file or a part of it.

Common practice, all of it: what is found is evidence of where a recording has been, no proof.
"""

from decimal import Decimal

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view

from tailsout.measure.kernels import Floats
from tailsout.measure.levels import hundredths, tenths
from tailsout.records.sound import SpectralLine

STANDS_OUT_DB = 6.0
"""A band this far above the floor belongs to the programme."""
QUIETER_DB = 10.0
"""What is this much quieter than the whole shows the floor."""
WALL_DB = 18.0
"""Fall over a wall."""
WALL_HZ = 500.0
"""Within this, and measured over as much on both sides."""
KNOWN_LINES_HZ = (15_625.0, 15_734.0, 19_000.0)
"""Line rates of 625-line and 525-line television, pilot tone of stereo broadcasting."""

_SMOOTH_HZ = 300.0
_LOWEST_HZ = 100.0
_FAINTEST = 1e-12
_WALL_FROM_HZ = 6_000.0
_WALL_TO = 0.44
"""Of the sample rate: above it the file's own converter has its edge."""
_LINE_DB = 10.0
_LINE_NEAR = 0.003
_LINE_FLOOR_BINS = 40


def bandwidth(mean: Floats, quiet: Floats | None, bin_hz: float) -> Decimal | None:
    """Return the highest frequency at which a spectrum stands above its floor, in Hz.

    `mean`, `quiet`: power by bin. Without a quiet one the lowest part of the mean counts as floor.
    None without any power.
    """
    lowest = int(_LOWEST_HZ / bin_hz) + 1
    total = mean[lowest:].sum()
    # Below this there is only the rounding of the transform.
    if mean.size <= lowest + 2 or total <= max(_FAINTEST, _FAINTEST * mean.sum()):
        return None
    shape = _smooth(mean, bin_hz)
    has_quiet = quiet is not None and total > quiet[lowest:].sum() * 10.0 ** (QUIETER_DB / 10.0)
    floor = np.full(shape.size, shape[lowest:-1].min())
    if quiet is not None and has_quiet:
        floor = _smooth(quiet, bin_hz)
    ratio = 10.0 ** (STANDS_OUT_DB / 10.0)
    above = np.flatnonzero(shape[lowest:] > ratio * floor[lowest:]) + lowest
    if not above.size:
        # Flat from end to end: all of it is sound.
        return None if has_quiet else tenths((mean.size - 1) * bin_hz)
    return tenths(float(above[-1]) * bin_hz)


def brick_wall(mean: Floats, bin_hz: float) -> Decimal | None:
    """Return the frequency of a sharp edge above which nothing comes back, in Hz, or None."""
    width = max(2, round(WALL_HZ / bin_hz))
    end = int(_WALL_TO * 2 * mean.size)
    start = int(_WALL_FROM_HZ / bin_hz)
    if end <= start or end + 2 * width > mean.size or mean.sum() <= 0.0:
        return None
    level = 10.0 * np.log10(np.maximum(mean, 1e-20))
    bands = np.median(sliding_window_view(level, width), axis=1)
    at = np.arange(start, end)
    falls = bands[at - width] - bands[at + width]
    # The loudest that follows: behind a wall nothing comes back.
    follows = np.maximum.accumulate(bands[::-1])[::-1]
    stays = bands[at - width] - follows[at + width]
    walls = np.flatnonzero((falls > WALL_DB) & (stays > WALL_DB))
    if not walls.size:
        return None
    steepest = at[walls[np.argmax(falls[walls])]]
    piece = level[steepest - width : steepest + 2 * width]
    middle = (bands[steepest - width] + bands[steepest + width]) / 2.0
    below = np.flatnonzero(piece > middle)
    edge = steepest - width + (below[-1] if below.size else width)
    return tenths(float(edge) * bin_hz)


def known_lines(mean: Floats, bin_hz: float) -> tuple[SpectralLine, ...]:
    """Return the lines that stand 10 dB out of a mean spectrum near a frequency that is known."""
    found = []
    for nominal in KNOWN_LINES_HZ:
        near = int(np.ceil(nominal * _LINE_NEAR / bin_hz))
        middle = round(nominal / bin_hz)
        if middle + near + _LINE_FLOOR_BINS >= mean.size:
            continue
        peak = middle - near + int(np.argmax(mean[middle - near : middle + near + 1]))
        around = mean[peak - _LINE_FLOOR_BINS : peak + _LINE_FLOOR_BINS + 1]
        floor = float(np.median(around))
        frequency, power = peak_of(mean, peak)
        if floor <= 0.0 or mean[peak] < floor * 10.0 ** (_LINE_DB / 10.0):
            continue
        if mean[peak] < max(mean[peak - 1], mean[peak + 1]):
            continue
        found.append(
            SpectralLine(
                frequency_hz=tenths(frequency * bin_hz),
                nominal_hz=Decimal(round(nominal)),
                level_dbfs=hundredths(10.0 * float(np.log10(power))),
                above_floor_db=hundredths(10.0 * float(np.log10(mean[peak] / floor))),
            )
        )
    return tuple(found)


def peak_of(spectrum: Floats, at: int) -> tuple[float, float]:
    """Return the place of a peak between bins, and the power of its five bins.

    A parabola through the logarithms of three bins of a Hann-windowed spectrum.
    """
    low, top, high = np.log(np.maximum(spectrum[at - 1 : at + 2], 1e-30))
    curve = low - 2.0 * top + high
    place = at + (0.5 * (low - high) / curve if curve < 0.0 else 0.0)
    return float(place), float(spectrum[at - 2 : at + 3].sum())


def _smooth(spectrum: Floats, bin_hz: float) -> Floats:
    width = max(1, round(_SMOOTH_HZ / bin_hz) // 2 * 2 + 1)
    padded = np.pad(spectrum, width // 2, mode="edge")
    sums = np.cumsum(np.concatenate([[0.0], padded]))
    smooth: Floats = np.maximum(sums[width:] - sums[:-width], 0.0) / width
    return smooth
