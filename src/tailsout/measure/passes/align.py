"""Aligns two passes of one recording: coarsely by level, then by the samples."""

import math
from dataclasses import dataclass
from decimal import Decimal

import numpy as np

from tailsout.measure.kernels import Floats
from tailsout.measure.passes.levels import SHARE_IN_LINE, coarse, levels_of, line
from tailsout.measure.passes.sound import Sound
from tailsout.measure.passes.windows import (
    WINDOW_S,
    about_middle,
    at_common_rate,
    correlated,
    differences,
    window,
)
from tailsout.records.comparison import BandDifference

_FINE_WINDOWS = 60
_STEADY_S = 0.02
_SURE = 0.7
"""Of the median correlation: below, a period of the voice may be taken for another."""
_SHARPENED_BY = 3
_LEVELS_WITHIN_S = 0.05
_LEAST_SPREAD = 0.0005


@dataclass(frozen=True, slots=True, kw_only=True)
class Alignment:
    """How the second pass lies on the first: time in the second = offset + stretch × first."""

    offset_s: float
    stretch: float
    """How long a second of the first pass lasts in the second."""
    wander_s: float
    overlap_s: float
    windows: int
    likeness: float
    is_inverted: bool
    level_difference_db: Decimal
    bands: tuple[BandDifference, ...]

    @property
    def speed_difference_percent(self) -> float:
        """How much faster the tape ran in the second pass."""
        return (1.0 / self.stretch - 1.0) * 100.0


def align(first: Sound, second: Sound) -> Alignment | None:
    """Align the second pass with the first. None if they are not seen to hold one recording."""
    roughly = coarse(levels_of(first), levels_of(second))
    if roughly is None:
        return None
    offset, stretch = _sharpened(first, second, roughly)
    starts = _starts(first, second, offset, stretch)
    # Twice: the first time still from where the levels put it, which is some ms beside.
    for _ in range(2):
        found = [
            one for one in (window(first, second, (offset, stretch), at) for at in starts) if one
        ]
        if len(found) < max(1, math.ceil(len(starts) * SHARE_IN_LINE / 2)):
            return None
        times = np.array([one.at for one in found])
        lags = np.array([one.lag for one in found])
        heights = np.array([one.height for one in found])
        more, drift = line(times, lags, tolerance=_STEADY_S)
        offset, stretch = offset + more, stretch + drift
    signs = [one.sign for one in found]
    bands, level = differences(found)
    begins, ends = _shared(first, second, offset, stretch)
    return Alignment(
        offset_s=offset,
        stretch=stretch,
        wander_s=_wander((lags - more - drift * times)[heights > np.median(heights) * _SURE]),
        overlap_s=ends - begins,
        windows=len(found),
        likeness=float(np.median([one.height for one in found])),
        is_inverted=sum(signs) < 0,
        level_difference_db=level,
        bands=bands,
    )


def _sharpened(first: Sound, second: Sound, roughly: tuple[float, float]) -> tuple[float, float]:
    """Settle the stretch by the samples: over four seconds a wrong one smears their correlation."""
    offset, stretch = roughly
    starts = _starts(first, second, offset, stretch)
    spread = max(_LEAST_SPREAD, _LEVELS_WITHIN_S / max(starts[-1] - starts[0], WINDOW_S))
    tried = sorted(starts, key=lambda at: -_loudness(first, at))[:_SHARPENED_BY]
    pieces = []
    for at in tried:
        pair = (
            first.stretch(at, WINDOW_S),
            second.stretch(offset + stretch * at, WINDOW_S * stretch),
        )
        pieces.append([at_common_rate(piece) for piece in pair])
    factor = 1.0
    for reach in (spread, spread / 10):
        factors = factor + np.linspace(-reach, reach, 25)
        best = []
        for one, other in pieces:
            found = correlated(one, (about_middle(other, by) for by in factors))
            heights = [height for _, height, _ in found]
            if max(heights) > 0:
                best.append(float(factors[int(np.argmax(heights))]))
        if not best:
            return roughly
        factor = float(np.median(best))
    # It turns about the middle of the whole, where the levels put it best.
    about = (starts[0] + starts[-1] + WINDOW_S) / 2
    return offset + stretch * (1 - factor) * about, stretch * factor


def _loudness(sound: Sound, at: float) -> float:
    return float(np.sum(sound.stretch(at, WINDOW_S) ** 2))


def _wander(lags: Floats) -> float:
    """Return the furthest departure from steady speed; one stray window is none."""
    if len(lags) < 3:
        return float(np.min(np.abs(lags)))
    middles = np.median(np.stack((lags[:-2], lags[1:-1], lags[2:])), axis=0)
    return float(np.max(np.abs(middles)))


def _shared(first: Sound, second: Sound, offset: float, stretch: float) -> tuple[float, float]:
    """Return begin and end of what both hold, in seconds of the first."""
    begins = max(0.0, -offset / stretch)
    return begins, max(begins, min(first.seconds, (second.seconds - offset) / stretch))


def _starts(first: Sound, second: Sound, offset: float, stretch: float) -> list[float]:
    begins, ends = _shared(first, second, offset, stretch)
    last = ends - WINDOW_S
    if last <= begins:
        return [begins]
    count = min(_FINE_WINDOWS, max(1, int((ends - begins) / WINDOW_S)))
    return [float(at) for at in np.linspace(begins, last, count)]
