"""The spectrogram of a capture: what lay at which frequency, and when."""

import math

import numpy as np
from numpy.typing import NDArray

from tailsout.records.sound import Overview
from tailsout.views.plots.scales import rule_time
from tailsout.views.plots.sheet import (
    HAIR,
    INK,
    LEFT,
    RIGHT,
    SMALL,
    Head,
    Kind,
    Sheet,
    blank,
    drawn,
)
from tailsout.views.plots.words import MINUS, clock, hertz, in_hertz

NOTHING = 255
"""In a cell that holds nothing."""
_MOST_COLUMNS = 768
_STEP_DB = 4
_DEEPEST_DB = 120
_SCALE_OF_HZ = (20, 50, 100, 200, 500, 1000, 2000, 5000, 10000, 20000, 50000, 100000)
_HEIGHT, _SCALE_ROOM = 74.0, 20.0
_Greys = NDArray[np.float64]
_METHOD = (
    (
        "Level in each band of frequency, all channels together, in dB re a full-scale sine; the"
        f" darker, the louder, in steps of {_STEP_DB} dB."
    ),
    "Bands are equally wide on a logarithmic scale. White: below the scale, or nothing at all.",
)


def draw(overview: Overview, *, title: str, kind: Kind) -> bytes:
    """Return the plot of one capture."""
    bands = len(overview.bands_hz)
    levels = _levels(overview)
    seconds = len(overview.spectrogram) // max(bands, 1) * float(overview.seconds_a_column)
    held = levels[levels < NOTHING]
    if not held.size:
        head = _head(overview, title, seconds, "There is nothing in any band.")
        why = "Every sample is zero: there is no spectrum." if levels.size else _TOO_SHORT
        return blank(head, why, kind)
    loudest = int(held.min()) // 10 * 10
    # The last few cells below a noise floor would take half of the greys.
    floor = int(np.percentile(held, 98, method="lower"))
    deepest = min(max(floor, loudest + 40), loudest + _DEEPEST_DB)
    deepest = loudest + -(-(deepest - loudest) // 20) * 20
    octaves = [math.log2(one) for one in overview.bands_hz]
    half = (octaves[-1] - octaves[0]) / max(bands - 1, 1) / 2 or 0.5
    place = (0.0, seconds, octaves[0] - half, octaves[-1] + half)

    def body(sheet: Sheet) -> None:
        axes = sheet.panel(4.0, _HEIGHT, right=RIGHT - _SCALE_ROOM)
        axes.imshow(
            _greys(levels, loudest, deepest),
            cmap="gray",
            vmin=0.0,
            vmax=1.0,
            extent=place,
            aspect="auto",
            origin="lower",
            interpolation="none",
        )
        ticks = [one for one in _SCALE_OF_HZ if place[2] <= math.log2(one) <= place[3]]
        axes.set_yticks([math.log2(one) for one in ticks], [hertz(one) for one in ticks])
        for one in ticks:
            axes.axhline(math.log2(one), color="0.5", linewidth=HAIR, dashes=(1, 5))
        axes.set_ylim(place[2:])
        sheet.side(sheet.top + 6.5, "Hz")
        rule_time(axes, seconds)
        _scale(sheet, loudest, deepest)

    head = _head(overview, title, seconds, _told(levels, overview))
    return drawn(head, _HEIGHT + 12.0, body, kind)


_TOO_SHORT = "The recording is too short for a spectrum."


def _head(overview: Overview, title: str, seconds: float, told: str) -> Head:
    highest = overview.bands_hz[-1] if overview.bands_hz else 0.0
    return Head(
        what="Spectrogram",
        title=title,
        cells=(
            ("length", clock(seconds)),
            ("one column", f"{overview.seconds_a_column:f} s"),
            ("bands", str(len(overview.bands_hz))),
            ("highest band", in_hertz(highest)),
        ),
        method=_METHOD,
        told=f"{clock(seconds)} long. {told}",
    )


def _levels(overview: Overview) -> NDArray[np.int64]:
    """Return dB below a full-scale sine, [band, column]; fewer columns where there are too many."""
    bands = len(overview.bands_hz)
    columns = len(overview.spectrogram) // bands if bands else 0
    cells = np.frombuffer(overview.spectrogram[: columns * bands], dtype=np.uint8)
    levels = (
        cells.reshape(columns, bands).T.astype(np.int64) if columns else np.zeros((0, 0), np.int64)
    )
    every = -(-columns // _MOST_COLUMNS)
    if every > 1:
        # The loudest of neighbours stays: a short event is not lost.
        levels = np.minimum.reduceat(levels, np.arange(0, columns, every), axis=1)
    return levels


def _greys(levels: NDArray[np.int64], loudest: int, deepest: int) -> _Greys:
    """Return 0 (black) to 1 (white) in steps."""
    steps = (np.minimum(levels, deepest) - loudest) // _STEP_DB
    greys: _Greys = steps * _STEP_DB / (deepest - loudest)
    greys[levels == NOTHING] = 1.0
    return np.minimum(greys, 1.0)


def _scale(sheet: Sheet, loudest: int, deepest: int) -> None:
    """Draw the bar that tells level by grey, with its figures."""
    axes = sheet.panel(4.0, _HEIGHT, right=LEFT + 4.0)
    box = axes.get_position()
    shift = (RIGHT - _SCALE_ROOM + 5.0 - LEFT) / 180.0
    axes.set_position((box.x0 + shift, box.y0, box.width, box.height))
    steps = np.arange(loudest, deepest, _STEP_DB).reshape(-1, 1)
    axes.imshow(
        _greys(steps, loudest, deepest),
        cmap="gray",
        vmin=0.0,
        vmax=1.0,
        extent=(0.0, 1.0, float(loudest + len(steps) * _STEP_DB), float(loudest)),
        aspect="auto",
        interpolation="none",
    )
    axes.set_xticks([])
    axes.yaxis.tick_right()
    ticks = range(loudest, deepest + 1, 20)
    axes.set_yticks(list(ticks), [f"{MINUS}{one}" if one else "0" for one in ticks], fontsize=SMALL)
    axes.set_ylim(deepest, loudest)
    for spine in axes.spines.values():
        spine.set(visible=True, color=INK, linewidth=HAIR)
    sheet.write(RIGHT, sheet.top + 2.8, "dBFS", fontsize=SMALL, style="italic", ha="right")


def _told(levels: NDArray[np.int64], overview: Overview) -> str:
    band, column = np.unravel_index(int(levels.argmin()), levels.shape)
    seconds = len(overview.spectrogram) / len(overview.bands_hz) * float(overview.seconds_a_column)
    at = clock(seconds * int(column) / levels.shape[1])
    frequency = overview.bands_hz[int(band)]
    parts = [f"The loudest band lies at {frequency:.0f} Hz, {-int(levels.min())} dBFS, at {at}."]
    # A cell with nothing counts as 0: it has no power.
    power = np.where(levels == NOTHING, 0.0, 10.0 ** (-levels / 10.0)).mean(axis=1)
    middles = np.asarray(overview.bands_hz)
    for low, high in ((0, 200), (200, 2000), (2000, 10000), (10000, math.inf)):
        within = power[(middles >= low) & (middles < high)]
        total = float(within.sum())
        if total > 0.0:
            name = f"{low} to {high:.0f} Hz" if high < math.inf else f"{low} Hz up"
            parts.append(f"From {name} together {10 * math.log10(total):.0f} dBFS on average.")
    return " ".join(parts).replace(" -", f" {MINUS}")
