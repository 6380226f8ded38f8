"""Marks in a file: cue points with the labels, notes and lengths that belong to them.

`cue ` and `adtl` (RIFF 1991 chapter 3) taken together, both ways. A mark is what a person sets in
an editor; numbers, play order and languages of the chunks stay behind.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import TypeVar

from tailsout.ground.damage import Damage
from tailsout.ground.errors import MaterialError
from tailsout.wave import adtl, cue
from tailsout.wave.adtl import REGION, Item, Label, Note, Stretch
from tailsout.wave.cue import MAX_FRAME, Point
from tailsout.wave.lists import Part

_Said = TypeVar("_Said", Label, Note, Stretch)
_Placed = tuple[int, Item]
"""The offset of a list, and one thing it says."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Mark:
    """One mark; empty text stands for none."""

    frame: int
    """From the start of the file, the first one 0."""
    label: str = ""
    note: str = ""
    frames: int | None = None
    """How long the marked stretch is; None for a point."""
    purpose: bytes = REGION
    """Four octets that say what a stretch is for; without meaning for a point."""
    text: str = ""
    """What is said of a stretch as a whole; a point has none."""


def read(
    cues: Part | None,
    lists: Iterable[Part],
    *,
    frames: int | None = None,
    code_page: int | None = None,
) -> tuple[tuple[Mark, ...], tuple[Damage, ...]]:
    """Read the payloads of a `cue ` chunk and of the `adtl` lists of one file, by frame.

    `frames` is the file's length, where it is known; `code_page` is the CSET chunk's. What a list
    says of a point that is not there is told and left out.
    """
    points, faults = ((), ()) if cues is None else _points(cues, frames)
    damage = list(faults)
    numbers = {point.number for point in points}
    said: list[_Placed] = []
    for one in lists:
        items, faults = adtl.decode(
            one.payload, offset=one.offset, numbers=numbers, code_page=code_page
        )
        said += ((one.offset, item) for item in items)
        damage += faults
    labels = _by_number(said, Label, damage)
    notes = _by_number(said, Note, damage)
    stretches = _by_number(said, Stretch, damage)
    marks = []
    for point in sorted(points, key=lambda point: point.sample_offset):
        label, note = labels.get(point.number), notes.get(point.number)
        stretch = stretches.get(point.number)
        mark = Mark(
            frame=point.sample_offset,
            label=label[1].text if label else "",
            note=note[1].text if note else "",
            frames=stretch[1].frames if stretch else None,
            purpose=stretch[1].purpose if stretch else REGION,
            text=stretch[1].text if stretch else "",
        )
        marks.append(mark)
        if stretch and frames is not None and mark.frame <= frames:
            damage += _past_end(mark.frame, stretch[1], stretch[0], frames)
    return tuple(marks), tuple(damage)


def write(marks: Iterable[Mark], frames: int) -> tuple[bytes, bytes]:
    """Return the payloads of a `cue ` chunk and of an `adtl` list for a file of `frames`.

    Points are numbered from 1 in the order of their frames, and labels stand first. Either payload
    is empty where there is nothing to write in it. Raises MaterialError for a mark outside the
    file or past 32 bits, for text that is not ASCII or has control characters, for text of a
    stretch without a length, and for more marks than are read.
    """
    ordered = sorted(marks, key=lambda mark: mark.frame)
    for mark in ordered:
        _look_at(mark, frames)
    if not ordered:
        return b"", b""
    points = [
        Point(number=number, position=mark.frame, sample_offset=mark.frame)
        for number, mark in enumerate(ordered, start=1)
    ]
    items = _items(ordered)
    return cue.encode(points), adtl.encode(items) if items else b""


def _points(cues: Part, frames: int | None) -> tuple[tuple[Point, ...], tuple[Damage, ...]]:
    return cue.decode(cues.payload, offset=cues.offset, frames=frames)


def _by_number(
    said: Sequence[_Placed], kind: type[_Said], damage: list[Damage]
) -> dict[int, tuple[int, _Said]]:
    """Return the first of a kind that is said of each cue point, and tell of any other."""
    found: dict[int, tuple[int, _Said]] = {}
    for offset, item in said:
        if not isinstance(item, kind):
            continue
        if item.number in found:
            text = (
                f"More than one {kind.__name__.lower()} is given for cue point {item.number}; "
                "the first one is taken."
            )
            damage.append(Damage(kind="adtl-duplicate", offset=offset, text=text))
        found.setdefault(item.number, (offset, item))
    return found


def _past_end(frame: int, stretch: Stretch, offset: int, frames: int) -> Iterator[Damage]:
    end = frame + stretch.frames
    if end > frames:
        text = f"The stretch of cue point {stretch.number} ends at {end}, the file at {frames}."
        yield Damage(kind="adtl-past-end", offset=offset, text=text)


def _look_at(mark: Mark, frames: int) -> None:
    end = mark.frame + (mark.frames or 0)
    if mark.frame < 0 or not mark.frame <= end <= frames:
        raise MaterialError(
            f"The mark from frame {mark.frame} to {end} lies outside the file's {frames} frames.",
            "Correct its place.",
        )
    if mark.frame > MAX_FRAME or end - mark.frame > MAX_FRAME:
        raise MaterialError(
            f"The mark from frame {mark.frame} to {end} needs a figure past {MAX_FRAME}, the last "
            "that a cue chunk can hold.",
            "Leave the mark out of the file, or split the file before it.",
        )
    if mark.text and mark.frames is None:
        raise MaterialError(
            f"The mark at frame {mark.frame} has a text for a stretch, and no length.",
            "Give its length, or put the text into its note.",
        )


def _items(ordered: Sequence[Mark]) -> list[Item]:
    numbered = tuple(enumerate(ordered, start=1))
    # libsndfile 1.2.2 and FFmpeg stop at the first sub-chunk that is not a label: a label behind a
    # note would be lost to them.
    return [
        *(Label(number=number, text=mark.label) for number, mark in numbered if mark.label),
        *(Note(number=number, text=mark.note) for number, mark in numbered if mark.note),
        *(
            Stretch(number=number, frames=mark.frames, purpose=mark.purpose, text=mark.text)
            for number, mark in numbered
            if mark.frames is not None
        ),
    ]
