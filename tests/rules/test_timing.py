"""The order of dates: what surely lies before what."""

from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal

import pytest

from tailsout.records.capture import Capture
from tailsout.records.carrier import Custody
from tailsout.records.dossier import Dossier, FileRecord
from tailsout.records.facts import Embedded, InfoLine
from tailsout.records.listening import Listening
from tailsout.records.machine import CareEvent
from tailsout.records.playing import Pass, Stop
from tailsout.records.reel import Event, Reel
from tailsout.records.transfer import Transfer

Run = Callable[[str, Dossier], list[tuple[str, str]]]
FileOf = Callable[..., FileRecord]
RULE = "order of dates"
MINUTES = "minutes of a pass"
TRANSFER = "data/audio/reel.json#/transfer"


def reel(*days: str | None) -> Reel:
    return Reel(events=tuple(Event(kind="inspection", on=day) for day in days))


def test_events_that_run_backwards(
    run: Run, transfer: Callable[..., Transfer], stating: Callable[[Transfer], Dossier]
) -> None:
    dossier = stating(transfer(reel=reel("2026-03-12", "2026-03-11", "2026-03-12")))
    assert run(RULE, dossier) == [("dates-out-of-order", f"{TRANSFER}/reel/events/1/on")]


@pytest.mark.parametrize(
    ("on", "is_asked"),
    [
        ("2062-03-14", True),
        ("2026-03-22", True),
        ("2026-03-22T00:10:00+14:00", True),
        # It is tomorrow already in the east.
        ("2026-03-21T01:00:00+13:00", False),
        ("2026-03-20", False),
    ],
)
def test_what_is_still_to_come_was_hardly_packed(
    *,
    run: Run,
    transfer: Callable[..., Transfer],
    stating: Callable[[Transfer], Dossier],
    on: str,
    is_asked: bool,
) -> None:
    made = transfer(passes=(Pass(id="p1", on=on),), captures=())
    job = replace(stating(made), package=None, as_of="2026-03-20")
    found = [("dates-out-of-order", f"{TRANSFER}/passes/0/on")] if is_asked else []
    assert run(RULE, job) == found
    package = stating(made)
    assert package.package is not None
    day = InfoLine(label="Bagging-Date", value="2026-03-20", line=1)
    dated = replace(package.package, bag_info=(day,))
    assert run(RULE, replace(package, package=dated)) == found


def test_a_package_of_the_last_day_there_is_asks_for_nothing(
    run: Run, transfer: Callable[..., Transfer], stating: Callable[[Transfer], Dossier]
) -> None:
    package = stating(transfer(passes=(Pass(id="p1", on="2026-03-12"),), captures=()))
    assert package.package is not None
    # Whoever made the bag may write what a calendar ends with.
    day = InfoLine(label="Bagging-Date", value="9999-12-31", line=1)
    dated = replace(package.package, bag_info=(day,))
    assert run(RULE, replace(package, package=dated)) == []


def test_a_package_without_a_day_of_its_own_asks_for_nothing(
    run: Run, transfer: Callable[..., Transfer], stating: Callable[[Transfer], Dossier]
) -> None:
    made = transfer(passes=(Pass(id="p1", on="2062-03-14"),), captures=())
    assert run(RULE, stating(made)) == []


@pytest.mark.parametrize(
    "days",
    [(), ("2026-03-12",), ("2026-03-12", "2026-03-12"), ("2026-03-12", None, "2026-03-13")],
)
def test_events_that_run_forward(
    run: Run,
    transfer: Callable[..., Transfer],
    stating: Callable[[Transfer], Dossier],
    days: tuple[str | None, ...],
) -> None:
    assert run(RULE, stating(transfer(reel=reel(*days)))) == []


def test_an_event_without_a_day_hides_no_disorder(
    run: Run, transfer: Callable[..., Transfer], stating: Callable[[Transfer], Dossier]
) -> None:
    dossier = stating(transfer(reel=reel("2026-03-12", None, "2026-03-11")))
    assert run(RULE, dossier) == [("dates-out-of-order", f"{TRANSFER}/reel/events/2/on")]


def test_passes_that_run_backwards(
    run: Run, transfer: Callable[..., Transfer], stating: Callable[[Transfer], Dossier]
) -> None:
    passes = (Pass(id="p1", on="2026-03-14T10:50Z"), Pass(id="p2", on="2026-03-14T10:20Z"))
    found = run(RULE, stating(transfer(passes=passes, captures=())))
    assert found == [("dates-out-of-order", f"{TRANSFER}/passes/1/on")]
    assert run(RULE, stating(transfer(passes=passes[::-1], captures=()))) == []


