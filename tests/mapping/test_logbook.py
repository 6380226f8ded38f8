from dataclasses import replace
from decimal import Decimal
from typing import Any

import pytest

from tailsout.mapping import logbook
from tailsout.records.capture import Capture
from tailsout.records.logbook import LogLine
from tailsout.records.machine import CareEvent
from tailsout.records.reel import Event, Reel
from tailsout.records.session import Session

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
    found = logbook.hours_since(machine, transfer, lines) or ()
    return [(one.since, one.at_least_hours, one.rests_on) for one in found]


def test_hours_count_from_the_last_care_before_the_first_pass(make: Any) -> None:
    told = since(make, line("A", "2026-03-11", "90"), line("B", "2026-03-12", "29"))
    assert told == [("cleaned", Decimal("1.9"), ("A", "B"))]


@pytest.mark.parametrize(
    "other",
    [
        line("own", "2026-03-11", "60", job_id="own"),
        line("before the care", "2026-03-09", "60"),
        line("the day of the care", "2026-03-10", "60"),
        line("at some hour of that day", "2026-03-10T18:00:00Z", "60"),
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


@pytest.mark.parametrize(
    ("minutes", "hours"),
    [("0", "0.0"), ("5.9", "0.0"), ("6", "0.1"), ("11.99", "0.1"), ("599.9", "9.9"), ("600", "10")],
)
def test_hours_are_at_least_so_many(make: Any, minutes: str, hours: str) -> None:
    """Rounded down: demagnetising about every 10 h is common practice, and 9.99 h are not ten."""
    ((_, at_least, _),) = since(make, line("A", "2026-03-11", minutes))
    assert at_least == Decimal(hours)


def test_programme_winding_and_tones_are_all_contact(make: Any) -> None:
    mixed = line("A", "2026-03-11", "30", winding_minutes=Decimal(20), tone_minutes=Decimal("10.5"))
    assert since(make, mixed) == [("cleaned", Decimal("1.0"), ("A",))]


def test_a_care_of_a_known_hour_counts_from_that_hour(make: Any) -> None:
    care = (CareEvent(kind="demagnetised", on="2026-03-14T08:00:00Z"),)
    machine = make.machine(care=care)
    transfer = make.transfer(
        machines=(machine,), passes=(make.one_pass(on="2026-03-14T10:20:00Z"),)
    )
    lines = [
        line("before", "2026-03-14T07:00:00Z", "60"),
        line("since", "2026-03-14T09:00:00Z", "60"),
        line("after", "2026-03-14T11:00:00Z", "60"),
    ]
    (found,) = logbook.hours_since(machine, transfer, lines) or ()
    assert (found.since, found.rests_on) == ("demagnetised", ("since",))


@pytest.mark.parametrize("on", ["2026-03-13", "2026-03-14"])
def test_without_a_logbook_care_of_the_day_alone_is_counted_from(make: Any, on: str) -> None:
    """No line can lie between the two, so that it does not matter which lines there are."""
    machine = make.machine(care=(CareEvent(kind="calibrated", on=on),))
    transfer = make.transfer(
        machines=(machine,), passes=(make.one_pass(on="2026-03-14T10:20:00Z"),)
    )
    found = logbook.hours_since(machine, transfer, None)
    if on == "2026-03-14":
        assert found == logbook.hours_since(machine, transfer, [line("A", "2026-03-14", "90")])
        assert [one.at_least_hours for one in found or ()] == [0]
    else:
        assert found is None


@pytest.mark.parametrize("passes", [(), ({"on": None},), ({"machine": "mk4", "on": "2026-03-14"},)])
def test_without_a_dated_pass_on_it_nothing_is_said(make: Any, passes: Any) -> None:
    machine = make.machine(care=(CareEvent(kind="cleaned", on="2026-03-01"),))
    transfer = make.transfer(passes=tuple(make.one_pass(**one) for one in passes))
    assert logbook.hours_since(machine, transfer, [line("A", "2026-03-11", "60")]) == ()


def test_a_package_leaves_one_line_a_machine(make: Any) -> None:
    events = (
        Event(kind="winding", contact_minutes=Decimal(4)),
        Event(kind="winding", contact_minutes=Decimal("2.5")),
        Event(kind="inspection"),
    )
    passes = (
        make.one_pass(id="p1", on="2026-03-15T09:00:00Z", programme_minutes=Decimal(30)),
        make.one_pass(id="p2", on="2026-03-14", kept=False),
        make.one_pass(id="p3", machine="mk4", on="2026-03-16"),
        make.one_pass(id="p4", machine="mk5"),
        make.one_pass(id="p5", machine=None, on="2026-03-13"),
    )
    captures = (
        Capture(id="a", file="a.wav", pass_id="p2"),  # noqa: S106  a tape's pass
        Capture(id="b", file="b.wav", pass_id="p2"),  # noqa: S106  a tape's pass
        Capture(id="c", file="c.wav"),
    )
    transfer = make.transfer(
        machines=(make.machine(), make.machine(id="mk4"), make.machine(id="mk5")),
        passes=passes,
        captures=captures,
        reel=Reel(events=events),
    )
    seconds = {"a": Decimal(90), "b": Decimal(33), "c": Decimal(1000)}
    one, two = logbook.lines_of(transfer, seconds)
    # What the form states goes before the length of the captures, 123 s.
    assert (one.key, one.machine, one.on) == ("SKL-0007", "mk3", "2026-03-14")
    assert (one.programme_minutes, one.winding_minutes) == (Decimal("32.0"), Decimal("6.5"))
    assert (two.machine, two.on) == ("mk4", "2026-03-16")
    assert (two.programme_minutes, two.winding_minutes) == (Decimal(0), Decimal(0))


def test_the_calibration_tapes_of_a_session_are_one_line_of_their_own(make: Any) -> None:
    told = Session(id="s1", machine="mk3", on="2026-03-14", tone_minutes=Decimal(12))
    others = [
        replace(told, id="s2", machine=None),
        replace(told, id="s3", on=None),
        replace(told, id="s4", tone_minutes=None),
        replace(told, id="s5", tone_minutes=Decimal(0)),
    ]
    transfer = make.transfer(passes=(), sessions=(told, *others))
    (found,) = logbook.lines_of(transfer, {})
    assert (found.key, found.machine, found.on) == ("session s1", "mk3", "2026-03-14")
    assert (found.tone_minutes, found.hours) == (Decimal(12), Decimal("0.2"))
    # The next reel of the session has the same line, which is written once.
    again = make.transfer(passes=(), sessions=(told,), package_id="SKL-0008")
    assert [one.key for one in logbook.lines_of(again, {})] == [found.key]


def test_a_logbook_is_read_as_it_was_written_and_a_key_counts_once() -> None:
    one, two = line("A", "2026-03-11", "90"), line("B", "2026-03-12", "29.5")
    content = logbook.write(one) + logbook.write(two) + logbook.write(line("A", "2026-03-13", "1"))
    assert logbook.read(content) == ((one, two), ())


@pytest.mark.parametrize(
    "bad",
    [
        b"\xff",
        b"null",
        b"[]",
        b"{}",
        b"NaN",
        b'{"key": "A", "key": "B"}',
        b"[" * 100_000,
        logbook.write(line("A", "2026-03-11", "1234")).strip().replace(b"1234", b"1e999"),
        logbook.write(line("A", "14.3.2026", "1")).strip(),
        logbook.write(line("A", "2026-03-11", "-1")).strip(),
        logbook.write(line("A" * 81, "2026-03-11", "1")).strip(),
        logbook.write(line("A", "2026-03-11", "1", job_id="x")).strip(),
    ],
    ids=range(12),
)
def test_a_line_that_is_none_is_passed_over_and_told(bad: bytes) -> None:
    one, two = line("first", "2026-03-11", "90"), line("last", "2026-03-12", "1")
    content = logbook.write(one) + b"\r\n" + bad + b"\r\n" + logbook.write(two)
    assert logbook.read(content) == ((one, two), (3,))


def test_an_empty_logbook() -> None:
    assert logbook.read(b"") == ((), ())
    assert logbook.read(b"\n \n") == ((), ())


def test_a_torn_line_is_passed_over_and_told() -> None:
    one = line("A", "2026-03-11", "90")
    torn = logbook.write(line("B", "2026-03-12", "1"))[:-9]
    wrong = b'{"key": "C"}'
    found, unread = logbook.read(logbook.write(one) + wrong + b"\n" + torn)
    assert found == (one,)
    assert unread == (2, 3)
