"""Which found tone is which of a calibration tape's: by order and frequency (own method).

All found frequencies may stand in one ratio to the certificate's, the speed error; within that
each may be off by a little. The longest common sequence decides.
"""

import math
from bisect import bisect_left
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from tailsout.records.vocab import ToneFit

MOST_SPEED_ERROR = 0.04
"""Share beyond which it is another speed or another tape; 3000 and 3150 Hz lie further apart."""

_STEPS = (0.25, 0.5, 1.0, 2.0, 4.0)
_OFF = math.log(1.015)
_CELL = 0.005
_RATIOS_TRIED = 24
_FEWEST = 3
_MOST = 0.8
_NONE: tuple[tuple[int, int], ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Match:
    """How found tones go with a certificate's."""

    fit: ToneFit
    pairs: tuple[tuple[int, int], ...] = _NONE
    """Index of the found and of the listed tone, rising; empty unless they fit."""


def match(found: Sequence[float], listed: Sequence[float], *, reach_hz: float) -> Match:
    """Match frequencies in Hz, both in order of time. At least one is listed.

    They fit if half of the listed tones below `reach_hz` are found, or if nearly all that is found
    is a stretch of the list: a capture may hold a part of the tape.
    """
    if not found:
        return Match(fit="no tones")
    best: list[tuple[int, int]] = []
    best_ratio = 1.0
    for ratio in _ratios(found, listed):
        pairs = _in_order(found, [one * ratio for one in listed])
        # Of equals the one nearest to no error at all, which comes first.
        if len(pairs) > len(best):
            best, best_ratio = pairs, ratio
    if not _is_enough(best, len(found), listed, reach_hz):
        return Match(fit="few tones match")
    step = min(_STEPS, key=lambda one: abs(math.log(best_ratio / one)))
    if abs(best_ratio / step - 1.0) > MOST_SPEED_ERROR:
        return Match(fit="few tones match")
    return Match(fit="fits", pairs=tuple(best)) if step == 1.0 else Match(fit="another speed")


def _is_enough(
    pairs: list[tuple[int, int]], found: int, listed: Sequence[float], reach_hz: float
) -> bool:
    within = sum(one < reach_hz for one in listed)
    if not pairs or len(pairs) < min(2, within):
        return False
    stretch = pairs[-1][1] - pairs[0][1] + 1
    is_part = len(pairs) >= max(_FEWEST, _MOST * found, _MOST * stretch)
    return 2 * len(pairs) >= within or is_part


def _ratios(found: Sequence[float], listed: Sequence[float]) -> Iterator[float]:
    """Yield the ratios that most pairs stand in, the smallest change of speed first."""
    lists: dict[int, list[float]] = {}
    for one in found:
        for other in listed:
            way = math.log(one / other)
            if abs(way) <= math.log(_STEPS[-1]) + _CELL:
                lists.setdefault(round(way / _CELL), []).append(way)
    likely = sorted(lists, key=lambda cell: (-len(lists[cell]), abs(cell)))[:_RATIOS_TRIED]
    middles = [sorted(lists[cell])[len(lists[cell]) // 2] for cell in likely]
    yield from (math.exp(way) for way in sorted(middles, key=abs))


def _in_order(found: Sequence[float], wanted: Sequence[float]) -> list[tuple[int, int]]:
    """Return the longest common sequence of two series of frequencies."""
    places: dict[int, list[int]] = {}
    for at, one in enumerate(wanted):
        cell = round(math.log(one) / _OFF)
        for near in (cell - 1, cell, cell + 1):
            places.setdefault(near, []).append(at)
    # Longest rising subsequence of the places that each found tone may take.
    ends: list[int] = []
    tops: list[int] = []
    steps: list[tuple[int, int, int]] = []
    for which, one in enumerate(found):
        for at in reversed(places.get(round(math.log(one) / _OFF), [])):
            if abs(math.log(one / wanted[at])) > _OFF:
                continue
            length = bisect_left(ends, at)
            steps.append((which, at, tops[length - 1] if length else -1))
            ends[length : length + 1] = [at]
            tops[length : length + 1] = [len(steps) - 1]
    pairs: list[tuple[int, int]] = []
    step = tops[-1] if tops else -1
    while step >= 0:
        which, at, step = steps[step]
        pairs.append((which, at))
    return pairs[::-1]
