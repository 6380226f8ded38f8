"""The order of dates: what surely lies before what."""

from collections.abc import Callable
from dataclasses import replace

import pytest

from tailsout.records.capture import Capture
from tailsout.records.dossier import Dossier
from tailsout.records.machine import CareEvent
from tailsout.records.playing import Pass
from tailsout.records.reel import Event, Reel
from tailsout.records.transfer import Transfer

Run = Callable[[str, Dossier], list[tuple[str, str]]]
RULE = "order of dates"
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
