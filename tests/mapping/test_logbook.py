from decimal import Decimal
from typing import Any

import pytest

from tailsout.mapping import logbook
from tailsout.records.logbook import LogLine
from tailsout.records.machine import CareEvent

OTHER = "00000000-0000-4000-8000-00000000000a"


def line(key: str, on: str, minutes: str, **more: Any) -> LogLine:
    usual = {"job_id": OTHER, "machine": "mk3", "programme_minutes": Decimal(minutes)}
    return LogLine(key=key, on=on, **{**usual, **more})


def since(make: Any, *lines: LogLine) -> list[tuple[str, Decimal, tuple[str, ...]]]:
    machine = make.machine(
        care=(
            CareEvent(kind="cleaned", on="2026-03-01"),
            CareEvent(kind="cleaned", on="2026-03-10"),
            CareEvent(kind="cleaned", on="2026-03-20"),
            CareEvent(kind="demagnetised"),
        )
    )
    transfer = make.transfer(
        machines=(machine,), passes=(make.one_pass(on="2026-03-14T10:20:00Z"),)
    )
    found = logbook.hours_since(machine, transfer, lines)
    return [(one.since, one.at_least_hours, one.rests_on) for one in found]


def test_hours_count_from_the_last_care_before_the_first_pass(make: Any) -> None:
    told = since(make, line("A", "2026-03-11", "90"), line("B", "2026-03-12", "29"))
    assert told == [("cleaned", Decimal("1.9"), ("A", "B"))]


@pytest.mark.parametrize(
    "other",
    [
        line("own", "2026-03-11", "60", job_id="own"),
        line("before the care", "2026-03-09", "60"),
        line("after the pass", "2026-03-15", "60"),
        line("that day, no time", "2026-03-14", "60"),
        line("another machine", "2026-03-11", "60", machine="mk4"),
    ],
    ids=lambda one: one.key,
)
def test_lines_that_do_not_count(make: Any, other: LogLine) -> None:
    if other.key == "own":
        other = line("own", "2026-03-11", "60", job_id=make.job_id)
    assert since(make, other) == [("cleaned", Decimal("0.0"), ())]


def test_a_logbook_is_read_as_it_was_written_and_a_key_counts_once() -> None:
    one, two = line("A", "2026-03-11", "90"), line("B", "2026-03-12", "29.5")
    content = logbook.write(one) + logbook.write(two) + logbook.write(line("A", "2026-03-13", "1"))
    assert logbook.read(content) == ((one, two), ())


def test_a_torn_line_is_passed_over_and_told() -> None:
    one = line("A", "2026-03-11", "90")
    torn = logbook.write(line("B", "2026-03-12", "1"))[:-9]
    wrong = b'{"key": "C"}'
    found, unread = logbook.read(logbook.write(one) + wrong + b"\n" + torn)
    assert found == (one,)
    assert unread == (2, 3)
