"""A share of the campaign on bags in every run of the tests, and that it can fail."""

import runpy
from collections import Counter
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from rounds import BrokenPromiseError

from tailsout.bag.facts import read_facts
from tailsout.records.bag_state import BagState
from tailsout.records.facts import InfoLine, ManifestLine, Observation, PackageFacts
from tailsout.records.observations import OBSERVATIONS

INPUTS = 400


@pytest.fixture(scope="module")
def campaign() -> Any:
    """The script's names; a change to its globals is seen by its functions."""
    script = Path(__file__).with_name("bags.py")
    return runpy.run_path(str(script), run_name="campaign")


def test_a_share_of_the_campaign_breaks_no_promise(campaign: Any) -> None:
    report = campaign["run"](20_260_314, inputs=INPUTS, seconds=float("inf"))

    assert report.inputs == INPUTS
    # It wanders: the greater part of all that can be observed is met, and every state.
    assert len(set(OBSERVATIONS) & set(report.met)) > len(OBSERVATIONS) // 2
    assert {"valid", "malformed", "incomplete", "invalid", "not examined"} <= set(report.met)


def test_the_seeds_are_valid(campaign: Any) -> None:
    for seed in campaign["SEEDS"]:
        met = campaign["judge_bag"](seed, seed)
        assert met["valid"] == 1
        assert set(met) <= {"valid", "fetch-txt", "encoding-not-utf8"}


def test_an_input_is_the_same_every_time(campaign: Any) -> None:
    inputs = [campaign["input_of"](1, number) for number in range(50)]

    assert inputs == [campaign["input_of"](1, number) for number in range(50)]
    assert inputs != [campaign["input_of"](2, number) for number in range(50)]


def odd_line(path: str, number: int = 9) -> Callable[[PackageFacts], PackageFacts]:
    def lie(facts: PackageFacts) -> PackageFacts:
        first, *rest = facts.manifests
        line = ManifestLine(path=path, digest="0", line=number)
        return replace(facts, manifests=(replace(first, lines=(*first.lines, line)), *rest))

    return lie


def odd_note(kind: str = "bom", text: str = "It is.", line: int = 1, times: int = 1) -> Any:
    seen = Observation(kind=kind, file="bagit.txt", line=line, text=text)
    return lambda facts: replace(facts, observations=(seen,) * times)


# What a reader that is broken in one way would do, and what is said of it.
LIES: list[tuple[Callable[[PackageFacts], PackageFacts], str]] = [
    (odd_line("data/x", 99), "no more lines than line ends"),
    (odd_line("data/x", 1), "each once"),
    (odd_line("/etc/passwd", 4), "is safe"),
    (odd_line("data/../../x", 4), "is safe"),
    (odd_note(kind="no-such-word"), "is declared"),
    (odd_note(text="It is \x07."), "can be printed"),
    (odd_note(text="It is"), "in a sentence"),
    (odd_note(line=0), "has a line"),
    (odd_note(times=102), "few"),
    (lambda facts: replace(facts, holes=("data/c",)), "a hole is not a file"),
    (lambda facts: replace(facts, files=(replace(facts.files[0], path="y"),)), "made up"),
    (
        lambda facts: replace(facts, bag_info=(InfoLine(label="a ", value="b", line=1),)),
        "labels are clean",
    ),
]


@pytest.mark.parametrize(("lie", "said"), LIES, ids=lambda one: one if isinstance(one, str) else "")
def test_a_reader_that_breaks_a_promise_stops_it(
    campaign: Any, lie: Callable[[PackageFacts], PackageFacts], said: str
) -> None:
    judging, seed = campaign["judge_bag"], campaign["SEEDS"][0]
    with pytest.MonkeyPatch.context() as patch:
        patch.setitem(judging.__globals__, "read_facts", lambda *a: lie(read_facts(*a)))
        with pytest.raises(BrokenPromiseError, match=said):
            judging(seed, seed)


@pytest.mark.parametrize("path", ["bagit.txt", "data/c", "manifest-sha512.txt"])
def test_a_change_that_goes_unseen_stops_it(campaign: Any, path: str) -> None:
    judging, seed = campaign["judge_bag"], campaign["SEEDS"][0]
    with pytest.MonkeyPatch.context() as patch:
        patch.setitem(judging.__globals__, "bag_state", lambda *_: BagState(word="valid"))
        with pytest.raises(BrokenPromiseError, match="changed unseen"):
            judging({**seed, path: seed[path] + b"x\n"}, seed)


def test_a_reader_that_reaches_out_stops_it(campaign: Any) -> None:
    below = campaign["Below"](campaign["SEEDS"][0])
    for path in ("data/c", "../secret"):
        with pytest.raises(BrokenPromiseError):
            below.read(path, 99)


def test_a_campaign_names_the_input_that_broke_it(campaign: Any) -> None:
    def failing(bag: dict[str, bytes], origin: dict[str, bytes]) -> Counter[str]:
        raise ZeroDivisionError(len(bag), len(origin))

    with pytest.MonkeyPatch.context() as patch:
        patch.setitem(campaign["run"].__globals__, "judge_bag", failing)
        with pytest.raises(RuntimeError, match="input 0 of seed 7: ZeroDivisionError"):
            campaign["run"](7, inputs=3, seconds=float("inf"))
