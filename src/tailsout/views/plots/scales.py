"""Scales along and up a plot: time, frequency, and round steps of anything."""

import math

from matplotlib.axes import Axes

from tailsout.views.plots.sheet import FAINT, HAIR, PLAIN
from tailsout.views.plots.words import clock, hertz

_STEPS = (0.1, 0.2, 0.5, 1, 2, 5, 10, 15, 30, 60, 120, 300, 600, 900, 1800, 3600, 7200, 14400)
_MOST = 11
_RATES = (0.1, 0.2, 0.5, 1, 2, 5, 10, 20, 50, 100, 200, 500, 1000, 2000, 5000, 10000)
_TONES = (31.5, 63, 125, 250, 500, 1000, 2000, 4000, 8000, 16000, 32000)


def rule_time(axes: Axes, seconds: float) -> None:
    """Put figures under the axis, at round times."""
    step = next((one for one in _STEPS if seconds / one <= _MOST), None)
    if step is None:
        # A file of more than a day: whole multiples of the widest step.
        step = _STEPS[-1] * (int(seconds / _STEPS[-1] / _MOST) + 1)
    ticks = [step * number for number in range(int(seconds / step) + 1)]
    texts = [clock(one) if step >= 1 else f"{one:.1f} s" for one in ticks]
    axes.set_xticks(ticks, texts, fontsize=PLAIN)
    axes.set_xlim(0.0, seconds)
    # The first figure stays clear of the ruled margin, the last one on the paper.
    labels = axes.get_xticklabels()
    labels[0].set_horizontalalignment("left")
    if ticks[-1] > 0.97 * seconds and len(ticks) > 1:
        labels[-1].set_horizontalalignment("right")


def rule_rate(axes: Axes, low: float, high: float, *, tones: bool = False) -> None:
    """Put frequencies under the axis, whose scale is the logarithm to base 2 of hertz."""
    ticks = [one for one in (_TONES if tones else _RATES) if low <= one <= high]
    axes.set_xticks([math.log2(one) for one in ticks], [hertz(one) for one in ticks])
    axes.set_xlim(math.log2(low), math.log2(high))
    axes.grid(axis="both", color=FAINT, linewidth=HAIR)


def round_step(span: float, most: int) -> float:
    """Return the least of 1, 2, 5 times a power of ten that divides a span into so many parts."""
    power = 10.0 ** math.floor(math.log10(span / most))
    return next(power * one for one in (1, 2, 5, 10) if span / (power * one) <= most)


def steps(low: float, high: float, most: int) -> list[float]:
    """Return round numbers between two, at most so many and one."""
    step = round_step(high - low, most)
    first, last = math.ceil(low / step - 1e-9), math.floor(high / step + 1e-9)
    return [number * step for number in range(first, last + 1)]


def digits_of(step: float) -> int:
    """Return how many digits behind the point a number of such steps needs."""
    return max(0, -math.floor(math.log10(step) + 1e-9))
