"""What stands where on the label of a box and on the one of its spine; sizes in millimetres.

Text is of one width, so that what fits can be counted. What does not fit is left out, and the label
says that the package holds more; nothing on it advises anybody to treat a tape.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import groupby
from textwrap import wrap
from unicodedata import east_asian_width

import segno

from tailsout.ground.units import plain, printable
from tailsout.records.dossier import Dossier
from tailsout.records.reel import Event, Reel, Region, Side, StockSection
from tailsout.records.transfer import Transfer
from tailsout.views.packaged import Packaged
from tailsout.views.report.wording import day, listed, moment, to_play, who

WIDTH, BOX_HEIGHT, SPINE_HEIGHT = 100.0, 70.0, 14.0
ADVANCE = 0.602
"""Width of a letter by the size of type: of DejaVu Sans Mono, and near it of any such font."""
DECIDE = "Treatment: decide anew on inspection."
_EDGE, _SMALL, _LINE, _QR = 3.0, 2.5, 3.3, 27.0
_END = 3.4
_MOST_CHANGES = 6
"""Of speed or curve on a side that are told in their order."""
_MOST_LINES = 3
"""Of a name, of the base, and of what was done."""
_QUIET = 4
"""Modules around a QR code that stay empty (ISO/IEC 18004)."""
_SECOND = "\0"
"""The second half of a wide letter, while letters are counted: no printable text holds it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Text:
    """A line of text that begins at a place on its base line."""

    x: float
    y: float
    size: float
    words: str
    is_bold: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Rule:
    """A box that is drawn, or filled with ink."""

    x: float
    y: float
    width: float
    height: float
    is_filled: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Label:
    """A label as large as it is printed."""

    width: float
    height: float
    title: str
    items: tuple[Text | Rule, ...]


def box(dossier: Dossier, tag_manifest: str) -> Label:
    """Lay out the label of the box; `tag_manifest` names one and tells its digest."""
    name = Packaged(dossier).name
    items: list[Text | Rule] = [_frame(WIDTH, BOX_HEIGHT)]
    items.append(Text(x=_EDGE, y=7.5, size=4.6, words=_cut(name, 22), is_bold=True))
    items += _end_out(dossier.transfer)
    items += code(_coded(name, tag_manifest), x=WIDTH - _EDGE - _QR, y=_EDGE, side=_QR)
    items += _written(dossier)
    return Label(
        width=WIDTH, height=BOX_HEIGHT, title=_cut(f"Label: {name}", 160), items=tuple(items)
    )


def _written(dossier: Dossier) -> Iterator[Text]:
    """Yield the lines below name and end: what is told, and at the foot what is always said."""
    wide = _letters(WIDTH - 2 * _EDGE, _SMALL)
    narrow = _letters(WIDTH - _QR - 3 * _EDGE, _SMALL)
    below = 15.5
    rows = int((BOX_HEIGHT - _EDGE - below) / _LINE)
    beside = int((_EDGE + _QR + 1 - below) / _LINE) + 1
    last = (DECIDE, _made(dossier))

    def broken(told: Iterable[str], first: int, most: int) -> list[str]:
        lines: list[str] = []
        for one in told:
            width = narrow if first + len(lines) < beside else wide
            lines += _wrapped(one, width, most)
        return lines

    # Whatever is left out, it is not what the tape is made of, nor what was done to it.
    of_tape = tuple(_of_tape(dossier.transfer))
    room = rows - len(last) - len(broken(of_tape, beside, _MOST_LINES))
    lines = broken(_names(dossier), 0, _MOST_LINES)
    lines += broken(_lines(dossier), len(lines), rows)
    if len(lines) > room:
        lines = [*lines[: room - 1], "… more in the package"]
    lines += broken(of_tape, len(lines), _MOST_LINES)
    lines += [""] * (rows - len(last) - len(lines))
    for row, words in enumerate([*lines, *last]):
        y = below + _LINE * (row + 0.8)
        if words:
            yield Text(x=_EDGE, y=y, size=_SMALL, words=words, is_bold=words == DECIDE)


def _wrapped(text: str, width: int, most: int) -> list[str]:
    shown = _doubled(printable(text))
    lines = wrap(shown, width, subsequent_indent="  ", max_lines=most, placeholder=" …")
    return [line.replace(_SECOND, "") for line in lines]


def _doubled(shown: str) -> str:
    """Let letters that are twice as wide as others (UAX #11) count twice."""
    return "".join(f"{c}{_SECOND}" if east_asian_width(c) in "WF" else c for c in shown)


def spine(dossier: Dossier) -> Label:
    """Lay out the label of the spine; its code is small and holds the name of the package alone."""
    name = Packaged(dossier).name
    side = SPINE_HEIGHT - 2
    items: list[Text | Rule] = [_frame(WIDTH, SPINE_HEIGHT)]
    items += code(_coded(name, ""), x=WIDTH - side - 1, y=1, side=side)
    room = WIDTH - side - 2 * _EDGE
    transfer = dossier.transfer
    end = f"{_end(transfer)}  " if transfer is not None else ""
    marks = " ".join(one.value for one in transfer.reel.identifiers) if transfer else ""
    title = (transfer.reel.title if transfer is not None else None) or ""
    speeds = listed(dict.fromkeys(_speed(one) for one in _regions(transfer) if _speed(one)))
    for y, size, words, is_bold in (
        (4.6, 3.2, f"{name}  {marks}", True),
        (8.3, 2.6, title, False),
        (12.0, 2.6, f"{end}{speeds}", True),
    ):
        cut = _cut(words, _letters(room, size))
        items.append(Text(x=_EDGE, y=y, size=size, words=cut, is_bold=is_bold))
    return Label(
        width=WIDTH, height=SPINE_HEIGHT, title=_cut(f"Spine: {name}", 160), items=tuple(items)
    )


