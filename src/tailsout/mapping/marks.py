"""Regions and signal notes as marks in one master."""

from collections.abc import Iterator

from tailsout.ground.units import speed
from tailsout.mapping.embedded import Master
from tailsout.mapping.history import equalisation_text
from tailsout.records.capture import Capture
from tailsout.records.listening import SignalNote
from tailsout.records.reel import Region
from tailsout.records.transfer import Transfer
from tailsout.wave.marks import Mark


def marks_for(
    transfer: Transfer, capture: Capture, *, master: Master, frames: int
) -> tuple[Mark, ...]:
    """Return what is marked in a master of so many `frames`, in order; the text is as it stands.

    Of a capture whose parts are kept apart, a master has the marks that begin or last within it.
    """
    marks = (
        *(_region(side.id, r) for side in transfer.reel.sides for r in side.regions),
        *(_note(note) for note in transfer.signal_notes),
    )
    ours = (mark for capture_id, mark in marks if capture_id == capture.id)
    fitting = (_within(mark, master.starts_at, frames) for mark in ours)
    return tuple(sorted(_kept(fitting), key=lambda mark: (mark.frame, mark.label)))


def _kept(marks: Iterator[Mark | None]) -> Iterator[Mark]:
    return (mark for mark in marks if mark is not None)


def _within(mark: Mark, starts_at: int, frames: int) -> Mark | None:
    """Move a mark of the capture into a stretch of it; None if it lies outside."""
    start = mark.frame - starts_at
    if mark.frames is None:
        inside = 0 <= start < frames
        return Mark(frame=start, label=mark.label, note=mark.note) if inside else None
    # Length 0 stands for a region that lasts to the end of its capture.
    end = min(start + mark.frames, frames) if mark.frames else frames
    start = max(start, 0)
    if start >= end:
        return None
    return Mark(frame=start, label=mark.label, note=mark.note, frames=end - start)


def _region(side: str, region: Region) -> tuple[str, Mark]:
    label = f"side {side}: {region.kind}" + (f", {region.title}" if region.title else "")
    parts = [
        speed(region.speed_ips) if region.speed_ips is not None else "",
        equalisation_text(region.equalisation) if region.equalisation else "",
        region.tracks or "",
        "played in reverse" if region.direction == "reversed" else "",
        region.note or "",
    ]
    return region.capture, Mark(
        frame=region.start,
        label=label,
        note="; ".join(part for part in parts if part),
        frames=region.end - region.start if region.end is not None else 0,
    )


def _note(note: SignalNote) -> tuple[str, Mark]:
    parts = [
        f"channel {note.channel}" if note.channel else "",
        f"lives in the {note.lives_in}" if note.lives_in else "",
        note.note or "",
    ]
    return note.capture, Mark(
        frame=note.start,
        label=note.heard,
        note="; ".join(part for part in parts if part),
        frames=note.end - note.start if note.end is not None else None,
    )
