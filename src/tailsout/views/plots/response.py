"""The response of the chain to the tones of a calibration tape, against its certificate."""

import math
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from matplotlib.axes import Axes

from tailsout.ground.units import counted
from tailsout.records.tones import ToneFacts
from tailsout.views.plots.pens import MOST_CHANNELS, PENS, key
from tailsout.views.plots.scales import digits_of, round_step, rule_rate, steps
from tailsout.views.plots.sheet import (
    FAINT,
    HAIR,
    INK,
    LEFT,
    PENCIL,
    Head,
    Kind,
    Sheet,
    blank,
    drawn,
)
from tailsout.views.plots.words import hertz, in_hertz, short, signed

_HEIGHT, _KEYS = 62.0, 8.0
_LEAST, _MOST = 2.5, 40.0
"""Half the height of the scale, dB."""
_DOUBT: dict[str, Any] = {
    "marker": "D",
    "markersize": 8.5,
    "markerfacecolor": "none",
    "markeredgecolor": INK,
    "markeredgewidth": 0.7,
    "linewidth": 0.0,
}
_AGAINST = (
    (
        "Level of each tone re the reference tone on the same channel, less what the certificate"
        " gives for it, dB. Zero is the certificate."
    ),
    (
        "Shaded: its tolerance. In a diamond: may read high by fringing, for the head may be"
        " narrower than the track; it is not corrected."
    ),
)
_ALONE = (
    "Level of each tone re the reference tone on the same channel, dB; there is no certificate.",
    (
        "In a diamond: may read high by fringing, for the head may be narrower than the track; it"
        " is not corrected."
    ),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Point:
    channel: int
    frequency: float
    level: float
    tolerance: float | None
    is_doubtful: bool


def draw(facts: ToneFacts, *, title: str, kind: Kind) -> bytes:
    """Return the plot of one reading."""
    against = _points(facts, against=True)
    points = against or _points(facts, against=False)
    channels = sorted({one.channel for one in points})
    head = Head(
        what="Tone response",
        title=title,
        cells=_cells(facts, points),
        method=_AGAINST if against else _ALONE,
        told=_told(points, is_against=bool(against))
        if points
        else "No level of any tone is known.",
    )
    if not points:
        why = "No tones were found." if not facts.tones else "No tone can be held against another."
        return blank(head, why, kind)
    shown = channels[:MOST_CHANNELS]
    rows = -(-(len(shown) + 1) // 5)

    def body(sheet: Sheet) -> None:
        axes = sheet.panel(_KEYS * rows - 1.0, _HEIGHT)
        _scales(axes, points)
        _band(axes, points)
        for channel in shown:
            mine = [one for one in points if one.channel == channel]
            at = [math.log2(one.frequency) for one in mine]
            axes.plot(at, [one.level for one in mine], **PENS[shown.index(channel)].style())
            doubtful = [one for one in mine if one.is_doubtful]
            if doubtful:
                at = [math.log2(one.frequency) for one in doubtful]
                axes.plot(at, [one.level for one in doubtful], **_DOUBT)
        _keys(sheet, shown, len(channels), any(one.is_doubtful for one in points))
        sheet.side(sheet.top + _KEYS * rows + 1.5, "dB")
        sheet.unit(sheet.bottom - 3.2, "Hz")

    return drawn(head, _KEYS * rows + _HEIGHT + 7.0, body, kind)


def _points(facts: ToneFacts, *, against: bool) -> list[_Point]:
    found = []
    for tone in facts.tones:
        listed = tone.listed if against else None
        frequency = listed.frequency_hz if listed is not None else tone.frequency_hz
        for level in tone.channels:
            value = level.deviation_db if against else level.relative_db
            if value is None or frequency <= 0:
                continue
            tolerance = listed.tolerance_db if listed is not None else None
            found.append(
                _Point(
                    channel=level.channel,
                    frequency=float(frequency),
                    level=float(value),
                    tolerance=float(tolerance) if tolerance is not None else None,
                    is_doubtful=level.may_be_fringing,
                )
            )
    return sorted(found, key=lambda one: (one.channel, one.frequency))


def _scales(axes: Axes, points: list[_Point]) -> None:
    frequencies = [one.frequency for one in points]
    rule_rate(axes, min(frequencies) / 1.25, max(frequencies) * 1.25, tones=True)
    widest = max((abs(one.level) for one in points), default=0.0)
    top = min(max(1.15 * widest, _LEAST), _MOST)
    ticks = steps(-top, top, 10)
    digits = digits_of(round_step(2 * top, 10))
    axes.set_yticks(ticks, [signed(one, digits) for one in ticks])
    axes.set_ylim(-top, top)
    axes.axhline(0.0, color=INK, linewidth=0.8)


def _band(axes: Axes, points: list[_Point]) -> None:
    """Shade the tolerance between tones that have one."""
    tolerances: dict[float, float | None] = {one.frequency: one.tolerance for one in points}
    at = sorted(tolerances)
    half = [math.nan if (tol := tolerances[one]) is None else tol for one in at]
    across = [math.log2(one) for one in at]
    axes.fill_between(across, [-one for one in half], half, color=FAINT, linewidth=0.0)
    for sign in (-1.0, 1.0):
        edge = [sign * one for one in half]
        axes.plot(across, edge, color=PENCIL, linewidth=HAIR, drawstyle="default")


def _keys(sheet: Sheet, shown: list[int], channels: int, is_any_doubtful: bool) -> None:
    entries = [(PENS[number].style(), f"channel {one}") for number, one in enumerate(shown)]
    if is_any_doubtful:
        entries.append((_DOUBT, "may be fringing"))
    for number, (style, text) in enumerate(entries):
        row, column = divmod(number, 5)
        key(sheet, (LEFT + 2.0 + 30.0 * column, sheet.top + 4.5 + 4.5 * row), style, text)
    if channels > len(shown):
        text = f"{channels - len(shown)} more channels are not drawn."
        sheet.write(LEFT + 2.0, sheet.bottom - 1.5, text, fontsize=6.5, style="italic")


def _cells(facts: ToneFacts, points: list[_Point]) -> tuple[tuple[str, str], ...]:
    reference = facts.tones[facts.reference - 1] if facts.reference else None
    widest = max(points, key=lambda one: abs(one.level), default=None)
    outside = {
        (one.frequency, one.channel)
        for one in points
        if one.tolerance is not None and abs(one.level) > one.tolerance
    }
    has_tolerance = any(one.tolerance is not None for one in points)
    told = counted(len(outside), "reading")
    return (
        ("calibration tape", short(facts.tape, 18) if facts.tape else "none"),
        ("tones found", str(len(facts.tones))),
        ("reference tone", _hz(reference.frequency_hz) if reference else "none"),
        (
            "widest",
            f"{signed(widest.level, 2)} dB at {hertz(widest.frequency)}" if widest else "–",
        ),
        ("outside tolerance", told if has_tolerance else "none given"),
    )


def _hz(frequency: Decimal) -> str:
    return f"{frequency:.1f} Hz"


def _told(points: list[_Point], *, is_against: bool) -> str:
    what = "re the certificate" if is_against else "re the reference tone, no certificate"
    parts = []
    for channel in sorted({one.channel for one in points})[:MOST_CHANNELS]:
        mine = [one for one in points if one.channel == channel]
        levels = ", ".join(
            f"{in_hertz(one.frequency)} {signed(one.level, 2)} dB"
            + (" (may be fringing)" if one.is_doubtful else "")
            for one in mine[:40]
        )
        parts.append(f"Channel {channel}, {what}: {levels}.")
    return " ".join(parts)
