"""The rates at which the speed swings, and the turning parts they are consistent with."""

import math

from matplotlib.axes import Axes

from tailsout.records.tones import FlutterFacts, FlutterLine, FlutterTrace
from tailsout.views.plots.flutter import NO_TONE, cells
from tailsout.views.plots.scales import digits_of, round_step, rule_rate, steps
from tailsout.views.plots.sheet import (
    HAIR,
    INK,
    LEFT,
    PENCIL,
    SMALL,
    Head,
    Kind,
    Sheet,
    blank,
    drawn,
)
from tailsout.views.plots.words import signed

_HEIGHT, _ROW = 58.0, 3.8
_MOST_POINTS = 1400
_METHOD = (
    (
        "Depth of each swing of the speed, ± per cent, peak, unweighted, against its rate. The"
        " numbered lines are listed below."
    ),
    (
        "What a rate is consistent with is evidence, not proof: parts that could turn so fast at"
        " this speed of the tape."
    ),
)


def draw(
    facts: FlutterFacts | None, trace: FlutterTrace | None, *, title: str, kind: Kind
) -> bytes:
    """Return the plot of one reading; `facts` and `trace` are None where no tone was steady."""
    points = _points(trace) if trace is not None else []
    if facts is None or not points:
        return blank(Head(what="Flutter spectrum", title=title, told=NO_TONE), NO_TONE, kind)
    lines = sorted(facts.lines, key=lambda one: one.frequency_hz)
    rows = [f"{number}: {_named(one)}" for number, one in enumerate(lines, start=1)]
    head = Head(
        what="Flutter spectrum",
        title=title,
        cells=cells(facts),
        method=_METHOD,
        told=" ".join(["Lines:", *(f"{row}." for row in rows)]) if rows else "No line stands out.",
    )

    def body(sheet: Sheet) -> None:
        axes = sheet.panel(9.0, _HEIGHT)
        low, high = points[0][0], points[-1][0]
        rule_rate(axes, low, high if high > low else 2 * low)
        top = 1.15 * max(
            0.002, *(depth for _, depth in points), *(float(one.depth_percent) for one in lines)
        )
        at = [math.log2(rate) for rate, _ in points]
        axes.plot(at, [depth for _, depth in points], color=INK, linewidth=0.7)
        ticks = steps(0.0, top, 7)
        digits = digits_of(round_step(top, 7))
        axes.set_yticks(ticks, [f"{one:.{digits}f}" for one in ticks])
        axes.set_ylim(0.0, top)
        _numbered(sheet, axes, lines, (low, high))
        sheet.side(sheet.top + 11.5, "± %")
        sheet.unit(sheet.top + _HEIGHT + 12.5, "Hz")
        for number, row in enumerate(rows):
            y = sheet.top + _HEIGHT + 16.0 + _ROW * (number + 1)
            sheet.write(LEFT + 2.0, y, row, fontsize=SMALL)

    return drawn(head, _HEIGHT + 17.0 + (_ROW * len(rows) + 3.0 if rows else 0.0), body, kind)


def _points(trace: FlutterTrace) -> list[tuple[float, float]]:
    """Return rate and depth; of too many neighbours the deepest."""
    points = [p for p in zip(trace.rates_hz, trace.depth_percent, strict=True) if p[0] > 0.0]
    every = -(-len(points) // _MOST_POINTS) or 1
    groups = (points[at : at + every] for at in range(0, len(points), every))
    return [max(group, key=lambda one: one[1]) for group in groups]


def _numbered(
    sheet: Sheet, axes: Axes, lines: list[FlutterLine], span: tuple[float, float]
) -> None:
    """Draw a dashed line from each named rate up to its number; numbers keep apart."""
    low, high = (math.log2(one) for one in span)
    last = -math.inf
    lane = 0
    for number, one in enumerate(lines, start=1):
        if one.frequency_hz <= 0 or not low < math.log2(one.frequency_hz) < high:
            continue
        at = math.log2(one.frequency_hz)
        axes.axvline(at, color=PENCIL, linewidth=HAIR, dashes=(2, 2))
        x = LEFT + (176.0 - LEFT) * (at - low) / (high - low)
        lane = 1 - lane if x - last < 3.5 else 0
        last = x
        sheet.write(x, sheet.top + 7.8 - 3.0 * lane, str(number), fontsize=SMALL, ha="center")


def _named(line: FlutterLine) -> str:
    text = f"{line.frequency_hz:f} Hz, ±{line.depth_percent:f} %"
    if line.diameter_mm is not None:
        text += f", as of a part of {signed(float(line.diameter_mm), 1)[1:]} mm diameter"
    if line.consistent_with:
        text += f", consistent with {' or '.join(line.consistent_with)}"
    return text
