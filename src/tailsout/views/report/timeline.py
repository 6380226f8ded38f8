"""An audio file along its time: regions, pauses, notes, dropouts and samples at full scale."""

from collections.abc import Iterator
from math import ceil

from markupsafe import Markup

from tailsout.ground.units import clock_time
from tailsout.records.dossier import FileRecord
from tailsout.records.reel import Region
from tailsout.records.sound import AudioFacts
from tailsout.records.transfer import Transfer
from tailsout.views.report import svg
from tailsout.views.report.blocks import Drawing
from tailsout.views.report.told import count, regions

_LEFT, _RIGHT = 62.0, 354.0
_ROW, _HIGH = 18.0, 11.0
_MOST = 300
"""Marks in one row."""


def drawn(file: FileRecord, transfer: Transfer | None, name: str) -> Drawing | None:
    """Return a drawing, `name` being its own on the page; None without a length, or marks."""
    if not file.frames or file.pcm is None:
        return None
    rate, frames = file.pcm.sample_rate_hz, file.frames
    facts = file.measured or (file.stated.measured if file.stated else None)
    lanes = [lane for lane in _lanes(file, transfer, facts) if lane[1]]
    if not lanes:
        return None
    parts: list[Markup] = [svg.hatches(_kinds(file, transfer), name)]
    told = []
    for row, (label, marks) in enumerate(lanes):
        top = 4 + row * _ROW
        parts.append(svg.text(_LEFT - 6, top + 9, label, text_anchor="end", class_="small"))
        parts.append(svg.line(_LEFT, top + _HIGH, _RIGHT, top + _HIGH, class_="hair"))
        for start, end, kind in marks[:_MOST]:
            parts += _mark(_place(start, frames), _place(end, frames), top, kind, name)
        told.append(f"{label}: {_told(marks, rate)}")
    foot = 10 + len(lanes) * _ROW
    parts += _ruler(frames, rate, foot)
    title = f"{file.path} along its time"
    words = f"{clock_time(frames, rate)} long. {' '.join(told)}"
    return Drawing(
        svg=svg.drawing(name, foot + 18, parts, title=title, told=words),
        caption="Along its time, in minutes and seconds. "
        + "; ".join(f"{label}: {count(len(marks), 'mark')}" for label, marks in lanes),
    )


Mark = tuple[int, int, str]
"""From sample, to sample, kind of a region or empty."""


def _lanes(
    file: FileRecord, transfer: Transfer | None, facts: AudioFacts | None
) -> Iterator[tuple[str, list[Mark]]]:
    frames = file.frames or 0
    yield (
        "regions",
        [
            (max(0, one.start - file.starts_at), min(frames, end - file.starts_at), one.kind)
            for one, end in _regions(file, transfer)
        ],
    )
    notes = transfer.signal_notes if transfer is not None else ()
    yield (
        "notes",
        [
            (start, min(frames, (one.end or one.start) - file.starts_at), "")
            for one in notes
            if one.capture == file.capture and 0 <= (start := one.start - file.starts_at) < frames
        ],
    )
    if facts is None:
        return
    yield "pauses", [(one.start, one.end, "") for one in facts.gaps]
    yield "dropouts", [(one.start, one.start + one.length, "") for one in facts.dropouts]
    yield "full scale", [(one.start, one.start + one.length, "") for one in facts.clipped_runs]


def _regions(file: FileRecord, transfer: Transfer | None) -> Iterator[tuple[Region, int]]:
    frames = file.frames or 0
    for _, one in regions(transfer) if transfer is not None else ():
        end = one.end if one.end is not None else file.starts_at + frames
        inside = one.start < file.starts_at + frames and end > file.starts_at
        if one.capture == file.capture and inside:
            yield one, end


def _kinds(file: FileRecord, transfer: Transfer | None) -> Iterator[str]:
    yield from dict.fromkeys(one.kind for one, _ in _regions(file, transfer))


def _place(sample: int, frames: int) -> float:
    return _LEFT + (_RIGHT - _LEFT) * max(0, min(sample, frames)) / frames


def _mark(start: float, end: float, top: float, kind: str, name: str) -> Iterator[Markup]:
    width = max(end - start, 0.8)
    if kind in svg.HATCHES:
        fill = f"fill:url(#{svg.fill(kind, name)})"
        yield svg.box(start, top, width, _HIGH, style=fill, class_="region")
    elif kind:
        yield svg.box(start, top, width, _HIGH, class_="region programme")
    else:
        yield svg.box(start, top, width, _HIGH, class_="mark-in-time")


def _told(marks: list[Mark], rate: int) -> str:
    shown = [
        f"{clock_time(start, rate)} to {clock_time(end, rate)}{f' {kind}' if kind else ''}"
        for start, end, kind in marks[:20]
    ]
    more = [count(len(marks) - 20, "more", "more")] if len(marks) > 20 else []
    return f"{', '.join([*shown, *more])}."


def _ruler(frames: int, rate: int, y: float) -> Iterator[Markup]:
    seconds = frames / rate
    yield svg.line(_LEFT, y, _RIGHT, y, class_="thin")
    step = next(
        (n for n in (1, 2, 5, 10, 20, 30, 60, 120, 300, 600, 1200, 1800) if seconds / n <= 6),
        3600 * ceil(seconds / 3600 / 6),
    )
    for n in range(int(seconds // step) + 1):
        x = _place(n * step * rate, frames)
        yield svg.line(x, y, x, y + 4, class_="thin")
        words = clock_time(n * step * rate, rate).rpartition(".")[0]
        yield svg.text(x, y + 13, words, text_anchor="middle", class_="small")