def test_maintenance_that_runs_backwards(
    run: Run, transfer: Callable[..., Transfer], stating: Callable[[Transfer], Dossier]
) -> None:
    care = (
        CareEvent(kind="cleaned", on="2026-03-14"),
        CareEvent(kind="calibrated", on="2026-03-13"),
    )
    [machine] = transfer().machines
    found = run(RULE, stating(transfer(machines=(replace(machine, care=care),))))
    assert found == [("dates-out-of-order", f"{TRANSFER}/machines/0/care/1/on")]
    # Each machine has a log of its own.
    two = (replace(machine, care=care[:1]), replace(machine, id="right", care=care[1:]))
    assert run(RULE, stating(transfer(machines=two))) == []


@pytest.mark.parametrize(
    ("started", "pass_id", "count"),
    [
        ("2026-03-14T10:19:59Z", "p1", 1),
        ("2026-03-14T10:20:00Z", "p1", 0),
        ("2026-03-14", "p1", 0),
        (None, "p1", 0),
        ("2026-03-14T10:19:59Z", None, 0),
        ("2026-03-14T10:19:59Z", "p9", 0),
    ],
)
def test_a_capture_begins_no_sooner_than_its_pass(
    *,
    run: Run,
    transfer: Callable[..., Transfer],
    stating: Callable[[Transfer], Dossier],
    started: str | None,
    pass_id: str | None,
    count: int,
) -> None:
    capture = Capture(id="reel", file="captures/reel.wav", pass_id=pass_id, started=started)
    found = run(RULE, stating(transfer(captures=(capture,))))
    assert found == [("dates-out-of-order", f"{TRANSFER}/captures/0/started")] * count


# How long a pass ran: common practice, no source


@pytest.fixture
def captured(
    transfer: Callable[..., Transfer], received: Callable[..., Dossier], file: FileOf
) -> Callable[..., Dossier]:
    """Make one pass of a tape, and captures of it that are so many minutes long."""

    def make(
        stated: str | None,
        *minutes: str | None,
        stops: tuple[Stop, ...] = (),
        of: str = "p1",
    ) -> Dossier:
        ran = Decimal(stated) if stated is not None else None
        held = transfer(
            passes=(Pass(id="p1", programme_minutes=ran, stops=stops),),
            captures=tuple(
                Capture(id=f"c{n}", file=f"captures/{n}.wav", pass_id=of)
                for n, _ in enumerate(minutes)
            ),
        )
        files = tuple(
            file(capture=f"c{n}", frames=None if one is None else int(Decimal(one) * 60 * 48_000))
            for n, one in enumerate(minutes)
        )
        return received(transfer=held, files=files)

    return make


@pytest.mark.parametrize(
    ("dossier", "is_asked"),
    [
        (("16", "16.8"), False),
        # Two minutes, or a tenth of a longer time.
        (("16", "18"), False),
        (("16", "18.1"), True),
        (("16", "14"), False),
        (("16", "13.9"), True),
        (("90", "82"), False),
        (("90", "98"), False),
        (("90", "80"), True),
        # Parts that follow each other, two recorders side by side, and too little either way.
        (("30", "15", "15.5"), False),
        (("30", "30", "30"), False),
        (("30", "12", "12"), True),
        (("20", "30", "30"), True),
        # What is not known contradicts nothing.
        ((None, "16"), False),
        (("16",), False),
        (("30", "12", None), False),
    ],
)
def test_minutes_of_a_pass_and_of_its_captures(
    run: Run,
    captured: Callable[..., Dossier],
    dossier: tuple[str | None, ...],
    *,
    is_asked: bool,
) -> None:
    place = f"{TRANSFER}/passes/0/programme_minutes"
    expected = [("pass-minutes-differ", place)] if is_asked else []
    assert run(MINUTES, captured(*dossier)) == expected


def test_a_recorder_runs_on_while_the_tape_stands_still(
    run: Run, captured: Callable[..., Dossier]
) -> None:
    stops = (Stop(at="12:31", reason="splice opened"),)
    assert run(MINUTES, captured("16", "30")) != []
    assert run(MINUTES, captured("16", "30", stops=stops)) == []
    assert run(MINUTES, captured("30", "16", stops=stops)) != []


def test_captures_of_another_pass_do_not_count(run: Run, captured: Callable[..., Dossier]) -> None:
    assert run(MINUTES, captured("16", "30", of="p2")) == []


def test_the_minutes_that_contradict_are_told(
    told: Callable[[str, Dossier], list[str]], captured: Callable[..., Dossier]
) -> None:
    assert told(MINUTES, captured("30", "12", "12.25")) == [
        "it is said to have run 30 minutes, its captures hold 24.2."
    ]
    assert told(MINUTES, captured("20", "30", "29")) == [
        "it is said to have run 20 minutes, its captures hold 30.0."
    ]


