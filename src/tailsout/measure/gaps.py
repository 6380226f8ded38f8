"""Stretches without programme, proposed as borders of regions.

Levels of 20 ms fall into groups. Where a gulf of 6 dB that hardly any level lies in parts the
quietest from the rest, what lies below it is as quiet as leader: quieter than the tape's own hiss.
A pause stays within 6 dB of that hiss for two seconds. Common practice; a proposal, no verdict.
"""

from decimal import Decimal

import numpy as np
from numpy.typing import NDArray

from tailsout.measure.kernels import Integers, Octets
from tailsout.measure.levels import hundredths
from tailsout.measure.trace import LEVELS_A_SECOND, NOTHING
from tailsout.records.sound import Gap
from tailsout.records.vocab import GapKind

MOST_KEPT = 100
SHORTEST_S = 0.5
SHORTEST_PAUSE_S = 2.0
GULF_DB = 6.0
PAUSE_DB = 6.0
SPREAD_DB = 10.0
"""A file whose levels do not spread as far has no programme to pause from."""

_CODES_A_DB = 2
_RARE = 0.002
_FEW = 4


def find_gaps(levels: Octets, rate: int, frames: int) -> tuple[Gap, ...]:
    """Return the longest hundred gaps in order of start; `levels` as of `trace.Trace`."""
    found = list(_runs(levels == NOTHING, "digital silence"))
    sounding = levels[levels != NOTHING]
    border = _gulf(sounding)
    if border is not None:
        # A code rises as the level falls.
        found += _runs((levels > border) & (levels != NOTHING), "quiet as leader")
        sounding = sounding[sounding <= border]
    if sounding.size:
        hiss = float(np.percentile(sounding, 95, method="nearest"))
        if _spreads(sounding):
            near = (levels > hiss - PAUSE_DB * _CODES_A_DB) & (levels != NOTHING)
            near &= np.True_ if border is None else levels <= border
            found += _runs(near, "pause", SHORTEST_PAUSE_S)
    found.sort(key=lambda one: one[0] - one[1])
    return tuple(
        Gap(
            start=_place(start, rate),
            end=frames if end == levels.size else _place(end, rate),
            kind=kind,
            level_dbfs=None if kind == "digital silence" else _level(levels[start:end]),
        )
        for start, end, kind in sorted(found[:MOST_KEPT])
    )


def hiss_code(levels: Octets) -> int | None:
    """Return the level code of the quietest sound of the tape itself; None of silence."""
    sounding = levels[levels != NOTHING]
    border = _gulf(sounding)
    if border is not None:
        sounding = sounding[sounding <= border]
    return int(np.percentile(sounding, 95, method="nearest")) if sounding.size else None


def _gulf(sounding: Octets) -> float | None:
    """Return the code in the middle of the lowest gulf that parts two groups, or None."""
    counts = np.bincount(sounding, minlength=NOTHING)
    width = round(GULF_DB * _CODES_A_DB)
    few = max(_FEW, _RARE * sounding.size)
    fewest = SHORTEST_S * LEVELS_A_SECOND
    within = np.convolve(counts, np.ones(width, np.int64), "valid")
    below = sounding.size - np.cumsum(counts)[width - 1 :]
    above = sounding.size - below - within
    gulfs = np.flatnonzero((within <= few) & (below >= fewest) & (above >= fewest))
    if not gulfs.size:
        return None
    # The lowest in level has the highest codes; of its places, the middle.
    last = gulfs[-1]
    first = last
    while first - 1 in gulfs:
        first -= 1
    border = float(first + last + width) / 2.0
    # Where all the rest is steady, as a tone is, what lies below may be the tape's own hiss.
    return border if _spreads(sounding[sounding <= border]) else None


def _spreads(sounding: Octets) -> bool:
    quiet, loud = np.percentile(sounding, (95, 5), method="nearest")
    return bool(float(quiet) - float(loud) >= SPREAD_DB * _CODES_A_DB)


def _runs(
    holds: NDArray[np.bool_], kind: GapKind, shortest_s: float = SHORTEST_S
) -> list[tuple[int, int, GapKind]]:
    edges: Integers = np.flatnonzero(np.diff(np.concatenate([[False], holds, [False]])))
    pairs = edges.reshape(-1, 2).tolist()
    return [(a, b, kind) for a, b in pairs if b - a >= shortest_s * LEVELS_A_SECOND]


def _place(level: int, rate: int) -> int:
    return level * rate // LEVELS_A_SECOND


def _level(codes: Octets) -> Decimal:
    powers = 10.0 ** (codes.astype(np.float64) / (-10.0 * _CODES_A_DB))
    return hundredths(10.0 * float(np.log10(powers.mean())))
