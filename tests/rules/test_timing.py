"""The order of dates: what surely lies before what."""

from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal

import pytest

from tailsout.records.capture import Capture
from tailsout.records.dossier import Dossier, FileRecord
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
