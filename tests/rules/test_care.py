"""Hours of contact since care; the limits are common practice, without a source."""

from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal
from typing import Any

import pytest

from tailsout.ground.findings import Verdict
from tailsout.records.dossier import Dossier
from tailsout.records.machine import CareEvent, CareIntervals, Head, HoursSince, Machine
from tailsout.records.recipient import Recipient
from tailsout.records.session import CalibrationSetting, Session
from tailsout.records.transfer import Transfer
from tailsout.records.vocab import CareKind
from tailsout.rules import judge
from tailsout.rules.care import CARE_LONG_AGO

Run = Callable[[str, Dossier], list[tuple[str, str]]]


@pytest.mark.parametrize(
    ("kind", "hours", "is_long"),
    [
        ("cleaned", "10.0", False),
        ("cleaned", "10.1", True),
        ("demagnetised", "20.0", False),
        ("demagnetised", "20.1", True),
        ("calibrated", "500", False),
    ],
)
def test_hours_since_care(
    run: Callable[[str, Dossier], list[tuple[str, str]]],
    stating: Callable[[Transfer], Dossier],
    transfer: Callable[..., Transfer],
    kind: CareKind,
    hours: str,
    *,
    is_long: bool,
) -> None:
    since = HoursSince(since=kind, on="2026-03-01", at_least_hours=Decimal(hours))
    dossier = stating(transfer(machines=(Machine(id="left", hours_since=(since,)),)))
    place = "data/audio/reel.json#/transfer/machines/0/hours_since/0"
    assert run("hours of contact", dossier) == ([("care-long-ago", place)] if is_long else [])


def test_long_hours_weigh_nothing_afterwards() -> None:
    assert CARE_LONG_AGO.verdict is Verdict.PASS


# What the recipient asks


@pytest.fixture
def cared(
    stating: Callable[[Transfer], Dossier], transfer: Callable[..., Transfer]
) -> Callable[..., Dossier]:
    """Make a machine that was cared for so, with what its recipient asks."""

    def make(
        *care: CareEvent,
        asked: CareIntervals | None = None,
        sessions: tuple[Session, ...] = (),
        **machine: Any,
    ) -> Dossier:
        return stating(
            transfer(
                machines=(Machine(id="left", care=care, **machine),),
                recipient=Recipient(id="archive", care_intervals=asked),
                sessions=sessions,
            )
        )

    return make


@pytest.mark.parametrize(
    ("kind", "hours", "codes"),
    [
        ("cleaned", "4.1", ["care-interval-passed"]),
        ("cleaned", "4.0", []),
        ("demagnetised", "8.1", ["care-interval-passed"]),
        ("calibrated", "30.1", ["care-interval-passed"]),
        # Of what they do not ask for, what is usual holds.
        ("repaired", "500", []),
    ],
)
def test_hours_that_a_recipient_asks_for(
    run: Run, cared: Callable[..., Dossier], kind: CareKind, hours: str, codes: list[str]
) -> None:
    asked = CareIntervals(
        clean_hours=Decimal(4), demagnetise_hours=Decimal(8), check_hours=Decimal(30)
    )
    since = HoursSince(since=kind, on="2026-03-01", at_least_hours=Decimal(hours))
    found = run("hours of contact", cared(asked=asked, hours_since=(since,)))
    assert [code for code, _ in found] == codes


@pytest.mark.parametrize(
    ("kind", "own", "hours", "text"),
    [
        ("cleaned", CareIntervals(clean_hours=Decimal(4)), "4.1", "4.1 hours or more"),
        ("calibrated", CareIntervals(check_hours=Decimal(50)), "51", "its form says 50."),
        ("cleaned", CareIntervals(clean_hours=Decimal(15)), "12", ""),
        ("cleaned", CareIntervals(demagnetise_hours=Decimal(15)), "12", "12 hours or more"),
    ],
)
def test_the_machines_own_interval_is_a_note_where_the_recipient_asks_nothing(
    cared: Callable[..., Dossier], kind: CareKind, own: CareIntervals, hours: str, text: str
) -> None:
    since = HoursSince(since=kind, on="2026-03-01", at_least_hours=Decimal(hours))
    found = judge(cared(hours_since=(since,), care_intervals=own)).findings
    told = [one.text for one in found if one.code == CARE_LONG_AGO.code]
    assert len(told) == bool(text)
    assert all(text in one for one in told)


@pytest.mark.parametrize(
    ("asked", "own", "end"),
    [
        (None, None, "since it was cleaned."),
        (None, Decimal(6), "; its form says 6."),
        (Decimal(4), None, "; 4 are asked for."),
        (Decimal(4), Decimal(6), "; 4 are asked for."),
    ],
)
def test_whose_hours_were_passed_is_told(
    cared: Callable[..., Dossier], asked: Decimal | None, own: Decimal | None, end: str
) -> None:
    since = HoursSince(since="cleaned", on="2026-03-01", at_least_hours=Decimal(12))
    dossier = cared(
        asked=CareIntervals(clean_hours=asked),
        care_intervals=CareIntervals(clean_hours=own),
        hours_since=(since,),
    )
    told = [one.text for one in judge(dossier).findings if one.code.startswith("care-")]
    assert [text.endswith(end) for text in told] == [True]


