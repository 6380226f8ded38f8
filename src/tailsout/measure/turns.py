"""What echoes along a reel say together: how long a turn is, and which end was out."""

import math
from collections.abc import Sequence
from decimal import ROUND_HALF_UP, Decimal

import numpy as np

from tailsout.measure.kernels import Floats
from tailsout.measure.levels import hundredths, tenths
from tailsout.records.echo import EchoSide, PossibleEcho, PrintThrough
from tailsout.records.vocab import PackEnd

SURE = 4.0
"""Standard errors from which a slope or a difference is taken to be one."""
_FEWEST = 4
_FEWEST_OF_A_SIDE = 2
_OFF_LINE_S = 0.05


def print_through(
    echoes: Sequence[PossibleEcho],
    *,
    rate: int,
    range_s: tuple[float, float],
    tried: tuple[int, int],
) -> PrintThrough:
    """Return all echoes of a file as one fact.

    `range_s`: delays that were looked for. `tried`: beginnings and ends that were looked at.
    """
    before = [one for one in echoes if one.is_before]
    after = [one for one in echoes if not one.is_before]
    line = _line(before, after, rate)
    slope, slope_spread, later, later_spread = line or (None, None, None, None)
    return PrintThrough(
        shortest_s=hundredths(range_s[0]),
        longest_s=hundredths(range_s[1]),
        before=_side(before, tried[0]),
        after=_side(after, tried[1]),
        echoes=tuple(echoes),
        later_by_ms=None if later is None else hundredths(1000.0 * later),
        later_by_spread_ms=None if later_spread is None else hundredths(1000.0 * later_spread),
        slope_s=None if slope is None else _millionths(slope),
        slope_spread_s=None if slope_spread is None else _millionths(slope_spread),
        end_out=_end_out(slope, slope_spread, later, later_spread),
    )


def _side(echoes: Sequence[PossibleEcho], tried: int) -> EchoSide:
    if not echoes:
        return EchoSide(tried=tried)
    return EchoSide(
        tried=tried,
        found=len(echoes),
        delay_s=ten_thousandths(float(np.median([float(one.delay_s) for one in echoes]))),
        level_db=tenths(float(np.median([float(one.level_db) for one in echoes]))),
        z=max(one.z for one in echoes),
    )


def _line(
    before: Sequence[PossibleEcho], after: Sequence[PossibleEcho], rate: int
) -> tuple[float, float, float | None, float | None] | None:
    """Fit the square of the delay along the file: slope, difference after less before.

    Each with its standard error; None where there are too few or they lie on no line.
    """
    both = [*before, *after]
    if len(both) < _FEWEST:
        return None
    at = np.array([one.at / rate for one in both])
    delays = np.array([float(one.delay_s) for one in both])
    is_after = np.array([not one.is_before for one in both], float)
    has_sides = min(len(before), len(after)) >= _FEWEST_OF_A_SIDE
    columns = [np.ones(at.size), at - at.mean(), *([is_after] if has_sides else [])]
    fit = _fitted(np.stack(columns, axis=1), delays**2)
    mean = float(delays.mean())
    if fit is None or fit[2] > 2.0 * mean * _OFF_LINE_S:
        return None
    values, errors, _ = fit
    later = values[2] / (2.0 * mean) if has_sides else None
    later_error = errors[2] / (2.0 * mean) if has_sides else None
    return float(values[1]), float(errors[1]), later, later_error


def _fitted(table: Floats, wanted: Floats) -> tuple[Floats, Floats, float] | None:
    spare = table.shape[0] - table.shape[1]
    squares = table.T @ table
    if spare < 1 or np.linalg.cond(squares) > 1e12:
        return None
    values = np.linalg.solve(squares, table.T @ wanted).astype(np.float64)
    off = math.sqrt(float(np.sum((wanted - table @ values) ** 2)) / spare)
    return values, off * np.sqrt(np.diag(np.linalg.inv(squares))), off


def _end_out(
    slope: float | None, slope_error: float | None, later: float | None, later_error: float | None
) -> PackEnd | None:
    """Tell which end was out; None if it is not sure or the two kinds of evidence disagree.

    The farther echo is the outer neighbour's, and turns get longer towards the outside.
    """
    told: set[PackEnd] = {
        "tail" if value > 0.0 else "head"
        for value, error in ((slope, slope_error), (later, later_error))
        if value is not None and error is not None and abs(value) > SURE * max(error, 1e-9)
    }
    return told.pop() if len(told) == 1 else None


def ten_thousandths(value: float) -> Decimal:
    """Round to 0.0001, half away from zero."""
    return Decimal(value).quantize(Decimal("0.0001"), ROUND_HALF_UP) + 0


def _millionths(value: float) -> Decimal:
    return Decimal(value).quantize(Decimal("0.000001"), ROUND_HALF_UP) + 0
