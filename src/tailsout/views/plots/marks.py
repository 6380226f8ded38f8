"""Regions and notes on the scale of time: hatched, numbered, and listed under the plot."""

import math
from dataclasses import dataclass
from typing import Any

from matplotlib.patches import PathPatch
from matplotlib.path import Path

from tailsout.records.listening import SignalNote
from tailsout.records.reel import Region
from tailsout.records.vocab import RegionKind
from tailsout.views.plots.sheet import BOLD, HAIR, INK, LEFT, RIGHT, SMALL, Sheet
from tailsout.views.plots.words import clock, short

MOST_ROWS = 12
"""Of the lists of regions and of notes."""
STRIP, NUMBERS, NOTES, ROW = 5.0, 7.0, 9.0, 3.8
"""Heights: of the strip of regions, the numbers above it, the notes, a row of a list."""
HATCHES: dict[RegionKind, str] = {
    "programme": "",
    "line-up tone": "|||||",
    "slate": "|||///",
    "leader": "xxxxx",
    "scrap tape": "+++++",
    "silence": "-----",
    "speed change": "/////",
    "blank": "\\\\\\\\\\",
}
"""What fills a region of each kind."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Mark:
    """A region or a note on the scale of time."""

    key: str
    start: float
    """Seconds."""
    end: float | None
    """None of a note that is one moment."""
    text: str
    hatch: str = ""


def of_regions(regions: tuple[Region, ...], seconds: float, rate: int) -> list[Mark]:
    """Return regions by start, counted 1, 2, 3; one without an end lasts to the end."""
    ordered = sorted(regions, key=lambda one: (one.start, one.id))
    return [
        Mark(
            key=str(number),
            start=one.start / rate,
            end=one.end / rate if one.end is not None else seconds,
            text=f"{one.kind}: {one.title}" if one.title else f"{one.kind} {one.id}",
            hatch=HATCHES[one.kind],
        )
        for number, one in enumerate(ordered, start=1)
    ]


def of_notes(notes: tuple[SignalNote, ...], rate: int) -> list[Mark]:
    """Return notes by start, counted a, b, c."""
    ordered = sorted(notes, key=lambda one: (one.start, one.heard))
    return [
        Mark(
            key=_letters(number),
            start=one.start / rate,
            end=one.end / rate if one.end is not None else None,
            text=f"{one.heard} (channel {one.channel})" if one.channel else one.heard,
        )
        for number, one in enumerate(ordered)
    ]


def _letters(number: int) -> str:
    """Count a, b, … z, aa, ab, …."""
    text = ""
    while number >= 0:
        text = chr(ord("a") + number % 26) + text
        number = number // 26 - 1
    return text


def span(mark: Mark) -> str:
    """Write where a mark lies."""
    return clock(mark.start) + (f"–{clock(mark.end)}" if mark.end is not None else "")


def _places(marks: list[Mark], seconds: float, wide: float = 4.0) -> list[tuple[Mark, float, int]]:
    """Give each key a place in one of two lanes; one that finds none is left to the list."""
    ends = [-wide, -wide]
    found = []
    for one in marks:
        middle = one.start if one.end is None else (one.start + min(one.end, seconds)) / 2
        x = LEFT + (RIGHT - LEFT) * min(middle / seconds, 1.0)
        lane = next((number for number, end in enumerate(ends) if x - end >= wide), None)
        if lane is not None:
            ends[lane] = x
            found.append((one, x, lane))
    return found


def draw_regions(sheet: Sheet, marks: list[Mark], seconds: float) -> None:
    """Draw the strip of regions and their numbers at the top of the body."""
    axes = sheet.panel(NUMBERS - 0.5, STRIP - 0.5)
    for hatch in HATCHES.values():
        # One path for all of a kind: hundreds of regions must not make a large file.
        alike = [_box(one, seconds) for one in marks if one.hatch == hatch]
        if alike:
            shape = PathPatch(
                Path.make_compound_path(*alike),
                facecolor="1.0",
                edgecolor=INK,
                linewidth=HAIR,
                hatch=hatch,
            )
            axes.add_patch(shape)
    axes.set_xlim(0.0, seconds)
    axes.set_ylim(-0.03, 1.03)
    axes.set_axis_off()
    for one, x, lane in _places(marks, seconds):
        y = sheet.top + NUMBERS - 1.3 - 2.9 * lane
        sheet.write(x, y, one.key, fontsize=SMALL, ha="center")


def _box(mark: Mark, seconds: float) -> Path:
    end = seconds if mark.end is None else max(min(mark.end, seconds), mark.start)
    corners = ((mark.start, 0.0), (end, 0.0), (end, 1.0), (mark.start, 1.0), (mark.start, 0.0))
    return Path(corners, closed=True)


def draw_notes(sheet: Sheet, marks: list[Mark], seconds: float, top: float) -> None:
    """Draw a mark for each note, and a bar as long as it lasts, so far below the top."""
    axes = sheet.panel(top, 3.0)
    # Marks nearer than a millimetre would be one blot.
    least = seconds / (RIGHT - LEFT)
    starts: list[float] = []
    bars: list[float] = []
    for one in marks:
        if not starts or one.start - starts[-1] >= least:
            starts.append(min(one.start, seconds))
        if one.end is not None and bars and one.start - bars[-2] < least:
            bars[-2] = max(bars[-2], one.end)
        elif one.end is not None:
            bars += [one.start, one.end, math.nan]
    style: Any = {"color": INK, "linewidth": 0.0, "marker": "^", "markersize": 3.5}
    axes.plot(starts, [0.5] * len(starts), clip_on=False, **style)
    axes.plot(bars, [0.5] * len(bars), color=INK, linewidth=BOLD)
    axes.set_xlim(0.0, seconds)
    axes.set_ylim(0.0, 1.0)
    axes.set_axis_off()
    for one, x, lane in _places(marks, seconds):
        at = x if one.end is None else LEFT + (RIGHT - LEFT) * min(one.start / seconds, 1.0)
        sheet.write(at, sheet.top + top + 5.2 + 2.7 * lane, one.key, fontsize=SMALL, ha="center")


def write_list(
    sheet: Sheet, marks: list[Mark], place: tuple[float, float], what: tuple[str, int]
) -> None:
    """List marks from a place of the body on; `what` is what they are and the widest text."""
    (x, top), (word, wide) = place, what
    for number, one in enumerate(marks[:MOST_ROWS]):
        y = sheet.top + top + ROW * (number + 1)
        sheet.write(x + 4.0, y, one.key, fontsize=SMALL, ha="right")
        sheet.write(x + 6.0, y, span(one), fontsize=SMALL)
        sheet.write(x + 27.0, y, short(one.text, wide), fontsize=SMALL)
    if len(marks) > MOST_ROWS:
        text = f"and {len(marks) - MOST_ROWS} more {word}"
        y = sheet.top + top + ROW * (MOST_ROWS + 1)
        sheet.write(x + 6.0, y, text, fontsize=SMALL, style="italic")
