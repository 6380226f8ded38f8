"""An audio file along its time: regions, waveform, notes, spectrogram, pauses, dropouts and more.

All of it stands on one scale of time, so that a note is found where it is heard.
"""

from collections.abc import Iterator

from markupsafe import Markup

from tailsout.ground.units import clock_time, counted
from tailsout.records.dossier import FileRecord
from tailsout.records.reel import Region
from tailsout.records.transfer import Transfer
from tailsout.views.report import spectrum, svg, waves
from tailsout.views.report.blocks import Drawing
from tailsout.views.report.lanes import LEFT, RIGHT, Lane, Scale, clip, label_of, ruler
from tailsout.views.report.wording import regions

_ROW, _HIGH = 18.0, 11.0
_MOST = 300
"""Marks in one row."""
_COUNTED = {
    "regions": ("region", "regions"),
    "notes": ("note", "notes"),
    "pauses": ("pause", "pauses"),
    "dropouts": ("possible dropout", "possible dropouts"),
    "full scale": ("run at full scale", "runs at full scale"),
}
"""How the marks of a lane are counted."""


def drawn(
    file: FileRecord, transfer: Transfer | None, name: str, *, from_afar: bool = True
) -> Drawing | None:
    """Return a drawing, `name` being its own on the page; None without a length, or lanes.

    Waveform and spectrogram are those that its side-car keeps, if `from_afar` asks for them.
    """
    if not file.frames or file.pcm is None:
        return None
    scale = Scale(frames=file.frames, rate=file.pcm.sample_rate_hz)
    marks = {label: marks for label, marks in _marks(file, transfer) if marks}
    lanes = {label: _lane(label, found, scale, name) for label, found in marks.items()}
    seen = file.stated.overview if file.stated is not None and from_afar else None
    ordered = [
        *(lanes.pop(label) for label in ("regions",) if label in lanes),
        *(waves.lanes(seen, scale, name) if seen is not None else ()),
        *(lanes.pop(label) for label in ("notes",) if label in lanes),
        *(spectrum.lanes(seen.spectrogram, scale, name) if seen is not None else ()),
        *lanes.values(),
    ]
    if not ordered:
        return None
    parts = [svg.hatches(_kinds(file, transfer), name), clip(name)]
    top = 4.0
    for lane in ordered:
        parts += lane.draw(top)
        top += lane.height
    parts += ruler(scale, top + 6)
    words = " ".join(lane.told for lane in ordered)
    marked = ", ".join(counted(len(found), *_COUNTED[label]) for label, found in marks.items())
    captions = (f"Marked: {marked}." if marked else "", *(lane.caption for lane in ordered))
    return Drawing(
        svg=svg.drawing(
            name,
            top + 24,
            parts,
            title=f"{file.path} along its time",
            told=f"{clock_time(scale.frames, scale.rate)} long. {words}",
        ),
        caption=" ".join(
            ["Along its time, in minutes and seconds.", *(one for one in captions if one)]
        ),
    )


Mark = tuple[int, int, str]
"""From sample, to sample, kind of a region or empty."""


def _lane(label: str, marks: list[Mark], scale: Scale, name: str) -> Lane:
    def draw(top: float) -> Iterator[Markup]:
        yield label_of(label, top + 9)
        yield svg.line(LEFT, top + _HIGH, RIGHT, top + _HIGH, class_="hair")
        for start, end, kind in marks[:_MOST]:
            yield _mark(scale.place(start), scale.place(end), top, kind, name)

    told = f"{label.capitalize()}: {_told(marks, scale.rate)}"
    return Lane(height=_ROW, draw=draw, told=told)


def _marks(file: FileRecord, transfer: Transfer | None) -> Iterator[tuple[str, list[Mark]]]:
    frames = file.frames or 0
    facts = file.measured or (file.stated.measured if file.stated else None)
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


def _mark(start: float, end: float, top: float, kind: str, name: str) -> Markup:
    width = max(end - start, 0.8)
    if kind in svg.HATCHES:
        fill = f"fill:url(#{svg.fill(kind, name)})"
        return svg.box(start, top, width, _HIGH, style=fill, class_="region")
    look = "region programme" if kind else "mark-in-time"
    return svg.box(start, top, width, _HIGH, class_=look)


def _told(marks: list[Mark], rate: int) -> str:
    shown = [
        f"{clock_time(start, rate)} to {clock_time(end, rate)}{f' {kind}' if kind else ''}"
        for start, end, kind in marks[:20]
    ]
    more = [counted(len(marks) - 20, "more", "more")] if len(marks) > 20 else []
    return f"{', '.join([*shown, *more])}."
