"""A share of the campaign on side-cars in every run of the tests, and that it can fail."""

import json
import runpy
from collections.abc import Sequence
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
from rounds import BrokenPromiseError

from tailsout.ground.findings import Judgement, Place
from tailsout.rules.structure import KIND_OF
from tailsout.work.exports import View

INPUTS = 2
LINK = KIND_OF["link"]


@pytest.fixture(scope="module")
def campaign() -> Any:
    """The script's names; a change to its globals is seen by its functions."""
    script = Path(__file__).with_name("sidecars.py")
    return runpy.run_path(str(script), run_name="campaign")


def test_a_share_of_the_campaign_breaks_no_promise(campaign: Any) -> None:
    report = campaign["run"](20_260_314, inputs=INPUTS, seconds=float("inf"))
    assert report.met["described"] == report.inputs == INPUTS


def test_an_input_is_the_same_every_time(campaign: Any) -> None:
    inputs = [campaign["input_of"](1, number) for number in range(3)]
    assert inputs == [campaign["input_of"](1, number) for number in range(3)]
    assert inputs != [campaign["input_of"](2, number) for number in range(3)]


@pytest.mark.parametrize(
    ("view", "content", "said"),
    [
        ("PREMIS", b"<a>", "PREMIS can be read"),
        ("PROV-JSON", b"{", "PROV-JSON can be read"),
        ("inventory", b"a,b\r\nc\r\n", "as long"),
        ("report", b"<!DOCTYPE html><html><title>a</title><script></script>", "runs nothing"),
        ("report", b"<!DOCTYPE html><html><title>a</title><p></div>", "report can be read"),
        ("label", b"<svg>" + b" " * 3_000_000 + b"</svg>", "label is bounded"),
    ],
)
def test_a_view_that_is_not_what_it_claims_to_be_stops_it(
    campaign: Any, view: str, content: bytes, said: str
) -> None:
    with pytest.raises(BrokenPromiseError, match=said):
        campaign["_is_sound"](view, content)


def told(*_: Any) -> Any:
    found = LINK.at(Place(file="x"), "It is \x07.")
    return SimpleNamespace(judgement=Judgement(findings=(found,), checks=()))


def made(views: Sequence[View], end: bytes = b"", lost: tuple[str, ...] = ()) -> tuple[Any, ...]:
    page = b"<!DOCTYPE html><html><title>a</title>"
    content = {"RO-Crate": b"{}", "PROV-JSON": b"{}", "inventory": b"a\r\n", "report": page}
    every = (content.get(one.name, b"<a/>") for one in views)
    return tuple(SimpleNamespace(content=one + end, lost=lost) for one in every)


# What a program that is broken in one way would do, and what is said of it.
LIES: list[tuple[str, Any, str]] = [
    ("check", told, "a finding can be printed"),
    ("export_in", lambda _, views, *_more: made(views, b" " * (len(views) < 2)), "same every time"),
    ("export_in", lambda _, views, *_more: made(views, lost=("\x07",)), "lost can be printed"),
]


@pytest.mark.parametrize(("name", "lie", "said"), LIES, ids=[said for *_, said in LIES])
def test_a_program_that_breaks_a_promise_stops_it(
    campaign: Any, tmp_path: Path, name: str, lie: Any, said: str
) -> None:
    judging = campaign["judge_cars"]
    cars = {path: json.loads(text) for path, text in campaign["seed_cars"]().items()}
    with pytest.MonkeyPatch.context() as patch:
        patch.setitem(judging.__globals__, name, lie)
        with pytest.raises(BrokenPromiseError, match=said):
            judging(cars, tmp_path)
