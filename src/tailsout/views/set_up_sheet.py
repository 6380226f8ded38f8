"""The set-up sheet for printer and screen: short lines, ruled headings, stop signs first."""

from collections.abc import Iterator
from textwrap import wrap

from tailsout.ground.findings import Finding
from tailsout.ground.units import printable
from tailsout.records.gate import Entry, Part, Sheet
from tailsout.views.large import ruled

WIDTH = 80
_LABEL = 20
_BLANK = "_" * 30

_Lines = Iterator[str]


def render(sheet: Sheet) -> bytes:
    """Return the sheet in UTF-8, no line longer than 80 characters."""
    lines = [*_head(sheet)]
    for finding in sheet.stops:
        lines += _stop(finding)
    for part in sheet.parts:
        lines += told(part)
    if sheet.cautions:
        lines += ["", *ruled("CAUTION")]
        for caution in sheet.cautions:
            lines += _wrapped(caution, "  ! ", "    ")
    return ("\n".join(lines) + "\n").encode("utf-8", "backslashreplace")


def told(part: Part) -> _Lines:
    """Yield a ruled part: a label and what is said of it, or a blank to fill in."""
    yield ""
    yield from ruled(part.title)
    for entry in part.entries:
        yield from _entry(entry)


def _head(sheet: Sheet) -> _Lines:
    yield "=" * WIDTH
    yield "  SET-UP SHEET".ljust(WIDTH - len(sheet.on)) + sheet.on
    yield from _wrapped(sheet.title, "  ", "  ")
    if sheet.subtitle:
        yield from _wrapped(sheet.subtitle, "  ", "  ")
    yield "=" * WIDTH


def _stop(finding: Finding) -> _Lines:
    yield ""
    yield "#" * WIDTH
    yield from _wrapped(finding.kind.title.upper(), "##  STOP    ", "##          ")
    yield from _wrapped(finding.text, "##  ", "##  ")
    yield from _wrapped(finding.kind.remedy, "##  -> ", "##     ")
    yield "#" * WIDTH


def _entry(entry: Entry) -> _Lines:
    label = printable(entry.label)[: WIDTH // 2]
    start = f"  {label:<{_LABEL - 3}} "
    yield from _wrapped(entry.says or _BLANK, start, " " * _LABEL)


def _wrapped(text: str, first: str, rest: str) -> _Lines:
    yield from wrap(printable(text), WIDTH, initial_indent=first, subsequent_indent=rest) or [
        first.rstrip()
    ]
