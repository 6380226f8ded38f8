"""Reads what `check --json` wrote earlier, perhaps cut off in the middle of a line."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from tailsout.ground.findings import Verdict
from tailsout.mapping.plain import record
from tailsout.mapping.schemas import faults, urn
from tailsout.mapping.strict_json import MAX_JSON_OCTETS, StrictJsonError, load
from tailsout.records.fingerprint import Fingerprint
from tailsout.records.marks import Marks

LONGEST_LINE = MAX_JSON_OCTETS
"""Octets of a line that is read."""

_NAME = "check-0.1"


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """What was told of one package that came to its end."""

    line: Mapping[str, Any]
    """As it was written."""
    verdict: Verdict
    judged: str
    """When, RFC 3339 in UTC."""
    fingerprint: Fingerprint
    marks: Marks | None = None
    """By what it is held against others of a batch; None where that was not kept."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Report:
    """The entries by package, the last of each, and how many lines were of no use."""

    entries: Mapping[str, Entry]
    unreadable: int
    """Lines that are no such entry, a last one that was cut off among them; but not those that
    tell of all packages together."""
    unfit: int
    """Entries that were made otherwise than is asked now, or cannot be known again."""


def read(lines: Iterable[bytes], *, alike: Mapping[str, object]) -> Report:
    """Read the lines of a report; `alike` is what an entry must hold to be of use, None for not.

    A line longer than `LONGEST_LINE` may come in pieces; none of them is an entry.
    """
    entries: dict[str, Entry] = {}
    unreadable = unfit = 0
    for line in lines:
        told = _told(line)
        if told is None and _is_of_all(line):
            continue
        if told is None:
            unreadable += 1
            continue
        entries.pop(told["path"], None)
        fits = all(told.get(key) == value for key, value in alike.items())
        # What a limit or a disk kept from being judged may be judged today.
        known = "seen" in told and "judged" in told and "verdict" in told
        if not fits or not known or told["verdict"] == Verdict.NOT_EXAMINED:
            unfit += 1
            continue
        entries[told["path"]] = Entry(
            line=told,
            verdict=Verdict(told["verdict"]),
            judged=told["judged"],
            fingerprint=Fingerprint(**told["seen"]),
            marks=record(told["marks"], Marks) if "marks" in told else None,
        )
    return Report(entries=entries, unreadable=unreadable, unfit=unfit)


def _is_of_all(line: bytes) -> bool:
    """Tell whether a line tells of several packages together, and so of none."""
    try:
        told = load(line)
    except StrictJsonError:
        return False
    return isinstance(told, dict) and told.get("schema") == urn("batch-0.1")


def _told(line: bytes) -> dict[str, Any] | None:
    if not line.endswith(b"\n"):
        return None
    try:
        told = load(line)
    except StrictJsonError:
        return None
    return None if faults(told, _NAME) else told
