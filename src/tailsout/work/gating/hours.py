"""Hours of tape contact since a machine was cared for, against what is due when."""

from collections.abc import Iterable, Iterator
from dataclasses import replace
from datetime import datetime
from decimal import Decimal

from tailsout.ground import clock
from tailsout.ground.units import plain
from tailsout.mapping.logbook import hours_since
from tailsout.records.gate import Entry
from tailsout.records.logbook import LogLine
from tailsout.records.machine import Machine
from tailsout.records.playing import Pass
from tailsout.records.recipient import CareIntervals, Recipient
from tailsout.records.transfer import Transfer
from tailsout.records.vocab import CareKind

_TC04 = CareIntervals(clean_hours=Decimal(4), demagnetise_hours=Decimal(8), check_hours=Decimal(30))
"""IASA-TC 04, 2nd ed., 5.4.7; a recipient may say otherwise."""


def entries(machine: Machine, recipient: Recipient | None) -> Iterator[Entry]:
    """Yield one line a kind of care: how long ago, and whether it is due."""
    since = {one.since: one for one in machine.hours_since}
    for kind, limit, source in _due(recipient):
        one = since.get(kind)
        asked = f"due after {plain(limit)} h ({source})"
        if one is not None:
            is_due = "DUE: " if one.at_least_hours >= limit else ""
            told = f"{is_due}at least {plain(one.at_least_hours)} h since {one.on[:10]}"
            yield Entry(label=kind, says=f"{told}; {asked}")
            continue
        last = max((c.on for c in machine.care if c.kind == kind and c.on is not None), default="")
        word = machine.absent.get("hours_since", "not counted")
        yield Entry(label=kind, says=f"on {last[:10]}, hours {word}; {asked}" if last else None)
        yield from () if last else (Entry(label="", says=asked),)


def _due(recipient: Recipient | None) -> Iterator[tuple[CareKind, Decimal, str]]:
    """Yield what is due after how many hours, and who says so."""
    asked = recipient.care_intervals if recipient is not None else None
    own = asked or CareIntervals()
    limits: tuple[tuple[CareKind, Decimal | None, Decimal | None], ...] = (
        ("cleaned", own.clean_hours, _TC04.clean_hours),
        ("demagnetised", own.demagnetise_hours, _TC04.demagnetise_hours),
        ("calibrated", own.check_hours, _TC04.check_hours),
    )
    for kind, theirs, usual in limits:
        limit = theirs if theirs is not None else usual
        if limit is not None:
            yield kind, limit, "the recipient" if theirs is not None else "IASA-TC 04, 5.4.7"


def as_of(
    machine: Machine, transfer: Transfer, lines: Iterable[LogLine] | None, instant: datetime
) -> Machine:
    """Return a machine with its hours as of now, where no pass of the job is dated yet."""
    if machine.hours_since or lines is None:
        return machine
    now = Pass(id="next", machine=machine.id, on=clock.stamp(instant))
    planned = replace(transfer, passes=(now,))
    return replace(machine, hours_since=hours_since(machine, planned, lines))
