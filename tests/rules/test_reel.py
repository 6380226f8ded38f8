"""Which end is out, against how the tape last ran."""

from collections.abc import Callable
from dataclasses import replace

import pytest

from tailsout.ground.findings import Severity
from tailsout.records.dossier import Dossier
from tailsout.records.playing import Pass
from tailsout.records.reel import Event, Reel
from tailsout.records.transfer import Transfer
from tailsout.records.vocab import End, Run
from tailsout.rules import judge
from tailsout.rules.reel import last_recorded_run

RunRule = Callable[[str, Dossier], list[tuple[str, str]]]
RULE = "end out against last motion"
TRANSFER = "data/audio/reel.json#/transfer"
TO_TAIL: Run = "head to tail"
TO_HEAD: Run = "tail to head"


@pytest.fixture
def leaving(
    transfer: Callable[..., Transfer], stating: Callable[[Transfer], Dossier]
) -> Callable[..., Dossier]:
    """Make a package whose one pass ran as given."""

    def make(
        *, recorded: Run | None = None, stated: Run | None = None, end: End | None = None
    ) -> Dossier:
        [one] = transfer().passes
        reel = Reel(last_motion=stated, end_out_on_leaving=end)
        return stating(transfer(reel=reel, passes=(replace(one, tape_ran=recorded),)))

    return make


# end-out-contradicts


@pytest.mark.parametrize(
    ("recorded", "stated", "end"),
    [
        (TO_TAIL, None, "heads"),
        (TO_HEAD, None, "tails"),
        (None, TO_TAIL, "heads"),
        (None, TO_HEAD, "tails"),
        (TO_TAIL, TO_TAIL, "heads"),
    ],
)
def test_an_end_that_the_last_run_does_not_leave_out(
    run: RunRule, leaving: Callable[..., Dossier], recorded: Run, stated: Run, end: End
) -> None:
    dossier = leaving(recorded=recorded, stated=stated, end=end)
    assert run(RULE, dossier) == [("end-out-contradicts", f"{TRANSFER}/reel/end_out_on_leaving")]


@pytest.mark.parametrize(
    ("recorded", "stated", "end"),
    [
        (TO_TAIL, None, "tails"),
        (TO_HEAD, None, "heads"),
        (None, TO_TAIL, "tails"),
        (None, None, "heads"),
        (TO_TAIL, TO_TAIL, None),
        (None, None, None),
    ],
)
def test_an_end_that_agrees_or_cannot_be_told(
    run: RunRule, leaving: Callable[..., Dossier], recorded: Run, stated: Run, end: End
) -> None:
    assert run(RULE, leaving(recorded=recorded, stated=stated, end=end)) == []


def test_the_reel_is_needed_to_settle_it_so_it_comes_first(
    leaving: Callable[..., Dossier],
) -> None:
    dossier = leaving(recorded=TO_HEAD, stated=TO_TAIL, end="heads")
    first, second = judge(dossier).findings
    assert (first.code, first.kind.needs_reel) == ("end-out-contradicts", True)
    assert (second.code, second.kind.needs_reel) == ("last-motion-contradicts", False)
    # What was done in the past is a question for ever, never a fault.
    assert first.kind.severity is second.kind.severity is Severity.QUERY


# last-motion-contradicts


def test_a_stated_motion_that_is_not_the_last_one_recorded(
    run: RunRule, leaving: Callable[..., Dossier]
) -> None:
    expected = [("last-motion-contradicts", f"{TRANSFER}/reel/last_motion")]
    assert run(RULE, leaving(recorded=TO_HEAD, stated=TO_TAIL)) == expected
    assert run(RULE, leaving(recorded=TO_TAIL, stated=TO_TAIL)) == []
    assert run(RULE, leaving(stated=TO_TAIL)) == []


# The last run that is recorded


@pytest.mark.parametrize(
    ("passes", "events", "last"),
    [
        ([], [], None),
        ([("2026-03-14", None)], [], None),
        ([("2026-03-14", TO_TAIL)], [], TO_TAIL),
        ([(None, TO_TAIL)], [], None),
        # a later winding goes before an earlier pass, and the other way about
        ([("2026-03-14", TO_TAIL)], [("2026-03-15", TO_HEAD)], TO_HEAD),
        ([("2026-03-14", TO_TAIL)], [("2026-03-13", TO_HEAD)], TO_TAIL),
        # on one day without times nobody can tell, unless both ran one way
        ([("2026-03-14", TO_TAIL)], [("2026-03-14", TO_HEAD)], None),
        ([("2026-03-14", TO_TAIL)], [("2026-03-14", TO_TAIL)], TO_TAIL),
        ([("2026-03-14T10:20", TO_TAIL)], [("2026-03-14T11:20", TO_HEAD)], TO_HEAD),
        # a run without a day may have been the last
        ([("2026-03-14", TO_TAIL)], [(None, TO_HEAD)], None),
        # an event that moved nothing does not count
        ([("2026-03-14", TO_TAIL)], [("2026-03-15", None)], TO_TAIL),
        ([("2026-03-14", TO_TAIL)], [(None, None)], TO_TAIL),
    ],
)
def test_how_the_tape_last_ran(
    transfer: Callable[..., Transfer],
    passes: list[tuple[str | None, Run | None]],
    events: list[tuple[str | None, Run | None]],
    last: Run | None,
) -> None:
    stated = transfer(
        passes=tuple(Pass(id=f"p{n}", on=on, tape_ran=ran) for n, (on, ran) in enumerate(passes)),
        reel=Reel(events=tuple(Event(kind="winding", on=on, tape_ran=ran) for on, ran in events)),
    )
    assert last_recorded_run(stated) == last
