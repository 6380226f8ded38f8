"""Wow and flutter of a steady tone.

Weighting after IEC 60386 and AES6-2008. The reading is "2-sigma style": what the size of the
weighted deviation passes for 5 % of the time. It is not the standards' own meter, whose dynamics
are not modelled. Dropouts are bridged; flutter beyond 200 Hz lies outside.
"""

import math
from dataclasses import dataclass

import numpy as np

from tailsout.measure.kernels import Floats
from tailsout.measure.phasors import advances, phasors
from tailsout.measure.samples import Samples

LONGEST_SECONDS = 300
SHORTEST_SECONDS = 7.0
"""Five are read (AES6-2008: at least so many), one is lost at each end."""
HIGHEST_HZ = 200.0
MOST_LINES = 10
MOST_POINTS = 2000

WEIGHTING_DB = (
    (0.1, -48.0),
    (0.2, -30.6),
    (0.315, -19.7),
    (0.4, -15.0),
    (0.63, -8.4),
    (0.8, -6.0),
    (1.0, -4.2),
    (1.6, -1.8),
    (2.0, -0.9),
    (4.0, 0.0),
    (6.3, -0.9),
    (10.0, -2.1),
    (20.0, -5.9),
    (40.0, -10.4),
    (63.0, -14.2),
    (100.0, -17.3),
    (200.0, -23.0),
)
"""Rate in Hz and weight re 4 Hz, dB (AES6-2008 Table 1, as transcribed by others)."""

_MARGIN_DB = (250.0, -24.8)
"""The table's last slope run on, so that a swing at its very end is not halved."""
_POINTS_A_SECOND = 1000
_WINDOW_HOPS = 4
_EDGE_SECONDS = 1.0
_UNWEIGHTED_FROM_HZ = 0.3
_SHARE_OF_TIME = 95.0
_LINE_OVER_FLOOR = 4.0
_SMALLEST_LINE = 2e-5
_TRIED = 1000
_LOWEST_CYCLES = 3
_FLOOR_BINS = 30
_HANN_BINS = 1.5


@dataclass(frozen=True, slots=True, kw_only=True)
class Course:
    """The speed of a tape over time, and its swings. Deviations are shares of the mean."""

    channel: int
    """Counted from 0."""
    start: int
    """Sample position."""
    end: int
    frequency_hz: float
    seconds_a_point: float
    deviation: Floats
    """Mean removed, drift not."""
    drift: float
    """Rise of the straight line through it from begin to end."""
    weighted: Floats
    unweighted: Floats
    """0.3 to 200 Hz; both without a second at each end."""
    rates_hz: Floats
    depth: Floats
    """Peak deviation of a swing at each rate, drift removed."""


def course(
    samples: Samples, start: int, end: int, *, frequency_hz: float, channel: int
) -> Course | None:
    """Follow the speed through a tone on one channel, counted from 0.

    None if it is too short. Raises SurroundingsError.
    """
    rate = samples.pcm.sample_rate_hz
    end = min(end, start + LONGEST_SECONDS * rate)
    hop = round(rate / _POINTS_A_SECOND)
    if end - start < SHORTEST_SECONDS * rate:
        return None
    window = np.blackman(_WINDOW_HOPS * hop + 1)[:-1]
    found = phasors(samples, start, end, frequency_hz=frequency_hz, window=window, hop=hop)

    seconds = hop / rate
    strays = advances(found[channel]) / (2.0 * math.pi * seconds)
    mean = frequency_hz + float(strays.mean())
    deviation = (strays - strays.mean()) / mean
    at = np.arange(deviation.size) - (deviation.size - 1) / 2.0
    slope = float(np.sum(at * deviation) / np.sum(at**2))
    level = deviation - slope * at
    spectrum = np.fft.rfft(level)
    rates = _rates(level, seconds)
    made_good = spectrum / _response(rates, window, rate, hop)
    edge = round(_EDGE_SECONDS / seconds)
    plain = (rates >= _UNWEIGHTED_FROM_HZ) & (rates <= HIGHEST_HZ)
    return Course(
        channel=channel,
        start=start,
        end=end,
        frequency_hz=mean,
        seconds_a_point=seconds,
        deviation=deviation,
        drift=slope * deviation.size,
        weighted=np.fft.irfft(made_good * weights(rates), level.size)[edge:-edge],
        unweighted=np.fft.irfft(made_good * plain, level.size)[edge:-edge],
        rates_hz=rates[rates <= HIGHEST_HZ],
        depth=_depth(level, window, rate, hop)[rates <= HIGHEST_HZ],
    )


