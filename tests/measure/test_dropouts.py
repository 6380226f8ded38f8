from collections.abc import Callable
from decimal import Decimal

import numpy as np
import pytest

from tailsout.ground.pcm import Pcm
from tailsout.measure.onepass import Measured
from tailsout.records.sound import AudioFacts

PcmOf = Callable[..., Pcm]
OctetsOf = Callable[..., bytes]
Measure = Callable[..., Measured]
Facts = Callable[..., AudioFacts]
RATE = 48_000


def music(seconds: float, seed: int) -> np.ndarray:
    """A held chord with wow and tremor, over hiss."""
    random = np.random.default_rng(seed)
    time = np.arange(int(seconds * RATE)) / RATE
    wow = 0.0008 * np.sin(2 * np.pi * 0.9 * time) / (2 * np.pi * 0.9)
    chord = np.zeros(time.size)
    for n, hz in enumerate(random.uniform(200, 3000, 6)):
        chord += np.sin(2 * np.pi * hz * (time + wow) + random.uniform(0, 6)) / (1 + n)
    tremor = 1 + 0.2 * np.sin(2 * np.pi * 5 * time)
    return 0.05 * tremor * chord + 0.002 * random.standard_normal(time.size)


def talk(seconds: float, seed: int, hiss_dbfs: float) -> np.ndarray:
    """Buzzing and hissing syllables that swell and break off, pauses of all lengths, over hiss."""
    random = np.random.default_rng(seed)
    sound = np.zeros(int(seconds * RATE))
    at = int(0.3 * RATE)
    while at < sound.size - RATE:
        length = int(random.uniform(0.06, 0.4) * RATE)
        time = np.arange(length) / RATE
        pitch = random.uniform(90, 250) * (1 + random.uniform(-0.2, 0.2) * time)
        turns = np.cumsum(pitch) / RATE
        buzz = sum(np.cos(2 * np.pi * k * turns) / k for k in range(1, 30))
        breath = random.standard_normal(length)
        share = random.choice([0.02, 0.1, 1.0])
        swell = np.sin(np.pi * np.linspace(0, 1, length)) ** random.uniform(0.3, 1.5)
        sound[at : at + length] = random.uniform(0.02, 0.1) * swell * (buzz + share * breath)
        at += length + int(random.choice([0.01, 0.03, 0.06, 0.15, 0.6]) * RATE)
    return sound + 10 ** (hiss_dbfs / 20) * random.standard_normal(sound.size)


def dipped(sound: np.ndarray, start: int, length: int, depth_db: float) -> None:
    edge = RATE // 1000
    shape = np.full(length, 10 ** (-depth_db / 20))
    rise = np.linspace(1, shape[0], edge)
    shape[:edge] = np.maximum(shape[:edge], rise)
    shape[-edge:] = np.maximum(shape[-edge:], rise[::-1])
    sound[start : start + length] *= shape


@pytest.fixture
def facts(pcm_of: PcmOf, octets_of: OctetsOf, measured: Measure) -> Facts:
    def measure_it(*channels: np.ndarray) -> AudioFacts:
        pcm = pcm_of(24, channels=len(channels))
        return measured(octets_of(np.stack(channels, axis=1), pcm), pcm).facts

    return measure_it


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_planted_dropouts_are_found_where_they_are(facts: Facts, seed: int) -> None:
    random = np.random.default_rng(seed)
    sound, other = music(10, seed), music(10, seed + 50)
    places = [int((n + random.uniform(0.3, 0.6)) * RATE) for n in range(9)]
    lengths = [int(random.uniform(0.012, 0.12) * RATE) for _ in places]
    depths = [random.uniform(12, 30) for _ in places]
    for place, length, depth in zip(places, lengths, depths, strict=True):
        dipped(sound, place, length, depth)
    found = facts(other, sound)
    assert [one.dropouts for one in found.channels] == [0, 9]
    assert found.dropouts_a_minute == 54
    for one, place, length, depth in zip(found.dropouts, places, lengths, depths, strict=True):
        assert one.channel == 2
        assert abs(one.start - place) <= 0.004 * RATE
        assert abs(one.length - length) <= 0.006 * RATE
        assert float(one.depth_db) == pytest.approx(depth, abs=5)


