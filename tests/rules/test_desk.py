"""What is still on the desk when a job is closed."""

from collections.abc import Callable

import pytest

from tailsout.ground.findings import Verdict
from tailsout.records.dossier import Dossier
from tailsout.records.playing import Pass, Stop
from tailsout.records.reel import Event, Reel
from tailsout.records.statements import Jotting
from tailsout.records.transfer import Transfer
from tailsout.records.vocab import JobKind
from tailsout.rules import judge

Run = Callable[[str, Dossier], list[tuple[str, str]]]
KIND, JOTTINGS = "kind of job", "jottings"
TRANSFER = "data/audio/reel.json#/transfer"

FIRST_RUN = "p1"
FIRST = Jotting(at="2026-03-14T10:33:20Z", text="splice opened, stopped", pass_id=FIRST_RUN)
SECOND = Jotting(at="2026-03-14T11:02:41Z", text="voice drops an octave")


# told-afterwards


def test_a_transfer_told_afterwards_gets_one_note(
    run: Run, transfer: Callable[..., Transfer], stating: Callable[[Transfer], Dossier]
) -> None:
    dossier = stating(transfer(kind="retrospective"))
    assert run(KIND, dossier) == [("told-afterwards", f"{TRANSFER}/kind")]
    assert judge(dossier).verdict is Verdict.PASS


@pytest.mark.parametrize("kind", [None, "transfer"])
def test_an_ordinary_transfer_gets_none(
    run: Run,
    transfer: Callable[..., Transfer],
    stating: Callable[[Transfer], Dossier],
    kind: JobKind | None,
) -> None:
    assert run(KIND, stating(transfer(kind=kind))) == []


# not-played-unexplained


def test_a_reel_not_played_without_a_reason_is_asked_about(
    run: Run, transfer: Callable[..., Transfer], stating: Callable[[Transfer], Dossier]
) -> None:
    dossier = stating(transfer(kind="record only"))
    assert run(KIND, dossier) == [("not-played-unexplained", f"{TRANSFER}/kind")]
    assert judge(dossier).verdict is Verdict.OPEN


@pytest.mark.parametrize(
    "said",
    [
        {"not_played_because": "mould"},
        {"absent": {"not_played_because": "unknown"}},
        {"absent": {"not_played_because": "withheld"}},
    ],
)
def test_a_reason_or_why_there_is_none_is_enough(
    run: Run,
    transfer: Callable[..., Transfer],
    stating: Callable[[Transfer], Dossier],
    said: dict[str, object],
) -> None:
    assert run(KIND, stating(transfer(kind="record only", **said))) == []


def test_a_reason_is_asked_of_no_other_job(
    run: Run, transfer: Callable[..., Transfer], stating: Callable[[Transfer], Dossier]
) -> None:
    other = stating(transfer(kind="transfer", absent={"note": "unknown"}))
    assert run(KIND, other) == []
    beside = stating(transfer(kind="record only", absent={"note": "unknown"}))
    assert run(KIND, beside) == [("not-played-unexplained", f"{TRANSFER}/kind")]


# jotting-unfiled


def test_jottings_that_nothing_took_up_are_listed_with_their_words(
    run: Run, transfer: Callable[..., Transfer], stating: Callable[[Transfer], Dossier]
) -> None:
    dossier = stating(transfer(jottings=(FIRST, SECOND)))
    assert [(f.code, str(f.place), f.text) for f in judge(dossier).findings] == [
        (
            "jotting-unfiled",
            f"{TRANSFER}/jottings/0",
            "2026-03-14T10:33:20Z splice opened, stopped",
        ),
        ("jotting-unfiled", f"{TRANSFER}/jottings/1", "2026-03-14T11:02:41Z voice drops an octave"),
    ]
    assert judge(dossier).verdict is Verdict.PASS


def test_an_event_files_the_jotting_of_its_time(
    transfer: Callable[..., Transfer], stating: Callable[[Transfer], Dossier]
) -> None:
    reel = Reel(events=(Event(kind="splice repair", jotting=FIRST.at), Event(kind="other")))
    found = judge(stating(transfer(reel=reel, jottings=(FIRST, SECOND)))).findings
    assert [str(f.place) for f in found] == [f"{TRANSFER}/jottings/1"]


def test_the_stop_of_a_pass_files_the_jotting_whose_words_it_has(
    transfer: Callable[..., Transfer], stating: Callable[[Transfer], Dossier]
) -> None:
    stops = (Stop(at="12:13", reason="splice opened, stopped; mended at once"),)
    passes = (Pass(id=FIRST_RUN, machine="left", on="2026-03-14T10:20:00Z", stops=stops),)
    found = judge(stating(transfer(passes=passes, jottings=(FIRST, SECOND)))).findings
    assert [str(f.place) for f in found] == [f"{TRANSFER}/jottings/1"]


def test_a_jotting_is_shown_escaped(
    transfer: Callable[..., Transfer], stating: Callable[[Transfer], Dossier]
) -> None:
    jotting = Jotting(at=FIRST.at, text="\x1b[2J stop")
    [one] = judge(stating(transfer(jottings=(jotting,)))).findings
    assert one.text == "2026-03-14T10:33:20Z \\x1b[2J stop"
