"""A share of the campaign on archives in every run of the tests, and that it can fail."""

import runpy
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from rounds import BrokenPromiseError

from tailsout.bag.archive.open import ArchivedBag, open_archive
from tailsout.records.facts import FoundFile, PackageFacts

INPUTS = 120


@pytest.fixture(scope="module")
def campaign() -> Any:
    """The script's names; a change to its globals is seen by its functions."""
    script = Path(__file__).with_name("archives.py")
    return runpy.run_path(str(script), run_name="archives")


@pytest.fixture
def place(tmp_path: Path) -> Path:
    return tmp_path / "SKL-0007"


def test_a_share_of_the_campaign_breaks_no_promise(campaign: Any) -> None:
    report = campaign["run"](20_260_314, inputs=INPUTS, seconds=float("inf"))

    assert report.inputs == INPUTS
    # It wanders: some are let pass and held against other readers, most kinds of fault are met.
    assert report.met[campaign["AGREED"]] > INPUTS // 10
    assert report.met[campaign["REFUSED"]] == 0
    assert len(campaign["WORDS"] & set(report.met)) > len(campaign["WORDS"]) // 2


@pytest.mark.parametrize("form", ["tar", "tar.gz", "tar.xz", "stored", "deflated"])
def test_the_seeds_are_sound(campaign: Any, place: Path, form: str) -> None:
    met = campaign["judge_octets"](campaign["seeds"]()[form], place)
    assert met == {campaign["AGREED"]: 1}


def test_an_input_is_the_same_every_time(campaign: Any) -> None:
    inputs = [campaign["input_of"](1, number) for number in range(50)]

    assert inputs == [campaign["input_of"](1, number) for number in range(50)]
    assert inputs != [campaign["input_of"](2, number) for number in range(50)]


def added(path: str, octets: int = 1) -> Callable[[PackageFacts], PackageFacts]:
    file = FoundFile(path=path, octets=octets)
    return lambda facts: replace(facts, files=(*facts.files, file))


def archived(**said: Any) -> Callable[[PackageFacts], PackageFacts]:
    def lie(facts: PackageFacts) -> PackageFacts:
        return replace(facts, archive=replace(facts.archive, **said) if facts.archive else None)

    return lie


# What a reader that is broken in one way would do, and what is said of it.
LIES: list[tuple[Callable[[PackageFacts], PackageFacts], str]] = [
    (added("bagit.txt"), "comes twice"),
    (added("../x"), "leads out"),
    (added("bagit.txt/x"), "below a file"),
    (added("data/x", 10**9), "lie in the file"),
    (archived(whole=False), "why it is not whole"),
    (archived(octets=1), "as long as it is"),
]


@pytest.mark.parametrize(("lie", "said"), LIES, ids=lambda one: one if isinstance(one, str) else "")
def test_a_reader_that_breaks_a_promise_stops_it(
    campaign: Any, place: Path, lie: Callable[[PackageFacts], PackageFacts], said: str
) -> None:
    def lying(*arguments: Any, **named: Any) -> ArchivedBag:
        bag = open_archive(*arguments, **named)
        bag.facts = lie(bag.facts)
        return bag

    judging = campaign["judge_octets"]
    with pytest.MonkeyPatch.context() as patch:
        patch.setitem(judging.__globals__, "open_archive", lying)
        with pytest.raises(BrokenPromiseError, match=said):
            judging(campaign["seeds"]()["tar"], place)


@pytest.mark.parametrize(("form", "other"), [("tar", "_by_tarfile"), ("stored", "_by_zipfile")])
def test_another_reader_that_finds_something_else_stops_it(
    campaign: Any, place: Path, form: str, other: str
) -> None:
    judging = campaign["judge_octets"]
    with pytest.MonkeyPatch.context() as patch:
        patch.setitem(judging.__globals__, other, lambda _data: iter([("bagit.txt", b"x")]))
        with pytest.raises(BrokenPromiseError, match="finds the same"):
            judging(campaign["seeds"]()[form], place)
