"""Lanes of a drawing along the time of one audio file: what each holds, and the ruler below."""

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from math import ceil

from markupsafe import Markup

from tailsout.ground.units import clock_time
from tailsout.views.report import svg

LEFT, RIGHT = 62.0, 354.0
_STEPS = (1, 2, 5, 10, 20, 30, 60, 120, 300, 600, 1200, 1800)
"""Seconds between marks of a ruler."""

_TALLEST = 1000.0
_LETTER = 4.8
"""Width of a small one."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Scale:
    """Where a moment of a file lies on the sheet."""

    frames: int
    rate: int

    @property
    def seconds(self) -> float:
        """How long the file is."""
        return self.frames / self.rate

    def place(self, sample: int) -> float:
        """Return where a sample lies; at an end of the sheet if it lies in no part of the file."""
        return LEFT + (RIGHT - LEFT) * max(0, min(sample, self.frames)) / self.frames

    def width(self, seconds: float) -> float:
        """Return how wide so many seconds are."""
        return (RIGHT - LEFT) * seconds / self.seconds

    def moment(self, seconds: float) -> str:
        """Write a moment to the second."""
        return clock_time(round(seconds * self.rate), self.rate).rpartition(".")[0]

    def steps(self) -> Iterator[int]:
        """Yield the seconds that the ruler marks."""
        step = next((n for n in _STEPS if self.seconds / n <= 6), 3600 * ceil(self.seconds / 21600))
        yield from range(0, int(self.seconds) + 1, step)


@dataclass(frozen=True, slots=True, kw_only=True)
class Lane:
    """One lane, from its top down."""

    height: float
    draw: Callable[[float], Iterable[Markup]]
    """Top → what is drawn there."""
    told: str
    """What is to be seen, in sentences, for who does not see it."""
    caption: str = ""
    """What stands below the drawing; empty for nothing."""


def label_of(label: str, y: float) -> Markup:
    """Return what stands before a lane."""
    return svg.text(LEFT - 6, y, label, text_anchor="end", class_="small")


def ruler(scale: Scale, y: float) -> Iterator[Markup]:
    """Yield minutes and seconds along a line."""
    yield svg.line(LEFT, y, RIGHT, y, class_="thin")
    for seconds in scale.steps():
        x = scale.place(seconds * scale.rate)
        yield svg.line(x, y, x, y + 4, class_="thin")
        words = scale.moment(seconds)
        if x + len(words) * _LETTER / 2 > svg.WIDTH:
            yield svg.text(svg.WIDTH, y + 13, words, text_anchor="end", class_="small")
        else:
            yield svg.text(x, y + 13, words, text_anchor="middle", class_="small")


def grid(scale: Scale, top: float, foot: float) -> Iterator[Markup]:
    """Yield the ruler's marks as hairlines across a lane, as on the paper of a chart recorder."""
    for seconds in scale.steps():
        x = scale.place(seconds * scale.rate)
        yield svg.line(x, top, x, foot, class_="grid")


def clip(name: str) -> Markup:
    """Return what cuts off a column that reaches beyond the end of the file."""
    inside = svg.box(LEFT, 0, RIGHT - LEFT, _TALLEST)
    return svg.element("clipPath", inside, id=f"{name}-within")


def within(name: str, *parts: Markup) -> Markup:
    """Return parts of a lane, cut off so."""
    return svg.element("g", *parts, clip_path=f"url(#{name}-within)")
