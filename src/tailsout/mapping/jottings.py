"""Jottings: lines written down while the tape runs, in a text file that anybody can read.

    2026-03-14T10:33:20Z [p1] splice opened, stopped

A line that is not of this shape, torn by a crash or typed by hand, is kept as it stands. What a
crash left of a character, or put in its place, is packed as U+FFFD.
"""

import re
from datetime import datetime

from tailsout.ground.clock import stamp
from tailsout.ground.findings import Finding, Kind, Place, Severity
from tailsout.ground.units import printable
from tailsout.mapping import schemas
from tailsout.mapping.plain import plain
from tailsout.records.statements import Jotting

FILE_NAME = "jottings.txt"

JOTTING_UNREAD = Kind(
    code="jotting-unread",
    severity=Severity.NOTE,
    title="A line of the jottings is not a jotting, so it is not packed",
    basis="own rule: a jotting is a time, the pass that was running, and what happened",
    remedy="File what it says into an event of the form, if it matters.",
)
KINDS = (JOTTING_UNREAD,)

_LINE = re.compile(
    r"(?P<at>[0-9]{4}-[0-9]{2}-[0-9]{2}T[0-9]{2}:[0-9]{2}:[0-9]{2}Z)"
    r"(?: \[(?P<pass_id>[A-Za-z0-9_.-]{1,64})\])? (?P<text>.+)",
    re.ASCII,
)

_REPLACED = {0: 0xFFFD, 0xFFFE: 0xFFFD}
_MOST = 5000
"""As many as the schema lets a side-car hold."""


def write(text: str, instant: datetime, pass_id: str | None) -> bytes:
    """Return one line, with its line end; line breaks in the text become blanks."""
    words = f"[{pass_id}] {text}" if pass_id else text
    line = f"{stamp(instant)} {' '.join(words.split())}\n"
    # What a terminal handed over that is not UTF-8 goes back as it came.
    return line.encode("utf-8", "surrogateescape")


def read(content: bytes) -> tuple[tuple[Jotting, ...], tuple[Finding, ...]]:
    """Return the jottings, and a note for each line that is none."""
    jottings: list[Jotting] = []
    others = []
    # NUL and U+FFFE can stand in no side-car.
    lines = content.decode("utf-8", "replace").translate(_REPLACED).split("\n")
    for number, line in enumerate(lines, start=1):
        jotting = _jotting(line.strip())
        if jotting is not None and len(jottings) < _MOST:
            jottings.append(jotting)
        elif line.strip():
            place = Place(file=FILE_NAME, line=number)
            others.append(JOTTING_UNREAD.at(place, printable(line.strip())))
    return tuple(jottings), tuple(others)


def _jotting(line: str) -> Jotting | None:
    """Return what a line says; None if it is not a jotting that a side-car may hold."""
    match = _LINE.fullmatch(line)
    if match is None:
        return None
    jotting = Jotting(at=match["at"], text=match["text"], pass_id=match["pass_id"])
    return None if schemas.faults(plain(jotting), "sidecar-0.1", "jotting") else jotting
