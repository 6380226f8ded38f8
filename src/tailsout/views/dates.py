"""Dates of descriptions for other programs, in EDTF (ISO 8601-2:2019)."""

import re

_MINUTES_ALONE = re.compile(r"T[0-9]{2}:[0-9]{2}(?=Z|[+-]|$)", re.ASCII)
_PART_OF_SECOND = re.compile(r"(?<=:[0-9]{2})\.[0-9]+(?=Z|[+-]|$)", re.ASCII)
_OF_SEVERAL = frozenset("[]{},")
_MOMENT = re.compile(
    r"[0-9]{4}-[0-9]{2}-[0-9]{2}T[0-9]{2}:[0-9]{2}:[0-9]{2}(?:\.[0-9]+)?"
    r"(?:Z|[+-](?:0[0-9]|1[0-3]):[0-9]{2}|[+-]14:00)",
    re.ASCII,
)
_CALENDAR = re.compile("[0-9]{4}(?:-[0-9]{2}){0,2}", re.ASCII)
UNKNOWN_DATE = "XXXX"
"""A year of which nothing is known (EDTF, ISO 8601-2:2019 annex A)."""


def edtf(when: str | None) -> str:
    """Write a day, or day and time, as EDTF, which has whole seconds or no time at all."""
    if not when:
        return UNKNOWN_DATE
    return _MINUTES_ALONE.sub(lambda found: f"{found[0]}:00", _PART_OF_SECOND.sub("", when))


def is_moment(when: str) -> bool:
    """Tell a day with its time, no further from UTC than XML Schema knows (part 2, §3.2.7.3)."""
    return _MOMENT.fullmatch(when) is not None


def is_calendar(when: str) -> bool:
    """Tell a year, month or day of which nothing is doubted."""
    return when != UNKNOWN_DATE and _CALENDAR.fullmatch(when) is not None


def interval(start: str | None, end: str | None) -> str:
    """Write the time between two dates in EDTF; a side that nothing is known of stays empty.

    Where a date is a stretch of time itself, its outer end is taken; of one of several none is.
    Intervals of EDTF are of days.
    """
    first = _single((start or "").partition("/")[0])
    last = _single((end or "").rpartition("/")[2])
    return f"{first}/{last}" if {first, last} - {"", ".."} else UNKNOWN_DATE


def _single(when: str) -> str:
    return "" if _OF_SEVERAL & set(when) else when.partition("T")[0]