def code(content: str, *, x: float, y: float, side: float) -> Iterator[Rule]:
    """Yield a QR code (ISO/IEC 18004) of a text as runs of filled modules, quiet zone and all."""
    made = segno.make(content, error="m", micro=False, boost_error=False, encoding="utf-8")
    size = side / (len(made.matrix) + 2 * _QUIET)
    for row, modules in enumerate(made.matrix):
        start = 0
        while start < len(modules):
            end = start
            while end < len(modules) and modules[end]:
                end += 1
            if end > start:
                yield Rule(
                    x=x + size * (start + _QUIET),
                    y=y + size * (row + _QUIET),
                    width=size * (end - start),
                    height=size,
                    is_filled=True,
                )
            start = end + 1


def _coded(name: str, tag_manifest: str) -> str:
    return "\n".join(_cut(part, 160) for part in (name, tag_manifest) if part)


def _frame(width: float, height: float) -> Rule:
    return Rule(x=0.3, y=0.3, width=width - 0.6, height=height - 0.6)


def _letters(width: float, size: float) -> int:
    return int(width / (size * ADVANCE))


def _cut(words: str, most: int) -> str:
    shown = _doubled(printable(" ".join(words.split())))
    kept = shown if len(shown) <= most else f"{shown[: most - 1]}…"
    return kept.replace(_SECOND, "")


def _end(transfer: Transfer | None) -> str:
    end = transfer.reel.end_out_on_leaving if transfer is not None else None
    return f"{end.upper()} OUT" if end else "END OUT: NOT STATED"


def _end_out(transfer: Transfer | None) -> Iterator[Text | Rule]:
    words = _end(transfer)
    width = len(words) * _END * ADVANCE + 2
    yield Rule(x=_EDGE, y=9.4, width=width, height=5.2)
    yield Text(x=_EDGE + 1, y=13.2, size=_END, words=words, is_bold=True)


def _names(dossier: Dossier) -> Iterator[str]:
    reel = dossier.transfer.reel if dossier.transfer is not None else Reel()
    marks = "  ".join(one.value for one in reel.identifiers)
    yield from (one for one in (marks, reel.title or "") if one)


def _lines(dossier: Dossier) -> Iterator[str]:
    transfer = dossier.transfer
    if transfer is None:
        yield "No side-car of ours: speed, curve and base are not told here."
        return
    recording = transfer.recording
    if recording is not None and recording.when:
        yield f"Recorded {day(recording.when)}"
    for side in transfer.reel.sides:
        yield f"{side.id}: {_side(side)}"


def _of_tape(transfer: Transfer | None) -> Iterator[str]:
    if transfer is None:
        return
    bases = [_base(one) for one in transfer.reel.stock]
    known = "; ".join(bases) or "not stated"
    looked = dict.fromkeys(who(transfer, person) for person in _inspectors(transfer.reel) if person)
    yield f"Base: {known}{f'; inspected by {listed(looked)}' if looked else ''}"
    yield _treated(transfer)


def _inspectors(reel: Reel) -> Iterator[str | None]:
    yield from (one.by for one in reel.condition)
    yield from (one.by for one in reel.events if one.kind == "inspection")


def _regions(transfer: Transfer | None) -> Iterator[Region]:
    for side in transfer.reel.sides if transfer is not None else ():
        yield from side.regions


def _speed(one: Region) -> str:
    return f"{plain(one.speed_ips)} ips" if one.speed_ips is not None else ""


def _side(side: Side) -> str:
    runs = [told for one in side.regions if (told := _played(one))]
    changes = [told for told, _ in groupby(runs)]
    if len(changes) > _MOST_CHANGES:
        return f"changes {len(changes) - 1} times: {'; '.join(dict.fromkeys(changes))}"
    return ", then ".join(changes) or "speed and curve not stated"


def _played(one: Region) -> str:
    reduced = one.noise_reduction if one.noise_reduction != "none" else ""
    told = to_play(one, brief=True)
    return ", ".join(part for part in (told, one.tracks, reduced) if part) if told else ""


def _base(one: StockSection) -> str:
    by = f" by {listed(one.base_told_by)}" if one.base_told_by else ""
    sure = f", {one.confidence}" if one.confidence else ""
    return f"{one.id} {one.base or one.absent.get('base', 'not stated')}{by}{sure}"


def _treated(transfer: Transfer) -> str:
    done = [
        ", ".join(
            part for part in (moment(one.on), *_how(one), one.outcome or one.note or "") if part
        )
        for one in transfer.reel.events
        if one.kind == "treatment" and one.state in {None, "done"}
    ]
    return f"Treated: {'; '.join(done)}" if done else "No treatment is on record."


def _how(one: Event) -> Iterator[str]:
    if one.temperature_c is not None:
        yield f"{plain(one.temperature_c)} °C"
    if one.hours is not None:
        yield f"{plain(one.hours)} h"


def _made(dossier: Dossier) -> str:
    cars = [file.sidecar for file in dossier.files if file.sidecar]
    cars += [dossier.record_only] if dossier.record_only is not None else []
    studio = dossier.transfer.studio.name if dossier.transfer is not None else None
    info = dossier.package.bag_info if dossier.package is not None else ()
    dates = [one.value for one in info if one.label == "Bagging-Date"]
    date = cars[0].written[:10] if cars else next(iter(dates), "")
    parts = (f"Packed {date}" if date else "", studio or "")
    return _cut(", ".join(part for part in parts if part), _letters(WIDTH - 2 * _EDGE, _SMALL))
