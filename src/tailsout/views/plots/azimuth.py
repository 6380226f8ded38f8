"""Azimuth by tones: phase of each channel against channel 1, and the line fitted to it."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from matplotlib.axes import Axes

from tailsout.records.tones import ToneAzimuth, ToneFacts
from tailsout.views.plots.pens import MOST_CHANNELS, PENS, key
from tailsout.views.plots.scales import digits_of, round_step, steps
from tailsout.views.plots.sheet import (
    FAINT,
    HAIR,
    INK,
    LEFT,
    SMALL,
    Head,
    Kind,
    Sheet,
    blank,
    drawn,
)
from tailsout.views.plots.words import hertz, signed

_HEIGHT, _KEY_ROW = 58.0, 4.5
_METHOD = (
    (
        "Phase of each tone against channel 1, degrees; up where the channel lags. Line: straight,"
        " through zero, its slope is the delay."
    ),
    (
        "Whole turns are added to each reading so that it lies as near to the line as it can;"
        " another line may fit as well where that is said."
    ),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Course:
    channel: int
    points: tuple[tuple[float, float], ...]
    """Frequency, hertz, and phase, degrees, whole turns added."""
    azimuth: ToneAzimuth | None


def draw(facts: ToneFacts, *, title: str, kind: Kind) -> bytes:
    """Return the plot of one reading."""
    courses = [one for one in _courses(facts) if one.points]
    shown = courses[: MOST_CHANNELS - 1]
    head = Head(
        what="Azimuth by tones",
        title=title,
        cells=_cells(courses),
        method=_METHOD,
        told=" ".join(_told(one) for one in shown) or "No phase is known.",
    )
    if not courses:
        alone = len(facts.channels) < 2
        why = (
            "There is one channel: azimuth needs two."
            if alone
            else "No tone was found on two channels: there is no phase to draw."
        )
        return blank(head, why, kind)
    top = 5.0 + _KEY_ROW * len(shown)

    def body(sheet: Sheet) -> None:
        axes = sheet.panel(top, _HEIGHT)
        highest = 1.06 * max(at for one in shown for at, _ in one.points)
        for one in shown:
            style = PENS[one.channel - 1 if one.channel <= MOST_CHANNELS else 0]
            at = [frequency for frequency, _ in one.points]
            axes.plot(at, [phase for _, phase in one.points], **style.style(line=False))
            if one.azimuth is not None:
                line = _line(one.azimuth)
                dashes: Any = {"dashes": style.dashes} if style.dashes else {}
                axes.plot([0.0, highest], [line(0.0), line(highest)], color=INK, lw=0.8, **dashes)
        _scales(axes, shown, highest)
        for number, one in enumerate(shown):
            y = sheet.top + 4.5 + _KEY_ROW * number
            style = PENS[one.channel - 1 if one.channel <= MOST_CHANNELS else 0]
            key(sheet, (LEFT + 2.0, y), style.style(line=one.azimuth is not None), _told(one))
        if len(courses) > len(shown):
            text = f"{len(courses) - len(shown)} more channels are not drawn."
            sheet.write(LEFT + 2.0, sheet.bottom - 1.5, text, fontsize=SMALL, style="italic")
        sheet.side(sheet.top + top + 2.5, "degrees")
        sheet.unit(sheet.bottom - 3.2, "Hz")

    return drawn(head, top + _HEIGHT + 7.0, body, kind)


def _line(azimuth: ToneAzimuth) -> Callable[[float], float]:
    start = 180.0 if azimuth.is_inverted else 0.0
    slope = 360.0 * float(azimuth.delay_us) / 1e6
    return lambda frequency: start + slope * frequency


def _courses(facts: ToneFacts) -> list[_Course]:
    fitted = {one.channel: one.azimuth for one in facts.channels}
    phases: dict[int, list[tuple[float, float]]] = {}
    for tone in facts.tones:
        for level in tone.channels:
            if level.phase_deg is not None:
                point = (float(tone.frequency_hz), float(level.phase_deg))
                phases.setdefault(level.channel, []).append(point)
    courses = []
    for channel, points in sorted(phases.items()):
        azimuth = fitted.get(channel)
        if azimuth is not None:
            line = _line(azimuth)
            points = [(f, p + 360.0 * round((line(f) - p) / 360.0)) for f, p in points]  # noqa: PLW2901
        courses.append(_Course(channel=channel, points=tuple(sorted(points)), azimuth=azimuth))
    return courses


def _scales(axes: Axes, courses: list[_Course], highest: float) -> None:
    values = [phase for one in courses for _, phase in one.points]
    widest = max(15.0, *(abs(one) for one in values)) * 1.15
    low = min(-0.25 * widest, 1.3 * min(values))
    high = max(0.25 * widest, 1.3 * max(values))
    ticks = steps(low, high, 8)
    digits = digits_of(round_step(high - low, 8))
    axes.set_yticks(ticks, [signed(one, digits) for one in ticks])
    axes.set_ylim(low, high)
    across = steps(0.0, highest, 8)
    axes.set_xticks(across, [hertz(one) if one else "0" for one in across])
    axes.set_xlim(0.0, highest)
    axes.get_xticklabels()[0].set_horizontalalignment("left")
    axes.grid(color=FAINT, linewidth=HAIR)
    axes.axhline(0.0, color=INK, linewidth=HAIR)


def _cells(courses: list[_Course]) -> tuple[tuple[str, str], ...]:
    first = next((one.azimuth for one in courses if one.azimuth is not None), None)
    if first is None:
        return (("delay", "not known"),)
    minutes = first.arc_minutes
    angle = f"{signed(float(minutes), 2)}′" if minutes is not None else "not known"
    spacing = f"{first.spacing_mm:f} mm" if first.spacing_mm is not None else "not stated"
    return (
        ("delay", f"{signed(float(first.delay_us), 2)} µs"),
        ("angle", angle),
        ("spacing of tracks", spacing),
        ("left by the line", f"{first.residual_deg:f}° RMS"),
        ("rests on", f"{first.tones} tones"),
    )


def _told(course: _Course) -> str:
    azimuth = course.azimuth
    if azimuth is None:
        return f"channel {course.channel} against 1: no line can be fitted."
    text = (
        f"channel {course.channel} against 1: {signed(float(azimuth.delay_us), 2)} µs"
        f" (later is plus), up to {azimuth.highest_hz:f} Hz"
    )
    if azimuth.is_inverted:
        text += "; begins at half a cycle, consistent with one leg turned over"
    if azimuth.may_be_a_cycle_out:
        text += "; may be a cycle out"
    return f"{text}."
