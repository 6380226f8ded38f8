"""Hours of tape contact since a machine was cared for, against what is due when."""

from collections.abc import Iterable, Iterator
from dataclasses import replace
from datetime import date, datetime
from decimal import Decimal

from tailsout.ground import clock
from tailsout.ground.units import counted, plain
from tailsout.mapping.logbook import hours_since
from tailsout.records.gate import Entry
from tailsout.records.logbook import LogLine
from tailsout.records.machine import Machine
from tailsout.records.playing import Pass
from tailsout.records.recipient import CareIntervals, Recipient
from tailsout.records.transfer import Transfer
from tailsout.records.vocab import CareKind

_SOURCE = "IASA-TC 04, 5.4.7"
_CLEAN_H, _DEMAGNETISE_H, _CHECK_H = Decimal(4), Decimal(8), Decimal(30)
_FULL_CHECK_MONTHS = 6
"""By the second edition; a recipient may say otherwise."""


def entries(machine: Machine, recipient: Recipient | None, instant: datetime) -> Iterator[Entry]:
    """Yield one line a kind of care: how long ago, and whether it is due."""
    asked = recipient.care_intervals if recipient is not None else None
    own = asked or CareIntervals()
    yield from _hours(machine, "cleaned", own.clean_hours, _CLEAN_H, instant)
    yield from _hours(machine, "demagnetised", own.demagnetise_hours, _DEMAGNETISE_H, instant)
    yield from _hours(machine, "calibrated", own.check_hours, _CHECK_H, instant)
    yield _full_check(machine, own.full_check_months, instant)


def _hours(
    machine: Machine, kind: CareKind, theirs: Decimal | None, usual: Decimal, instant: datetime
) -> Iterator[Entry]:
    limit = usual if theirs is None else theirs
    asked = f"due after {plain(limit)} h ({_who(theirs)})"
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


def _full_check(machine: Machine, theirs: int | None, instant: datetime) -> Entry:
    """Tell whether a full check is due, by the calendar."""
    limit = _FULL_CHECK_MONTHS if theirs is None else theirs
    last = _last(machine, "calibrated")
    if last is None:
        return Entry(label="full check")
    is_due = "DUE: " if _months(last, instant) >= limit else ""
    says = f"{is_due}calibrated {last[:10]}; due after {limit} months ({_who(theirs)})"
    return Entry(label="full check", says=says)


def _who(theirs: object) -> str:
    return _SOURCE if theirs is None else "the recipient"


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
    if machine.hours_since or lines is None:
        return machine
    now = Pass(id="next", machine=machine.id, on=clock.stamp(instant))
    planned = replace(transfer, passes=(now,))
    return replace(machine, hours_since=hours_since(machine, planned, lines))
