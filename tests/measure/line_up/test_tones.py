"""Tones are found where they are, and nothing else is taken for one."""

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from tailsout.measure.tones import MOST_TONES, Steady, steady_tones

RATE = 48_000
SERIES = (
    *(1000, 10_000, 40, 63, 125, 250, 500, 1000, 2000, 4000),
    *(6300, 8000, 10_000, 12_500, 14_000, 16_000, 18_000, 3150),
)
TUNED, UNSEEN = (1, 2), (11, 12, 13)

Make = Callable[..., Any]


@pytest.fixture
def find(samples_of: Make) -> Callable[..., tuple[Steady, ...]]:
    return lambda sound, rate=RATE: steady_tones(samples_of(sound, rate))


@pytest.fixture
def pass_by(play: Make, machine: Make) -> Make:
    return lambda items, rate=RATE, **how: play(items, machine(**how), rate)


@pytest.mark.parametrize("seed", [*TUNED, *UNSEEN])
def test_eighteen_tones_between_announcements(
    announced: Make, edges: Make, pass_by: Make, find: Make, seed: int
) -> None:
    chance = np.random.default_rng(seed)
    gap = float(chance.uniform(0.45, 0.9))
    items = announced(SERIES, seconds=float(chance.uniform(1.15, 1.6)), gap=gap)
    speed, wow = float(chance.uniform(-0.02, 0.02)), float(chance.uniform(0.0, 0.002))
    found = find(pass_by(items, speed=speed, wow=wow, hiss_dbfs=-55.0, seed=seed))
    assert len(found) == len(SERIES)
    for one, hz, (start, end) in zip(found, SERIES, edges(items), strict=True):
        assert one.frequency_hz == pytest.approx(hz * (1 + speed), rel=0.02)
        assert one.start / RATE == pytest.approx(start, abs=0.06)
        assert one.end / RATE == pytest.approx(end, abs=0.06)
        assert one.level_db == pytest.approx(-18.0 + 3.01, abs=0.4)


@pytest.mark.parametrize("name", ["silence", "noise", "direct current", "voice", "glide", "click"])
def test_what_is_no_tone(pass_by: Make, played: Make, find: Make, name: str) -> None:
    chance = np.random.default_rng(4)
    time = np.arange(6 * RATE) / RATE
    sound = {
        "silence": np.zeros((time.size, 2)),
        "noise": chance.uniform(-1, 1, (time.size, 2)),
        "direct current": np.full((time.size, 2), 0.5),
        "voice": pass_by([played(seconds=6.0)]),
        "glide": 0.3 * np.sin(2 * np.pi * 40 * 2**time / np.log(2))[:, np.newaxis],
        "click": np.where(time == 3.0, 1.0, 0.0)[:, np.newaxis],
    }[name]
    assert find(sound) == ()


@pytest.mark.parametrize("frames", [0, 1, 2399, 4799, 4800, 7201])
def test_a_file_shorter_than_a_few_frames_holds_no_tone(find: Make, frames: int) -> None:
    assert find(0.3 * np.sin(np.arange(frames) / 7.6)[:, np.newaxis]) == ()


def test_a_dropout_does_not_part_a_tone_and_a_step_does(
    pass_by: Make, played: Make, find: Make
) -> None:
    whole = [played(seconds=2.5, hz=1000)]
    holes = ((1.0, 0.03, -30.0), (1.6, 0.25, -60.0))
    (one,) = find(pass_by(whole, dropouts=holes, hiss_dbfs=-70.0))
    assert one.end - one.start == 2.5 * RATE
    # Two levels of one frequency without a gap, as some tapes of low speeds have them.
    steps = [played(seconds=1.3, hz=1000), played(seconds=1.3, hz=1000, db=-10)]
    first, second = find(pass_by(steps))
    assert first.level_db - second.level_db == pytest.approx(10.0, abs=0.1)
    gap = [*whole, played(seconds=0.6, hz=9.0, db=-200), *whole]
    assert len(find(pass_by(gap))) == 2


def test_a_tone_whose_level_sways_is_one(samples_of: Make) -> None:
    time = np.arange(3 * RATE) / RATE
    sway = 10 ** (1.5 * np.sin(2 * np.pi * 4.3 * time) / 20)
    sound = (0.1 * sway * np.sin(2 * np.pi * 12_500 * time))[:, np.newaxis]
    (one,) = steady_tones(samples_of(sound, RATE))
    assert one.end - one.start == 3 * RATE


def test_a_tone_of_less_than_a_second_is_none(pass_by: Make, played: Make, find: Make) -> None:
    assert find(pass_by([played(seconds=0.85, hz=1000)])) == ()
    assert len(find(pass_by([played(seconds=1.05, hz=1000)]))) == 1


@pytest.mark.parametrize(("rate", "hz"), [(8_000, 3150), (44_100, 18_000), (192_000, 40)])
def test_other_sample_rates(pass_by: Make, played: Make, find: Make, rate: int, hz: int) -> None:
    (one,) = find(pass_by([played(seconds=1.5, hz=hz)], rate), rate)
    assert one.frequency_hz == pytest.approx(hz, rel=0.01)


def test_what_lies_far_below_the_tones_is_not_kept(pass_by: Make, played: Make, find: Make) -> None:
    items = [played(seconds=1.5, hz=1000), played(seconds=1.5, hz=50, db=-45)]
    assert [round(one.frequency_hz) for one in find(pass_by(items))] == [1000]
    # By itself it is all there is, unless it is next to nothing.
    assert len(find(pass_by(items[1:]))) == 1
    assert find(pass_by([played(seconds=1.5, hz=50, db=-60)])) == ()


def test_a_flood_of_tones_is_cut(samples_of: Make, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("tailsout.measure.tones.MOST_TONES", 3)
    assert MOST_TONES == 500
    time = np.arange(RATE) / RATE
    sound = np.concatenate([0.3 * np.sin(2 * np.pi * hz * time) for hz in (500, 700, 900, 1200)])
    found = steady_tones(samples_of(sound[:, np.newaxis].repeat(2, axis=1), RATE))
    assert [round(one.frequency_hz) for one in found] == [500, 700, 900]
