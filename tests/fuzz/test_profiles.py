"""A share of the campaign on BagIt Profiles in every run of the tests, and that it can fail."""

import json
import runpy
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from rounds import BrokenPromiseError

from tailsout.ground.findings import Place
from tailsout.mapping.bagit_profile import DEPARTS, UNFIT, read
from tailsout.rules.structure import KIND_OF

INPUTS = 300
LINK = KIND_OF["link"]


@pytest.fixture(scope="module")
def campaign() -> Any:
    """The script's names; a change to its globals is seen by its functions."""
    script = Path(__file__).with_name("profiles.py")
    return runpy.run_path(str(script), run_name="campaign")


def test_a_share_of_the_campaign_breaks_no_promise(campaign: Any) -> None:
    report = campaign["run"](20_260_314, inputs=INPUTS, seconds=float("inf"))
    assert report.inputs == INPUTS
    # It wanders: most of what can be found in a profile or a bag is met.
    assert len(report.met) >= 16


def test_the_seed_is_sound_and_kept_by_one_bag(campaign: Any) -> None:
    content = json.dumps(campaign["SEED"]).encode()
    profile, findings = read(content, "reel.json")
    assert findings == ()
    assert list(campaign["_judged"](profile, campaign["KEEPING"])) == []
    assert len(campaign["judge_octets"](content)) > 5


def test_an_input_is_the_same_every_time(campaign: Any) -> None:
    inputs = [campaign["input_of"](1, number) for number in range(50)]
    assert inputs == [campaign["input_of"](1, number) for number in range(50)]
    assert inputs != [campaign["input_of"](2, number) for number in range(50)]


HERE = Place(file="reel.json")
LIES: list[tuple[Callable[[Any, Any], Any], str]] = [
    (lambda one, _: (one, (DEPARTS.at(HERE, "It is \x07."),)), "can be printed"),
    (lambda one, _: (one, (DEPARTS.at(HERE, "It is"),)), "a sentence"),
    (lambda one, _: (one, (LINK.at(HERE, "It is."),)), "finds what it declares"),
    (lambda one, _: (one, (UNFIT.at(HERE, "It is."),)), "is told"),
    (lambda _, found: (None, found), "is told"),
    (lambda one, _: (replace(one, reading=(DEPARTS.at(HERE, "It is."),)), ()), "in the record"),
]


@pytest.mark.parametrize(("lie", "said"), LIES, ids=lambda one: one if isinstance(one, str) else "")
def test_a_reader_that_breaks_a_promise_stops_it(
    campaign: Any, lie: Callable[[Any, Any], Any], said: str
) -> None:
    judging = campaign["judge_octets"]
    content = json.dumps(campaign["SEED"]).encode()
    with pytest.MonkeyPatch.context() as patch:
        patch.setitem(judging.__globals__, "read", lambda *a: lie(*read(*a)))
        with pytest.raises(BrokenPromiseError, match=said):
            judging(content)


@pytest.mark.parametrize(("kind", "said"), [(LINK, "rule finds"), (DEPARTS, "rule finds")])
def test_a_rule_that_breaks_a_promise_stops_it(campaign: Any, kind: Any, said: str) -> None:
    judging = campaign["judge_octets"]
    with pytest.MonkeyPatch.context() as patch:
        found = [kind.at(HERE, "It is.")]
        patch.setitem(judging.__globals__, "_judged", lambda *_: iter(found))
        with pytest.raises(BrokenPromiseError, match=said):
            judging(json.dumps(campaign["SEED"]).encode())


def test_a_campaign_names_the_input_that_broke_it(campaign: Any) -> None:
    def failing(content: bytes) -> None:
        raise ZeroDivisionError(len(content))

    with pytest.MonkeyPatch.context() as patch:
        patch.setitem(campaign["run"].__globals__, "judge_octets", failing)
        with pytest.raises(RuntimeError, match="input 0 of seed 7: ZeroDivisionError"):
            campaign["run"](7, inputs=3, seconds=float("inf"))