# Keeping and listening


@pytest.mark.parametrize(
    ("from_date", "to_date", "is_backwards"),
    [
        ("1994", "2026-02", False),
        ("2026-02", "1994", True),
        ("2026-02", "2026", False),
        ("2026-02", "2025", True),
        ("1994~", "1993", False),
        ("199X", "1993", False),
        (None, "1994", False),
        ("1994", None, False),
    ],
)
def test_a_reel_is_kept_from_one_day_to_a_later_one(
    *,
    run: Run,
    stating: Callable[[Transfer], Dossier],
    transfer: Callable[..., Transfer],
    from_date: str | None,
    to_date: str | None,
    is_backwards: bool,
) -> None:
    kept = Reel(custody=(Custody(from_date=from_date, to_date=to_date),))
    place = f"{TRANSFER}/reel/custody/0/to_date"
    expected = [("dates-out-of-order", place)] * is_backwards
    assert run(RULE, stating(transfer(reel=kept))) == expected


@pytest.mark.parametrize(
    ("on", "capture", "is_backwards"),
    [
        ("2026-03-13", "reel", True),
        ("2026-03-14", "reel", False),
        ("2026-03-14T10:21:06Z", "reel", True),
        ("2026-03-13", None, False),
        (None, "reel", False),
    ],
)
def test_nobody_listens_before_there_is_a_capture(
    *,
    run: Run,
    stating: Callable[[Transfer], Dossier],
    transfer: Callable[..., Transfer],
    on: str | None,
    capture: str | None,
    is_backwards: bool,
) -> None:
    heard = (Listening(by="tam", on=on, capture=capture),)
    expected = [("dates-out-of-order", f"{TRANSFER}/listening/0/on")] * is_backwards
    assert run(RULE, stating(transfer(listening=heard))) == expected


# Two clocks: the form says 10:21:07 UTC on 14 March

CLOCKS = "clocks of form and recorder"


@pytest.mark.parametrize(
    ("day", "hour", "code"),
    [
        ("2026-03-14", "10:21:07", None),
        ("2026-03-14", "10:36:07", None),
        ("2026-03-14", "10:36:08", "clocks-apart"),
        ("2026-03-14", "11:21:07", "clock-an-hour-off"),
        ("2026-03-14", "09:19:30", "clock-an-hour-off"),
        ("2026-03-14", "20:22:00", "clock-an-hour-off"),
        ("2026-03-14", "11:23:08", "clocks-apart"),
        # A day apart is told by itself, unless a time zone explains it.
        ("2026-03-15", "00:21:07", "clock-an-hour-off"),
        ("2026-03-15", "10:40:00", None),
        ("2026/03/14", "11-21-07", "clock-an-hour-off"),
        ("2026-03-14", "", None),
        ("2026-02-30", "10:21:07", None),
        ("0000-00-00", "00:00:00", None),
        ("2026-03-14", "99:99:99", None),
    ],
)
def test_a_recorder_that_shows_another_hour(
    *,
    run: Run,
    received: Callable[..., Dossier],
    file: FileOf,
    embedded: Callable[..., Embedded],
    day: str,
    hour: str,
    code: str | None,
) -> None:
    said = embedded(origination_date=day, origination_time=hour)
    expected = [(code, f"{TRANSFER}/captures/0/started")] if code else []
    assert run(CLOCKS, received(files=(file(embedded=said),))) == expected


def test_of_a_day_without_a_time_any_hour_will_do(
    run: Run,
    transfer: Callable[..., Transfer],
    received: Callable[..., Dossier],
    file: FileOf,
    embedded: Callable[..., Embedded],
) -> None:
    capture = replace(transfer().captures[0], started="2026-03-14")
    said = file(embedded=embedded(origination_time="23:59:59"))
    assert run(CLOCKS, received(transfer=transfer(captures=(capture,)), files=(said,))) == []


def test_a_file_that_says_nothing_of_itself_contradicts_no_clock(
    run: Run, received: Callable[..., Dossier], file: FileOf
) -> None:
    assert run(CLOCKS, received(files=(file(embedded=None),))) == []


def test_a_later_part_of_a_capture_began_later(
    run: Run,
    received: Callable[..., Dossier],
    file: FileOf,
    embedded: Callable[..., Embedded],
) -> None:
    later = file(embedded=embedded(origination_time="10:51:07"), starts_at=48_000 * 1800)
    assert run(CLOCKS, received(files=(later,))) == []
