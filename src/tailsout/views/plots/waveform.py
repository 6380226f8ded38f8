"""The waveform of a capture, its regions above and what was noted of the signal below."""

import itertools
import math

from matplotlib.axes import Axes

from tailsout.records.listening import SignalNote
from tailsout.records.reel import Region
from tailsout.records.sound import Overview
from tailsout.views.plots.marks import (
    MOST_ROWS,
    NOTES,
    NUMBERS,
    ROW,
    STRIP,
    Mark,
    draw_notes,
    draw_regions,
    of_notes,
    of_regions,
    span,
    write_list,
)
from tailsout.views.plots.scales import rule_time
from tailsout.views.plots.sheet import (
    HAIR,
    INK,
    LEFT,
    PENCIL,
    RIGHT,
    SMALL,
    Head,
    Kind,
    Sheet,
    blank,
    drawn,
)
from tailsout.views.plots.words import MINUS, clock, counted, short, signed

MOST_CHANNELS = 8
_COLUMNS = 700
"""As many as can be told apart on paper; with many channels fewer, to keep the file small."""
_TICKS = (-1.0, -0.5, -0.25, 0.0, 0.25, 0.5, 1.0)
_LEVELS = ("0", f"{MINUS}6", "", f"{MINUS}∞", "", f"{MINUS}6", "0")
_METHOD = (
    "Black: from the lowest to the highest sample of a column. White: root of the mean square.",
    "The scale is linear, its figures are dB re full scale.",
)
_AROUND = (
    "Above: the regions, numbered, as they were written down. Below: what was noted of the signal.",
)


