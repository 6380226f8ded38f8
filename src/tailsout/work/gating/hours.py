"""Hours of tape contact since a machine was cared for, against what is due when."""

from collections.abc import Iterable, Iterator
from dataclasses import replace
from datetime import date, datetime
from decimal import Decimal
from typing import Any

from tailsout.ground import clock
from tailsout.ground.units import counted, plain
from tailsout.mapping.logbook import hours_since
from tailsout.records.gate import Entry
from tailsout.records.logbook import LogLine
from tailsout.records.machine import CareIntervals, Machine
from tailsout.records.playing import Pass
from tailsout.records.recipient import Recipient
from tailsout.records.transfer import Transfer
from tailsout.records.vocab import CareKind

_SOURCE = "IASA-TC 04, 5.4.7"
_USUAL = CareIntervals(
    clean_hours=Decimal(4),
    demagnetise_hours=Decimal(8),
    check_hours=Decimal(30),
    full_check_months=6,
)
"""By the second edition; the machine's form may say otherwise, and a recipient before it."""


def entries(machine: Machine, recipient: Recipient | None, instant: datetime) -> Iterator[Entry]:
    """Yield one line a kind of care: how long ago, and whether it is due."""
    asked = (
        (recipient.care_intervals if recipient is not None else None, "the recipient"),
        (machine.care_intervals, "the machine's form"),
        (_USUAL, _SOURCE),
    )

    def limit(key: str) -> tuple[Any, str]:
        said = ((getattr(one, key, None), who) for one, who in asked)
        return next((most, who) for most, who in said if most is not None)

    yield from _hours(machine, "cleaned", *limit("clean_hours"), instant)
    yield from _hours(machine, "demagnetised", *limit("demagnetise_hours"), instant)
    yield from _hours(machine, "calibrated", *limit("check_hours"), instant)
    yield _full_check(machine, *limit("full_check_months"), instant)


def _hours(
    machine: Machine, kind: CareKind, limit: Decimal, who: str, instant: datetime
) -> Iterator[Entry]:
    asked = f"due after {plain(limit)} h ({who})"
    one = next((h for h in machine.hours_since if h.since == kind), None)
    last = _last(machine, kind)
    if one is not None:
        is_due = "DUE: " if one.at_least_hours >= limit else ""
        since = f"{one.on[:10]}{_ago(one.on, instant)}"
        says = f"{is_due}at least {plain(one.at_least_hours)} h since {since}; {asked}"
        yield Entry(label=kind, says=says)
    elif last is not None:
        word = machine.absent.get("hours_since", "not counted")
        yield Entry(label=kind, says=f"{last[:10]}{_ago(last, instant)}, hours {word}; {asked}")
    else:
        yield Entry(label=kind)
        yield Entry(label="", says=asked)


def _full_check(machine: Machine, limit: int, who: str, instant: datetime) -> Entry:
    """Tell whether a full check is due, by the calendar."""
    last = _last(machine, "calibrated")
    if last is None:
        return Entry(label="full check")
    is_due = "DUE: " if _months(last, instant) >= limit else ""
    says = f"{is_due}calibrated {last[:10]}; due after {limit} months ({who})"
    return Entry(label="full check", says=says)


def _last(machine: Machine, kind: CareKind) -> str | None:
    return max((c.on for c in machine.care if c.kind == kind and c.on is not None), default=None)


def _ago(on: str, instant: datetime) -> str:
    months = _months(on, instant)
    return f", {counted(months, 'month')} ago" if months > 0 else ""


def _months(on: str, instant: datetime) -> int:
    """Return how many whole months ago a date was; less than none if it is still to come."""
    day = date.fromisoformat(on[:10])
    months = (instant.year - day.year) * 12 + instant.month - day.month
    return months - (instant.day < day.day)


def as_of(
    machine: Machine, transfer: Transfer, lines: Iterable[LogLine] | None, instant: datetime
) -> Machine:
    """Return a machine with its hours as of now, where no pass of the job is dated yet."""
    if machine.hours_since:
        return machine
    now = Pass(id="next", machine=machine.id, on=clock.stamp(instant))
    planned = replace(transfer, passes=(now,))
    return replace(machine, hours_since=hours_since(machine, planned, lines) or ())
