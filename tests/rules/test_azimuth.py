"""Azimuth from pass to pass: asked only where a later pass began without a setting of its own."""

from collections.abc import Callable
from typing import Any

import pytest

from tailsout.records.dossier import Dossier
from tailsout.records.playing import Azimuth, Pass
from tailsout.records.session import Session
from tailsout.records.transfer import Transfer

RULE = "azimuth from pass to pass"
MOVED = Azimuth(set_to="programme", put_back=False)


@pytest.fixture
def found(
    run: Callable[[str, Dossier], list[tuple[str, str]]],
    stating: Callable[[Transfer], Dossier],
    transfer: Callable[..., Transfer],
) -> Callable[..., list[tuple[str, str]]]:
    """Run the rule on passes of the machine on the left, or as they say."""

    def make(*passes: dict[str, Any], sessions: tuple[Session, ...] = ()) -> list[tuple[str, str]]:
        runs = [Pass(id=f"p{n}", **{"machine": "left", **one}) for n, one in enumerate(passes)]
        return run(RULE, stating(transfer(passes=tuple(runs), captures=(), sessions=sessions)))

    return make


def test_a_later_pass_that_says_nothing(found: Callable[..., list[tuple[str, str]]]) -> None:
    asked = ("azimuth-not-put-back", "data/audio/reel.json#/transfer/passes/1")
    assert found({"azimuth": MOVED}, {}) == [asked]
    assert found({"azimuth": MOVED}, {"azimuth": Azimuth(how="as it was")}) == [asked]


@pytest.mark.parametrize(
    "later",
    [
        {"azimuth": Azimuth(set_to="programme")},
        {"azimuth": Azimuth(set_to="calibration tape")},
        {"azimuth": Azimuth(verified=True)},
        {"absent": {"azimuth": "unknown"}},
        {"machine": "right"},
    ],
)
def test_a_later_pass_that_says_what_it_rests_on(
    found: Callable[..., list[tuple[str, str]]], later: dict[str, Any]
) -> None:
    assert found({"azimuth": MOVED}, later) == []


def test_the_last_pass_leaves_nothing_open(found: Callable[..., list[tuple[str, str]]]) -> None:
    assert found({}, {"azimuth": MOVED}) == []


@pytest.mark.parametrize(
    "azimuth",
    [
        None,
        Azimuth(set_to="programme"),
        Azimuth(set_to="programme", put_back=True),
        Azimuth(set_to="programme", absent={"put_back": "unknown"}),
    ],
)
def test_what_was_put_back_or_is_not_known(
    found: Callable[..., list[tuple[str, str]]], azimuth: Azimuth | None
) -> None:
    assert found({"azimuth": azimuth}, {}) == []


def test_it_stays_open_until_a_pass_sets_it(found: Callable[..., list[tuple[str, str]]]) -> None:
    verified = {"azimuth": Azimuth(verified=True)}
    assert len(found({"azimuth": MOVED}, {}, {})) == 2
    assert len(found({"azimuth": MOVED}, {}, verified, {})) == 1


def test_the_machine_may_be_that_of_the_session(
    found: Callable[..., list[tuple[str, str]]],
) -> None:
    spell = Session(id="s", machine="left")
    passes = ({"azimuth": MOVED}, {"machine": None, "session": "s"})
    assert len(found(*passes, sessions=(spell,))) == 1
