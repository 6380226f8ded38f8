"""Azimuth: the delay between two channels, from the phase of several tones.

Phase in degrees is 360·f·Δt, a line through zero. Each phase is known but for whole cycles; of all
delays that azimuth can make the one that leaves least is taken, and its slope refined by least
squares. Both heads and channels are taken to be alike; real ones add phase of
their own, so that microseconds may be theirs (judgement, not measured).
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from tailsout.measure.kernels import Floats

_FARTHEST_US = 500.0
"""24 arc-minutes at 1⅞ ips and 3.4 mm: no azimuth is likelier to be off by more (judgement)."""
_STEPS_A_CYCLE = 16
_RIVAL_DEG = 15.0
"""Another delay that leaves no more than this above the best leaves a doubt (own rule)."""
_SAME_DEG = 3.0
_BAD_DEG = 30.0
"""So much left over is not a line (own rule)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """A line of phase through several tones."""

    delay_us: float
    residual_deg: float
    """Root mean square."""
    may_be_a_cycle_out: bool
    is_inverted: bool


def phase_line(tones: Sequence[tuple[float, float]]) -> Line | None:
    """Lay a line through tones, each its frequency in Hz and how far it lags in degrees.

    None for fewer than two frequencies: one phase alone tells no delay.
    """
    if len({round(frequency) for frequency, _ in tones}) < 2:
        return None
    frequencies = np.array([frequency for frequency, _ in tones])
    lags = np.array([lag for _, lag in tones])
    step = 1e6 / (_STEPS_A_CYCLE * float(frequencies.max()))
    count = math.ceil(_FARTHEST_US / step)
    grid = np.linspace(-count * step, count * step, 2 * count + 1)
    upright = _fitted(frequencies, lags, grid)
    turned = _fitted(frequencies, lags - 180.0, grid)
    is_inverted = bool(turned[1].min() + _RIVAL_DEG < upright[1].min())
    delays, left = turned if is_inverted else upright
    # Of delays that leave about the same the shortest is the likeliest.
    best = int(np.argmin(np.where(left < left.min() + _SAME_DEG, np.abs(delays), np.inf)))
    others = np.abs(delays - delays[best]) > 0.5e6 / float(frequencies.max())
    rival = float(left[others].min()) if np.any(others) else math.inf
    return Line(
        delay_us=float(delays[best]),
        residual_deg=float(left[best]),
        may_be_a_cycle_out=rival < left[best] + _RIVAL_DEG or bool(left[best] > _BAD_DEG),
        is_inverted=is_inverted,
    )


def _fitted(frequencies: Floats, lags: Floats, delays: Floats) -> tuple[Floats, Floats]:
    """Refine each delay by least squares; return it, and what it leaves in degrees."""
    turns = 360e-6 * frequencies
    left = _wrapped(lags - turns * delays[:, np.newaxis])
    refined = delays + left @ turns / np.sum(turns**2)
    left = _wrapped(lags - turns * refined[:, np.newaxis])
    return refined, np.sqrt(np.mean(left**2, axis=1))


def _wrapped(degrees: Floats) -> Floats:
    return (degrees + 180.0) % 360.0 - 180.0