def draw(
    overview: Overview,
    *,
    title: str,
    kind: Kind,
    sample_rate_hz: int,
    regions: tuple[Region, ...] = (),
    notes: tuple[SignalNote, ...] = (),
) -> bytes:
    """Return the plot of one capture. `regions` and `notes` are those that lie in it."""
    columns = len(overview.high[0]) if overview.high else 0
    seconds = columns * float(overview.seconds_a_column)
    peaks = [max(map(abs, (*low, *high)), default=0.0) for low, high in _pairs(overview)]
    top = max(peaks, default=0.0)
    above = of_regions(regions, seconds, sample_rate_hz)
    below = of_notes(notes, sample_rate_hz)
    head = Head(
        what="Waveform",
        title=title,
        cells=(
            ("length", clock(seconds)),
            ("channels", str(len(peaks))),
            ("highest sample", f"{_level(top)} dBFS"),
            ("regions", str(len(regions))),
            ("notes of the signal", str(len(notes))),
        ),
        method=(*_METHOD, *_AROUND) if above or below else _METHOD,
        told=_told(seconds, peaks, above, below),
    )
    if not top:
        return blank(head, _why_blank(columns), kind)
    shown = min(len(peaks), MOST_CHANNELS)
    each = 44.0 / shown if shown < 4 else 11.0
    rows = min(max(len(above), len(below)), MOST_ROWS + 1)
    upper = NUMBERS + STRIP if above else 4.0
    lower = upper + each * shown
    listed = lower + 6.0 + (NOTES if below else 0.0)

    def body(sheet: Sheet) -> None:
        width = max(_COLUMNS * 2 // shown, 1) if shown > 2 else _COLUMNS
        for number, (low, high) in enumerate(_pairs(overview)[:shown]):
            axes = sheet.panel(upper + each * number, each)
            squares = overview.rms[number]
            _channel(axes, (low, high, squares), (seconds, max(top, 1.0)), width)
            _borders(axes, above, seconds)
            sheet.side(sheet.top + upper + each * (number + 0.5) + 0.8, f"channel {number + 1}")
        sheet.side(sheet.top + upper + 2.5, "dBFS")
        rule_time(axes, seconds)
        if above:
            draw_regions(sheet, above, seconds)
        if below:
            draw_notes(sheet, below, seconds, lower + 6.0)
        wide = 36 if above and below else 96
        write_list(sheet, above, (LEFT + 2.0, listed), ("regions", wide))
        beside = (LEFT + RIGHT) / 2 if above else LEFT
        write_list(sheet, below, (beside + 2.0, listed), ("notes", wide))
        if shown < len(peaks):
            text = f"Channels {shown + 1} to {len(peaks)} are not drawn."
            sheet.write(LEFT + 2.0, sheet.bottom - 1.5, text, fontsize=SMALL, style="italic")

    left_out = ROW if shown < len(peaks) else 0.0
    return drawn(head, listed + (rows * ROW + 3.0 if rows else 0.0) + left_out, body, kind)


def _pairs(overview: Overview) -> list[tuple[tuple[float, ...], tuple[float, ...]]]:
    return list(zip(overview.low, overview.high, strict=True))


def _why_blank(columns: int) -> str:
    return "Every sample is zero: there is no waveform." if columns else "There are no samples."


def _level(peak: float) -> str:
    return signed(20 * math.log10(peak), 1) if peak else f"{MINUS}∞"


def _channel(
    axes: Axes,
    course: tuple[tuple[float, ...], tuple[float, ...], tuple[float, ...]],
    size: tuple[float, float],
    width: int,
) -> None:
    """Draw one channel; `size` is the length in seconds and the highest value."""
    seconds, top = size
    low, high, squares = course
    every = -(-len(low) // width)
    starts = range(0, len(low), every)
    lows = [min(low[at : at + every]) for at in starts]
    highs = [max(high[at : at + every]) for at in starts]
    roots = [
        math.sqrt(sum(one * one for one in part) / len(part))
        for part in (squares[at : at + every] for at in starts)
    ]
    edges = [at * seconds / len(low) for at in (*starts, len(low))]
    middles = [(a + b) / 2 for a, b in itertools.pairwise(edges)]
    if len(middles) == 1:
        middles, lows, highs, roots = [0.0, seconds], lows * 2, highs * 2, roots * 2
    axes.fill_between(middles, lows, highs, color=INK, linewidth=0.3)
    for sign in (-1.0, 1.0):
        axes.plot(middles, [sign * one for one in roots], color="1.0", linewidth=0.5)
    axes.axhline(0.0, color=INK, linewidth=HAIR)
    for level in (-1.0, 1.0):
        axes.axhline(level, color=PENCIL, linewidth=HAIR, dashes=(1, 3))
    axes.set_xlim(0.0, seconds)
    axes.set_ylim(-1.12 * top, 1.12 * top)
    axes.set_yticks(_TICKS, _LEVELS, fontsize=SMALL)
    axes.set_xticks([])


def _borders(axes: Axes, marks: list[Mark], seconds: float) -> None:
    edges = {edge for one in marks for edge in (one.start, one.end) if edge is not None}
    within = [one for one in sorted(edges) if 0.0 < one < seconds][: 4 * MOST_ROWS]
    low, high = axes.get_ylim()
    across = [x for edge in within for x in (edge, edge, math.nan)]
    axes.plot(across, [low, high, math.nan] * len(within), color=INK, lw=HAIR, dashes=(6, 3))


def _told(seconds: float, peaks: list[float], above: list[Mark], below: list[Mark]) -> str:
    parts = [f"{counted(len(peaks), 'channel', 'channels')}, {clock(seconds)} long."]
    for number, peak in enumerate(peaks[:MOST_CHANNELS], start=1):
        parts.append(f"Highest sample of channel {number}: {_level(peak)} dBFS.")
    for word, marks in (("Region", above), ("Note", below)):
        parts += [
            f"{word} {one.key}, {span(one)}: {short(one.text, 96)}." for one in marks[:MOST_ROWS]
        ]
        if len(marks) > MOST_ROWS:
            parts.append(f"{len(marks) - MOST_ROWS} more are not listed.")
    return " ".join(parts)