def weights(rates_hz: Floats) -> Floats:
    """Return the weight of each rate, 1 at 4 Hz; none outside the table and a margin above it."""
    table = np.array((*WEIGHTING_DB, _MARGIN_DB))
    inside = (rates_hz >= table[0, 0]) & (rates_hz <= table[-1, 0])
    way = np.log(np.where(inside, rates_hz, 1.0))
    return np.where(inside, 10.0 ** (np.interp(way, np.log(table[:, 0]), table[:, 1]) / 20.0), 0.0)


def two_sigma_style(weighted: Floats) -> float:
    """Return what the size of a deviation passes for 5 % of the time."""
    return float(np.percentile(np.abs(weighted), _SHARE_OF_TIME))


def root_mean_square(deviation: Floats) -> float:
    """Return the root of the mean square."""
    return float(np.sqrt(np.mean(deviation**2)))


def lines(found: Course) -> tuple[tuple[float, float], ...]:
    """Return the strongest lines of the spectrum, rate in Hz and peak deviation, by depth."""
    rates, depth = found.rates_hz, found.depth
    taken = np.zeros(depth.size, bool)
    kept: list[tuple[float, float]] = []
    for at in np.argsort(-depth, kind="stable")[:_TRIED].tolist():
        low, high = max(0, at - _FLOOR_BINS), at + _FLOOR_BINS + 1
        if depth[at] < _SMALLEST_LINE or len(kept) == MOST_LINES:
            break
        is_line = depth[at] > _LINE_OVER_FLOOR * np.median(depth[low:high])
        if at >= _LOWEST_CYCLES and is_line and not np.any(taken[max(0, at - 4) : at + 5]):
            kept.append(_line(rates, depth, at))
        taken[at] = True
    return tuple(kept)


def _line(rates: Floats, depth: Floats, at: int) -> tuple[float, float]:
    near = slice(max(1, at - 2), at + 3)
    power = depth[near] ** 2
    rate = float(np.sum(rates[near] * power) / np.sum(power))
    return rate, math.sqrt(float(np.sum(power)) / _HANN_BINS)


def trace(found: Course) -> tuple[float, Floats, Floats]:
    """Return seconds a point, lowest and highest deviation within each point."""
    each = -(-found.deviation.size // MOST_POINTS)
    starts = np.arange(0, found.deviation.size, each)
    low = np.minimum.reduceat(found.deviation, starts)
    return each * found.seconds_a_point, low, np.maximum.reduceat(found.deviation, starts)


def spectrum(found: Course) -> tuple[Floats, Floats]:
    """Return rates in equal steps of a logarithmic scale and the deepest swing within each."""
    known = found.rates_hz[1:]
    edges = np.geomspace(known[0], known[-1], MOST_POINTS // 4)
    starts = np.unique(np.searchsorted(known, edges[:-1]))
    return known[starts], np.maximum.reduceat(found.depth[1:], starts)


def _rates(level: Floats, seconds: float) -> Floats:
    return np.asarray(np.fft.rfftfreq(level.size, seconds), np.float64)


def _response(rates: Floats, window: Floats, rate: int, hop: int) -> Floats:
    """Return what window and difference leave of a swing at each rate; 1 beyond what is read."""
    inside = rates <= _MARGIN_DB[0]
    middle = np.arange(len(window)) - (len(window) - 1) / 2.0
    # Its cosine transform, on a grid fine enough for the smooth curve it is.
    grid = np.linspace(0.0, _MARGIN_DB[0], 251)
    curve = np.cos(2.0 * math.pi / rate * grid[:, np.newaxis] * middle) @ window / window.sum()
    curve *= np.sinc(grid * hop / rate)
    return np.where(inside, np.interp(rates, grid, curve), 1.0)


def _depth(level: Floats, window: Floats, rate: int, hop: int) -> Floats:
    taper = np.hanning(level.size + 1)[:-1]
    rates = _rates(level, hop / rate)
    size = np.abs(np.fft.rfft(level * taper)) * 2.0 / taper.sum()
    return np.asarray(size / _response(rates, window, rate, hop))
