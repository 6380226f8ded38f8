"""The spectrogram: time to the right, pitch upwards, the louder the darker."""

from base64 import b64encode
from collections.abc import Iterator
from math import ceil, log

from markupsafe import Markup

from tailsout.records.sound import KeptSpectrogram
from tailsout.views.report import png, svg
from tailsout.views.report.lanes import LEFT, RIGHT, Lane, Scale, label_of, within

MOST_COLUMNS = 300
MOST_BANDS = 64
_HEIGHT = 96.0
_KEY = 8.0
_GAP = 4.0
_STEP = 5
"""dB a shade."""
_NOTHING = 255
_MARKED = ((100, "100 Hz"), (1_000, "1 kHz"), (10_000, "10 kHz"))

Levels = list[list[int]]
"""By band, the lowest first, and column: dB below a full-scale sine."""


def lanes(seen: KeptSpectrogram, scale: Scale, name: str) -> Iterator[Lane]:
    """Yield the one lane; nothing where nothing sounds."""
    column = float(seen.seconds_a_column)
    bands = [int(one) for one in seen.bands_hz.split()[:MOST_BANDS]]
    levels = _levels(seen, min(MOST_COLUMNS, ceil(scale.seconds / column)), len(bands))
    if not levels or min(map(min, levels)) >= _NOTHING:
        return
    top_level = min(map(min, levels)) // _STEP * _STEP
    shades = [
        [max(0, png.SHADES - 1 - (cell - top_level) // _STEP) for cell in row]
        for row in reversed(levels)
    ]
    data = b64encode(png.picture(shades)).decode("ascii")
    wide = scale.width(column) * len(levels[0])

    def draw(top: float) -> Iterator[Markup]:
        image = svg.element(
            "image",
            x=LEFT,
            y=top,
            width=wide,
            height=_HEIGHT,
            preserveAspectRatio="none",
            class_="cells",
            href=f"data:image/png;base64,{data}",
        )
        yield within(name, image)
        yield from _pitches(bands[: len(levels)], top)
        yield svg.box(LEFT, top, RIGHT - LEFT, _HEIGHT, class_="thin")
        yield from _key(top_level, top + _HEIGHT + 6)

    yield Lane(
        height=_HEIGHT + _KEY + 3 * _GAP + 8,
        draw=draw,
        told=_told(levels, bands, column, scale),
        caption="Spectrogram: pitch upwards on a logarithmic scale; the louder, the darker, "
        f"{_STEP} dB a shade from {_below(top_level)} dB re a full-scale sine down.",
    )


def _levels(seen: KeptSpectrogram, columns: int, bands: int) -> Levels:
    rows = [[int(one) for one in line.split()[:columns]] for line in seen.levels[:bands]]
    # Nobody but the schema has looked at a stranger's: lines may be of several lengths.
    shortest = min(map(len, rows), default=0)
    return [row[:shortest] for row in rows] if shortest else []


def _pitches(bands: list[int], top: float) -> Iterator[Markup]:
    low, high = bands[0], bands[-1]
    if not 0 < low < high:
        return
    half = _HEIGHT / len(bands) / 2
    for hertz, words in _MARKED:
        if low <= hertz <= high:
            part = log(hertz / low) / log(high / low)
            y = top + _HEIGHT - half - (_HEIGHT - 2 * half) * part
            yield svg.line(LEFT - 4, y, LEFT, y, class_="thin")
            yield label_of(words, y + 3)


def _key(top_level: int, y: float) -> Iterator[Markup]:
    """Yield what the shades mean, the darkest first."""
    each = 9.0
    yield label_of("dB", y + 7)
    for n in range(png.SHADES):
        x = LEFT + n * each
        yield svg.box(
            x, y, each, _KEY, class_="shade", fill_opacity=f"{1 - n / (png.SHADES - 1):.2f}"
        )
    yield svg.box(LEFT, y, each * png.SHADES, _KEY, class_="thin")
    for n in (0, 5, 10, 15):
        x = LEFT + (n + 0.5) * each
        words = _below(top_level + n * _STEP)
        yield svg.text(x, y + _KEY + 7, words, text_anchor="middle", class_="small")


def _below(decibels: int) -> str:
    return f"\u2212{decibels}" if decibels else "0"


def _told(levels: Levels, bands: list[int], column: float, scale: Scale) -> str:
    loudest = min(map(min, levels))
    band = next(at for at, row in enumerate(levels) if loudest in row)
    moment = scale.moment(levels[band].index(loudest) * column)
    strong = [hertz for hertz, row in zip(bands, levels, strict=False) if min(row) <= loudest + 40]
    means = [sum(10 ** (-cell / 10) for cell in row if cell < _NOTHING) for row in levels]
    steady = means.index(max(means))
    return (
        f"Spectrogram from {bands[0]} to {bands[len(levels) - 1]} Hz: loudest at {moment} near "
        f"{bands[band]} Hz, {_below(loudest)} dB re a full-scale sine; over the whole length most "
        f"sounds near {bands[steady]} Hz; what comes within 40 dB of the loudest lies from "
        f"{strong[0]} to {strong[-1]} Hz."
    )
