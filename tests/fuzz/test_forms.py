"""A share of the campaign on forms in every run of the tests, and that it can fail."""

import runpy
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from rounds import BrokenPromiseError

from tailsout.ground.findings import Judgement, Place
from tailsout.rules.structure import KIND_OF
from tailsout.work.check import Checked, check
from tailsout.work.close_out import Outcome, close

INPUTS = 4
LINK = KIND_OF["link"]


@pytest.fixture(scope="module")
def campaign() -> Any:
    """The script's names; a change to its globals is seen by its functions."""
    script = Path(__file__).with_name("forms.py")
    return runpy.run_path(str(script), run_name="campaign")


def test_a_share_of_the_campaign_breaks_no_promise(campaign: Any) -> None:
    report = campaign["run"](20_260_314, inputs=INPUTS, seconds=float("inf"))
    assert report.inputs == INPUTS
    assert set(report.met) >= {"faults told", "closed"}


def test_an_input_is_the_same_every_time(campaign: Any) -> None:
    inputs = [campaign["input_of"](1, number) for number in range(50)]
    assert inputs == [campaign["input_of"](1, number) for number in range(50)]
    assert inputs != [campaign["input_of"](2, number) for number in range(50)]


def judged(*findings: Any) -> Judgement:
    return Judgement(findings=findings, checks=())


def closing(lie: Callable[[Outcome, Path, Path], Any]) -> tuple[str, Any]:
    def lying(job: Path, parent: Path, *rest: Any, **more: Any) -> Outcome:
        outcome = close(job, parent, *rest, **more)
        return lie(outcome, job, parent) or outcome

    return "close", lying


def checking(package: Path, *rest: Any) -> Checked:
    checked = check(package, *rest)
    return replace(checked, judgement=judged(LINK.at(Place(file="x"), "It is.")))


# What a program that is broken in one way would do, and what is said of it.
LIES: list[tuple[tuple[str, Any], str]] = [
    (closing(lambda _outcome, _job, parent: parent.mkdir()), "a plan writes nothing"),
    (
        closing(lambda outcome, _job, _parent: replace(outcome, plan=None, judgement=judged())),
        "what stops it is told",
    ),
    (
        closing(lambda _o, job, _p: (job / "captures/skl8-side-a.wav").write_bytes(b"") and None),
        "a capture is as it was",
    ),
    (("check", checking), "what is closed passes"),
    (
        closing(
            lambda outcome, *_: replace(
                outcome, judgement=judged(LINK.at(Place(file="x"), "It is \x07."))
            )
        ),
        "can be printed",
    ),
    (
        closing(
            lambda outcome, *_: replace(outcome, judgement=judged(LINK.at(Place(file=""), "It.")))
        ),
        "what and where",
    ),
]


@pytest.mark.parametrize(("lie", "said"), LIES, ids=[said for _, said in LIES])
def test_a_program_that_breaks_a_promise_stops_it(
    campaign: Any, tmp_path: Path, lie: tuple[str, Any], said: str
) -> None:
    judging, seed = campaign["judge_forms"], campaign["seed_forms"]()
    with pytest.MonkeyPatch.context() as patch:
        patch.setitem(judging.__globals__, *lie)
        with pytest.raises(BrokenPromiseError, match=said):
            judging(seed, tmp_path)
