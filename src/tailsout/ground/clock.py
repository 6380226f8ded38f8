"""Instants, dates and identifiers handed down from the door: nothing below looks at a clock."""

import os
import re
import uuid
from collections.abc import Mapping
from datetime import UTC, datetime

from tailsout.ground.errors import UsageError


def now(environment: Mapping[str, str] = os.environ) -> datetime:
    """Return the instant of this run in UTC, whole seconds; SOURCE_DATE_EPOCH sets it.

    Raises UsageError if SOURCE_DATE_EPOCH is not a whole number of seconds a calendar holds.
    """
    fixed = environment.get("SOURCE_DATE_EPOCH")
    if fixed is None:
        return datetime.now(UTC).replace(microsecond=0)
    # Eleven digits reach the year 5138; more overflow what a calendar holds.
    if not re.fullmatch(r"[0-9]{1,11}", fixed, re.ASCII):
        raise UsageError(
            f"SOURCE_DATE_EPOCH is {fixed!r}, which is not a number of seconds since 1970.",
            "Unset it, or give whole seconds.",
        )
    return datetime.fromtimestamp(int(fixed), UTC)


def stamp(instant: datetime) -> str:
    """Write an instant as RFC 3339 in UTC, as `2026-11-25T08:30:00Z`."""
    return instant.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")


def derived_id(job_id: str, what: str) -> str:
    """Return the UUID (version 5, RFC 9562 §5.5) of one thing within a job."""
    return str(uuid.uuid5(uuid.UUID(job_id), what))


def is_before(one: str, other: str) -> bool:
    """Tell whether one date, or date and time, lies surely before another.

    A date without a time may be any time of that day, a month or a year any day of it. Times with
    an offset from UTC and times without one are compared by their day alone, and then only if the
    days are two apart.
    """
    if "T" not in one or "T" not in other:
        known = min(len(one), len(other), len("0000-00-00"))
        return one[:known] < other[:known]
    first, second = datetime.fromisoformat(one), datetime.fromisoformat(other)
    if (first.tzinfo is None) == (second.tzinfo is None):
        return first < second
    days = (_day(second) - _day(first)).days
    return days > 1


def _day(instant: datetime) -> datetime:
    return datetime(instant.year, instant.month, instant.day, tzinfo=UTC)
