"""The levels of an audio file on one scale: noise floor, root mean square and peak; loudness."""

from collections.abc import Iterator
from decimal import Decimal

from markupsafe import Markup

from tailsout.records.dossier import FileRecord
from tailsout.records.sound import AudioFacts
from tailsout.views.report import svg
from tailsout.views.report.blocks import Drawing

_LEFT, _RIGHT = 62.0, 350.0
_ROW, _LOWEST, _MOST = 18.0, -100, 16
"""Height of a lane, dB at the left end of the scale, lanes that are drawn."""

_Lane = tuple[str, Decimal | None, Decimal | None, Decimal | None]
"""Label; from, mark and to, dB."""


def drawn(file: FileRecord, name: str) -> Drawing | None:
    """Return a drawing, `name` being its own on the page; None where nothing was measured."""
    facts = file.measured or (file.stated.measured if file.stated else None)
    lanes = [one for one in _lanes(facts) if any(one[1:])] if facts is not None else []
    if not lanes:
        return None
    parts: list[Markup] = []
    for row, lane in enumerate(lanes[:_MOST]):
        parts += _lane(lane, 4 + row * _ROW)
    foot = 8 + _ROW * min(len(lanes), _MOST)
    parts += _ruler(foot)
    told = "; ".join(_words(one) for one in lanes)
    drawing = svg.drawing(name, foot + 18, parts, title=f"Levels of {file.path}", told=f"{told}.")
    return Drawing(
        svg=drawing,
        caption="Levels in dB re full scale. Of a channel: from the noise floor to the peak, the "
        "diamond at the root mean square. LUFS: the diamond at the integrated loudness, to the "
        "highest momentary one.",
    )


def _lanes(facts: AudioFacts) -> Iterator[_Lane]:
    for number, one in enumerate(facts.channels, start=1):
        yield f"channel {number}", one.noise_floor_dbfs, one.rms_dbfs, one.sample_peak_dbfs
    yield "LUFS", None, facts.integrated_lufs, facts.momentary_max_lufs


def _words(lane: _Lane) -> str:
    label, low, middle, high = lane
    names = ("", "integrated", "highest momentary") if label == "LUFS" else _OF_CHANNEL
    told = [
        f"{name} {value}"
        for name, value in zip(names, (low, middle, high), strict=True)
        if value is not None
    ]
    return f"{label}: {', '.join(told)}"


_OF_CHANNEL = ("noise floor", "root mean square", "peak")


def _place(level: Decimal) -> float:
    part = (max(_LOWEST, min(0.0, float(level))) - _LOWEST) / -_LOWEST
    return _LEFT + (_RIGHT - _LEFT) * part


def _lane(lane: _Lane, top: float) -> Iterator[Markup]:
    label, low, middle, high = lane
    y = top + 6
    yield svg.text(_LEFT - 6, y + 3, label, text_anchor="end", class_="small")
    ends = [_place(one) for one in (low if low is not None else middle, high) if one is not None]
    if len(ends) == 2:
        yield svg.line(min(ends), y, max(ends), y, class_="thin")
    for one in (low, high):
        if one is not None:
            yield svg.line(_place(one), y - 4, _place(one), y + 4, class_="thin")
    if middle is not None:
        at = svg.number(_place(middle))
        yield svg.element("path", d=f"M{at} {svg.number(y - 4)}l4 4-4 4-4-4z", class_="head")


def _ruler(y: float) -> Iterator[Markup]:
    yield svg.line(_LEFT, y, _RIGHT, y, class_="thin")
    for level in range(_LOWEST, 1, 20):
        x = _place(Decimal(level))
        yield svg.line(x, y, x, y + 4, class_="thin")
        yield svg.text(x, y + 13, str(level), text_anchor="middle", class_="small")