@pytest.mark.parametrize("seed", [41, 42])
@pytest.mark.parametrize("hiss_dbfs", [-80, -66, -50])
def test_pauses_of_speech_are_none(facts: Facts, hiss_dbfs: float, seed: int) -> None:
    assert facts(talk(15, seed, hiss_dbfs)).channels[0].dropouts == 0


@pytest.mark.parametrize(("length_ms", "depth_db"), [(6, 9), (10, 7), (30, 7), (100, 7), (6, 30)])
def test_short_and_shallow_ones_are_found_in_steady_sound(
    facts: Facts, length_ms: int, depth_db: float
) -> None:
    sound = 0.05 * np.random.default_rng(11).standard_normal(6 * RATE)
    for n in range(1, 6):
        dipped(sound, n * RATE, length_ms * RATE // 1000, depth_db)
    assert facts(sound).channels[0].dropouts == 5


def test_one_is_none_where_the_sound_before_or_after_is_not_steady(facts: Facts) -> None:
    random = np.random.default_rng(12)
    sound = 0.05 * random.standard_normal(4 * RATE)
    dipped(sound, RATE, RATE // 50, 20)
    dipped(sound, 3 * RATE, RATE // 50, 20)
    assert facts(sound).channels[0].dropouts == 2
    sound[RATE - RATE // 20 : RATE] *= 3
    sound[3 * RATE + RATE // 50 :] *= 2
    assert facts(sound).channels[0].dropouts == 0


@pytest.mark.parametrize(("length_ms", "depth_db"), [(3, 40), (40, 4), (400, 20)])
def test_what_is_short_shallow_or_long_is_none(
    facts: Facts, length_ms: int, depth_db: float
) -> None:
    sound = music(4, 9)
    for n in range(1, 4):
        dipped(sound, n * RATE, length_ms * RATE // 1000, depth_db)
    assert facts(sound).channels[0].dropouts == 0


def test_a_dropout_across_a_second_counts_once(facts: Facts) -> None:
    sound = music(4, 9)
    dipped(sound, 2 * RATE - 900, 1_800, 20)
    assert facts(sound).channels[0].dropouts == 1


@pytest.mark.parametrize("hz", [20, 50, 1_000])
def test_a_pure_tone_and_noise_have_none(facts: Facts, hz: float) -> None:
    random = np.random.default_rng(4)
    tone = 0.5 * np.sin(2 * np.pi * hz * np.arange(5 * RATE) / RATE)
    found = facts(tone, 0.1 * random.standard_normal(tone.size))
    assert [one.dropouts for one in found.channels] == [0, 0]
    assert found.dropouts == ()


def test_beginnings_and_ends_are_none(facts: Facts) -> None:
    sound = np.zeros(6 * RATE)
    sound[RATE : 2 * RATE] = music(1, 5)
    sound[4 * RATE : 5 * RATE] = music(1, 5)
    assert facts(sound).channels[0].dropouts == 0


def test_the_first_hundred_are_kept_and_all_are_counted(facts: Facts) -> None:
    sound = music(20, 6)
    for n in range(130):
        dipped(sound, 6_000 + n * 7_000, 1_200, 20)
    found = facts(sound, sound)
    assert [one.dropouts for one in found.channels] == [130, 130]
    assert len(found.dropouts) == 100
    starts = [(one.start, one.channel) for one in found.dropouts]
    assert starts == sorted(starts)
    assert starts[-1][0] < 6_000 + 51 * 7_000
    assert found.dropouts_a_minute == Decimal(130 * 3)


def test_a_file_shorter_than_a_second_has_no_rate(facts: Facts) -> None:
    assert facts(music(0.9, 2)).dropouts_a_minute is None
