"""The waveform of a capture, its regions above and what was noted of the signal below."""

import itertools
import math
from dataclasses import dataclass

from matplotlib.axes import Axes

from tailsout.ground.units import counted
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
from tailsout.views.plots.words import MINUS, clock, short, signed

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


@dataclass(frozen=True, slots=True, kw_only=True)
class _Seen:
    """What there is to draw."""

    overview: Overview
    seconds: float
    peaks: tuple[float, ...]
    """Largest magnitude by channel, full scale 1.0."""
    above: list[Mark]
    below: list[Mark]

    @property
    def top(self) -> float:
        return max(self.peaks, default=0.0)

    @property
    def shown(self) -> int:
        """How many channels are drawn."""
        return min(len(self.peaks), MOST_CHANNELS)


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
    pairs = zip(overview.low, overview.high, strict=True)
    seen = _Seen(
        overview=overview,
        seconds=seconds,
        peaks=tuple(max(map(abs, (*low, *high)), default=0.0) for low, high in pairs),
        above=of_regions(regions, seconds, sample_rate_hz),
        below=of_notes(notes, sample_rate_hz),
    )
    head = _head(seen, title)
    if not seen.top:
        return blank(head, _why_blank(columns), kind)
    each = 44.0 / seen.shown if seen.shown < 4 else 11.0
    rows = min(max(len(seen.above), len(seen.below)), MOST_ROWS + 1)
    upper = NUMBERS + STRIP if seen.above else 4.0
    lower = upper + each * seen.shown
    listed = lower + 6.0 + (NOTES if seen.below else 0.0)

    def body(sheet: Sheet) -> None:
        _channels(sheet, seen, upper, each)
        if seen.above:
            draw_regions(sheet, seen.above, seconds)
        if seen.below:
            draw_notes(sheet, seen.below, seconds, lower + 6.0)
        _lists(sheet, seen, listed)

    left_out = ROW if seen.shown < len(seen.peaks) else 0.0
    return drawn(head, listed + (rows * ROW + 3.0 if rows else 0.0) + left_out, body, kind)


def _head(seen: _Seen, title: str) -> Head:
    return Head(
        what="Waveform",
        title=title,
        cells=(
            ("length", clock(seen.seconds)),
            ("channels", str(len(seen.peaks))),
            ("highest sample", f"{_level(seen.top)} dBFS"),
            ("regions", str(len(seen.above))),
            ("notes of the signal", str(len(seen.below))),
        ),
        method=(*_METHOD, *_AROUND) if seen.above or seen.below else _METHOD,
        told=_told(seen),
    )


def _channels(sheet: Sheet, seen: _Seen, upper: float, each: float) -> None:
    """Draw the channels one below the other, so far below the top, and the time under the last."""
    overview, shown = seen.overview, seen.shown
    width = _COLUMNS * 2 // shown if shown > 2 else _COLUMNS
    courses = list(zip(overview.low, overview.high, overview.rms, strict=True))[:shown]
    for number, course in enumerate(courses):
        axes = sheet.panel(upper + each * number, each)
        _channel(axes, course, (seen.seconds, max(seen.top, 1.0)), width)
        _borders(axes, seen.above, seen.seconds)
        sheet.side(sheet.top + upper + each * (number + 0.5) + 0.8, f"channel {number + 1}")
        if number == shown - 1:
            rule_time(axes, seen.seconds)
    sheet.side(sheet.top + upper + 2.5, "dBFS")


def _lists(sheet: Sheet, seen: _Seen, top: float) -> None:
    wide = 36 if seen.above and seen.below else 96
    write_list(sheet, seen.above, (LEFT + 2.0, top), ("regions", wide))
    beside = (LEFT + RIGHT) / 2 if seen.above else LEFT
    write_list(sheet, seen.below, (beside + 2.0, top), ("notes", wide))
    if seen.shown < len(seen.peaks):
        text = f"Channels {seen.shown + 1} to {len(seen.peaks)} are not drawn."
        sheet.write(LEFT + 2.0, sheet.bottom - 1.5, text, fontsize=SMALL, style="italic")


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


def _told(seen: _Seen) -> str:
    parts = [f"{counted(len(seen.peaks), 'channel')}, {clock(seen.seconds)} long."]
    for number, peak in enumerate(seen.peaks[:MOST_CHANNELS], start=1):
        parts.append(f"Highest sample of channel {number}: {_level(peak)} dBFS.")
    for word, marks in (("Region", seen.above), ("Note", seen.below)):
        parts += [
            f"{word} {one.key}, {span(one)}: {short(one.text, 96)}." for one in marks[:MOST_ROWS]
        ]
        if len(marks) > MOST_ROWS:
            parts.append(f"{len(marks) - MOST_ROWS} more are not listed.")
    return " ".join(parts)
