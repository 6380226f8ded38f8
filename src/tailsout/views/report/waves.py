"""The waveform of each channel, drawn as a pen would: how far it swings, and the level within."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import ceil, log10

from markupsafe import Markup

from tailsout.records.sound import KeptCourse, KeptOverview
from tailsout.views.report import svg
from tailsout.views.report.lanes import LEFT, RIGHT, Lane, Scale, grid, label_of, within

MOST_COLUMNS = 600
MOST_CHANNELS = 16
_FULL = 10_000
_HALF = 50
"""Steps of a pen from the middle of a lane to its edge."""
_SMALLEST_EDGE = 50
_GAP = 4.0


@dataclass(frozen=True, slots=True, kw_only=True)
class _Course:
    low: tuple[int, ...]
    high: tuple[int, ...]
    rms: tuple[int, ...]


def lanes(seen: KeptOverview, scale: Scale, name: str) -> Iterator[Lane]:
    """Yield a lane a channel; nothing where there is nothing to draw."""
    column = float(seen.seconds_a_column)
    most = min(MOST_COLUMNS, ceil(scale.seconds / column))
    courses = [_course(one, most) for one in seen.channels]
    drawn = [one for one in courses[:MOST_CHANNELS] if one.high]
    if not drawn:
        return
    peak = max(max(map(abs, (*one.low, *one.high))) for one in drawn)
    edge = _edge(peak)
    height = {1: 56.0, 2: 44.0}.get(len(drawn), 30.0 if len(drawn) <= 4 else 20.0)
    for number, one in enumerate(drawn, start=1):

        def draw(top: float, one: _Course = one, number: int = number) -> Iterator[Markup]:
            middle = top + height / 2
            yield label_of(f"channel {number}", middle + 3)
            if height > 40:
                yield label_of(_level(edge), top + 7)
            yield from grid(scale, top, top + height)
            for y in (top, top + height):
                yield svg.line(LEFT, y, RIGHT, y, class_="grid")
            across = scale.width(column), height / 2 / _HALF
            yield within(name, _pen(one, edge, middle, across))

        yield Lane(
            height=height + _GAP,
            draw=draw,
            told=_told(number, one, column, scale),
            caption=_caption(edge, len(courses)) if number == len(drawn) else "",
        )


def _course(one: KeptCourse, most: int) -> _Course:
    low, high, rms = (tuple(map(int, text.split()[:most])) for text in (one.low, one.high, one.rms))
    # Nobody but the schema has looked at a stranger's: lines may be of several lengths.
    columns = min(map(len, (low, high, rms)))
    return _Course(low=low[:columns], high=high[:columns], rms=rms[:columns])


def _edge(peak: int) -> int:
    """Return what the edge of a lane stands for: full scale, halved as long as all is seen."""
    edge = _FULL
    while 0 < peak <= edge // 2 and edge > _SMALLEST_EDGE:
        edge //= 2
    return edge


def _pen(one: _Course, edge: int, middle: float, across: tuple[float, float]) -> Markup:
    """Return the swing in grey and the level in ink, each round the middle line."""
    place = f"translate({svg.number(LEFT)} {svg.number(middle)})"
    below = [-value for value in one.rms]
    return svg.element(
        "g",
        _path(_outline(one.high, one.low, edge), "swing"),
        _path(_outline(one.rms, below, edge), "level"),
        transform=f"{place} scale({across[0]:.5g} {across[1]:.5g})",
    )


def _path(outline: str, look: str) -> Markup:
    # A line as thick as on the sheet, whatever the scale: silence is seen too.
    return svg.element("path", d=outline, class_=look, vector_effect="non-scaling-stroke")


def _outline(upper: Sequence[int], lower: Sequence[int], edge: int) -> str:
    """Return a path along the upper values and back along the lower ones, a unit a column."""
    ups, downs = ([_steps(value, edge) for value in side] for side in (upper, lower))
    there = "".join(_to(1, after - before) for before, after in pairwise(ups))
    back = "".join(_to(-1, after - before) for before, after in pairwise(downs[::-1]))
    return f"M0 {ups[0]}h.5l0 0{there}h.5V{downs[-1]}h-.5l0 0{back}h-.5z"


def _steps(value: int, edge: int) -> int:
    return -max(-_HALF, min(_HALF, round(value * _HALF / edge)))


def _to(columns: int, steps: int) -> str:
    """Return the next point of a line, as short as it can be written."""
    return f"{columns if columns < 0 else f' {columns}'}{steps if steps < 0 else f' {steps}'}"


def _level(parts: int) -> str:
    return f"{20 * log10(parts / _FULL):.0f} dBFS".replace("-", "\u2212")


def _told(number: int, one: _Course, column: float, scale: Scale) -> str:
    swings = [max(abs(low), abs(high)) for low, high in zip(one.low, one.high, strict=True)]
    peak, loudest = max(swings), max(one.rms)
    if not peak:
        return f"Waveform of channel {number}: every sample is zero, or next to it."
    levels = sorted(one.rms)
    middle = levels[len(levels) // 2]
    at = scale.moment(swings.index(peak) * column)
    said = [f"furthest from zero at {at}, {_decibels(peak)} dBFS"]
    if loudest:
        loud = scale.moment(one.rms.index(loudest) * column)
        said.append(f"loudest at {loud}, root mean square {_decibels(loudest)} dB re full scale")
    if middle:
        said.append(f"half of the time below {_decibels(middle)} dB")
    return f"Waveform of channel {number}: {', '.join(said)}."


def _decibels(parts: int) -> str:
    return f"{20 * log10(parts / _FULL):.1f}".replace("-", "\u2212")


def _caption(edge: int, channels: int) -> str:
    of = "full scale" if edge == _FULL else f"1/{_FULL // edge} of full scale"
    more = f" Channels {MOST_CHANNELS + 1} to {channels} are not drawn."
    return (
        "Waveform: grey from the lowest to the highest sample, black the root mean square; the "
        f"edge of a lane is {of} ({_level(edge)})."
        f"{more if channels > MOST_CHANNELS else ''}"
    )
