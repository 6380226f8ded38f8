"""A share of the campaign on wave files in every run of the tests, and that it can fail."""

import io
import runpy
from collections import Counter
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from rounds import BrokenPromiseError

from tailsout.ground.damage import Damage
from tailsout.rules.damage import KIND_OF
from tailsout.wave.riff import Layout, read_layout

INPUTS = 1500


@pytest.fixture(scope="module")
def campaign() -> Any:
    """The script's names; a change to its globals is seen by its functions."""
    script = Path(__file__).with_name("campaign.py")
    return runpy.run_path(str(script), run_name="campaign")


@pytest.fixture
def judging(campaign: Any) -> Callable[[bytes], Counter[str]]:
    found: Callable[[bytes], Counter[str]] = campaign["judge_octets"]
    return found


def good(campaign: Any) -> bytes:
    octets: bytes = campaign["SEEDS"][0].octets()
    return octets


def test_a_share_of_the_campaign_breaks_no_promise(campaign: Any) -> None:
    report = campaign["run"](20_260_314, inputs=INPUTS, seconds=float("inf"))

    assert report.inputs == INPUTS
    # It wanders: the greater part of all that can be told of a file is met.
    assert len(report.met) > len(KIND_OF) // 2


def test_the_seeds_are_sound(campaign: Any, judging: Callable[[bytes], Counter[str]]) -> None:
    for seed in campaign["SEEDS"]:
        assert not read_layout(io.BytesIO(seed.octets())).damage or b"iXML" in seed.octets()
        judging(seed.octets())


def test_an_input_is_the_same_every_time(campaign: Any) -> None:
    inputs = [campaign["input_of"](1, number) for number in range(50)]

    assert inputs == [campaign["input_of"](1, number) for number in range(50)]
    assert len(set(inputs)) > 40
    assert inputs != [campaign["input_of"](2, number) for number in range(50)]


# What a reader that is broken in one way would do, and what is said of it.
LIES: list[tuple[Callable[[Layout], Layout], str]] = [
    (lambda layout: replace(layout, file_octets=1), "as long as it is"),
    (lambda layout: replace(layout, chunks=layout.chunks[::-1]), "follows the other"),
    (
        lambda layout: replace(layout, chunks=(replace(layout.chunks[0], octets=10**6),)),
        "a cut chunk is told",
    ),
    (
        lambda layout: replace(layout, chunks=(replace(layout.chunks[0], header_offset=13),)),
        "chunks lie inside",
    ),
]


@pytest.mark.parametrize(("lie", "said"), LIES)
def test_a_reader_that_breaks_a_promise_stops_it(
    campaign: Any, lie: Callable[[Layout], Layout], said: str
) -> None:
    judging = campaign["judge_octets"]
    with pytest.MonkeyPatch.context() as patch:
        patch.setitem(judging.__globals__, "read_layout", lambda stream: lie(read_layout(stream)))
        with pytest.raises(BrokenPromiseError, match=said):
            judging(good(campaign))


@pytest.mark.parametrize(
    "damage",
    [
        Damage(kind="truncated", offset=10**6, text="It is cut."),
        Damage(kind="truncated", offset=0, text="It is cut"),
        Damage(kind="truncated", offset=0, text="It is \x07 cut."),
        Damage(kind="no-such-word", offset=0, text="It is cut."),
    ],
)
def test_damage_that_cannot_be_shown_stops_it(campaign: Any, damage: Damage) -> None:
    with pytest.raises(BrokenPromiseError):
        campaign["_damage_is_sound"]([damage], len(good(campaign)))


def test_a_campaign_names_the_input_that_broke_it(campaign: Any) -> None:
    def failing(data: bytes) -> Counter[str]:
        raise ZeroDivisionError(len(data))

    with pytest.MonkeyPatch.context() as patch:
        patch.setitem(campaign["run"].__globals__, "judge_octets", failing)
        with pytest.raises(RuntimeError, match="input 0 of seed 7: ZeroDivisionError"):
            campaign["run"](7, inputs=3, seconds=float("inf"))