def test_a_recipient_who_allows_more_is_given_no_note(
    run: Run, cared: Callable[..., Dossier]
) -> None:
    since = HoursSince(since="cleaned", on="2026-03-01", at_least_hours=Decimal(12))
    asked = CareIntervals(clean_hours=Decimal(15))
    assert run("hours of contact", cared(asked=asked, hours_since=(since,))) == []


# The first pass of the transfer is of 14 March 2026.
@pytest.mark.parametrize(
    ("on", "months", "asked"),
    [
        ("2025-09-13", 6, True),
        ("2025-09-14", 6, False),
        ("2025-12-13", 3, True),
        ("2025-12-14", 3, False),
        ("2026-03-14", 6, False),
        ("2025-09", 6, False),
        ("2020-01-01", None, False),
        # Of what came later nothing follows.
        ("2026-03-20", 6, False),
        (None, 6, False),
    ],
)
def test_months_since_a_full_check(
    *,
    run: Run,
    cared: Callable[..., Dossier],
    on: str | None,
    months: int | None,
    asked: bool,
) -> None:
    check = CareEvent(kind="calibrated", on=on)
    dossier = cared(check, asked=CareIntervals(full_check_months=months))
    place = "data/audio/reel.json#/transfer/machines/0/care"
    assert run("hours of contact", dossier) == [("care-interval-passed", place)] * asked


# How it was cleaned: what nobody wrote down is not a finding


@pytest.mark.parametrize(
    ("care", "heads", "codes"),
    [
        ({"swab": "cotton"}, ("rotary",), ["cotton-on-rotary-heads"]),
        ({"swab": "cotton"}, ("fixed",), []),
        ({"swab": "cotton"}, (None,), []),
        ({"swab": "cotton"}, (), []),
        ({"swab": "chamois"}, ("rotary",), []),
        ({"swab": None}, ("rotary",), []),
        ({"dry_before_threading": False}, (), ["path-not-dry"]),
        ({"dry_before_threading": True}, (), []),
        ({"dry_before_threading": None}, (), []),
    ],
)
def test_swab_path_and_rotary_heads(
    run: Run,
    cared: Callable[..., Dossier],
    care: dict[str, Any],
    heads: tuple[Any, ...],
    codes: list[str],
) -> None:
    dossier = cared(
        CareEvent(kind="cleaned", **care), heads=tuple(Head(kind=kind) for kind in heads)
    )
    assert [code for code, _ in run("how the machine was cleaned", dossier)] == codes


# Repairs


@pytest.mark.parametrize(
    ("care", "session", "asked"),
    [
        ((("repaired", "2026-03-01"),), None, True),
        ((("calibrated", "2026-02-01"), ("repaired", "2026-03-01")), None, True),
        ((("repaired", "2026-03-01"), ("calibrated", "2026-03-02")), None, False),
        ((("repaired", "2026-03-01"), ("calibrated", "2026-03-01")), None, False),
        ((("repaired", "2026-03-01"),), "2026-03-14", False),
        # After the reel was played, or nobody knows when.
        ((("repaired", "2026-03-20"),), None, False),
        ((("repaired", None),), None, False),
        ((), None, False),
    ],
)
def test_a_repair_is_followed_by_a_check(
    *,
    run: Run,
    cared: Callable[..., Dossier],
    care: tuple[tuple[CareKind, str | None], ...],
    session: str | None,
    asked: bool,
) -> None:
    spell = Session(id="s", on=session, machine="left", settings=(CalibrationSetting(id="7-nab"),))
    dossier = cared(
        *(CareEvent(kind=kind, on=on) for kind, on in care), sessions=(spell,) if session else ()
    )
    found = run("repairs and calibration", dossier)
    assert [code for code, _ in found] == ["repaired-and-not-checked"] * asked


def test_a_machine_that_did_not_play_the_reel_is_not_asked_about(
    run: Run, cared: Callable[..., Dossier]
) -> None:
    care = (
        CareEvent(kind="calibrated", on="2020-01-01"),
        CareEvent(kind="repaired", on="2026-03-01"),
    )
    dossier = cared(*care, asked=CareIntervals(full_check_months=6))
    assert dossier.transfer is not None
    [left] = dossier.transfer.machines
    others = replace(dossier.transfer, machines=(Machine(id="left"), replace(left, id="right")))
    for rule in ("hours of contact", "repairs and calibration"):
        assert len(run(rule, dossier)) == 1
        assert run(rule, replace(dossier, transfer=others)) == []


def test_a_pass_that_names_no_machine_ran_on_the_only_one(
    run: Run, cared: Callable[..., Dossier]
) -> None:
    dossier = cared(CareEvent(kind="repaired", on="2026-03-01"))
    assert dossier.transfer is not None
    unsaid = tuple(replace(one, machine=None) for one in dossier.transfer.passes)
    one = replace(dossier.transfer, passes=unsaid)
    assert len(run("repairs and calibration", replace(dossier, transfer=one))) == 1
    two = replace(one, machines=(*one.machines, Machine(id="right")))
    assert run("repairs and calibration", replace(dossier, transfer=two)) == []
