from collections.abc import Callable, Mapping
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
RATE = 16_000
Lines = Mapping[int, float]
"""Level of each harmonic in dBFS."""
CHAIN: Lines = {1: -78.0, 2: -84.0, 3: -80.0, 5: -86.0}
TAPE: Lines = {1: -66.0, 2: -70.0, 3: -72.0, 4: -78.0, 6: -80.0}


def hum(base_hz: float, lines: Lines, seconds: float, rate: int = RATE) -> np.ndarray:
    time = np.arange(int(seconds * rate)) / rate
    sound = np.zeros(time.size)
    for n, level in lines.items():
        sound += 10 ** (level / 20) * np.sin(2 * np.pi * n * base_hz * time + n)
    return sound


def hiss(dbfs: float, seconds: float, seed: int, rate: int = RATE) -> np.ndarray:
    noise = np.random.default_rng(seed).standard_normal(int(seconds * rate))
    wanted: np.ndarray = 10 ** (dbfs / 20) * np.sqrt(0.5) * noise
    return wanted


def speech(seconds: float, seed: int, rate: int = RATE) -> np.ndarray:
    random = np.random.default_rng(seed)
    time = np.arange(int(seconds * rate)) / rate
    sound = np.zeros(time.size)
    for n in range(1, 20):
        sound += np.sin(2 * np.pi * n * (110 + 12 * np.sin(2 * np.pi * 0.7 * time)) * time) / n
    return 0.1 * np.abs(np.sin(2 * np.pi * 2 * time + random.uniform(0, 3))) * sound


def real(value: Decimal | None) -> float:
    assert value is not None
    return float(value)


@pytest.fixture
def facts(pcm_of: PcmOf, octets_of: OctetsOf, measured: Measure) -> Facts:
    def measure_it(*channels: np.ndarray, rate: int = RATE) -> AudioFacts:
        pcm = pcm_of(24, channels=len(channels), sample_rate_hz=rate)
        return measured(octets_of(np.stack(channels, axis=1), pcm), pcm).facts

    return measure_it


@pytest.mark.parametrize("base_hz", [50.0, 49.2, 50.4, 60.0, 58.9, 60.6])
def test_one_family_under_programme(facts: Facts, base_hz: float) -> None:
    # The whole file holds far more at these frequencies; only its quiet stretch shows them.
    sound = np.concatenate([speech(8, 1), np.zeros(7 * RATE)]) + hum(base_hz, CHAIN, 15)
    found = facts(sound + hiss(-75, 15, 2))
    (one,) = found.hum
    assert float(one.frequency_hz) == pytest.approx(base_hz, abs=0.02)
    assert one.mains_hz == (50 if base_hz < 55 else 60)
    assert one.harmonics == 4
    planted = 10 * np.log10(sum(10 ** (level / 10) for level in CHAIN.values()))
    assert float(one.levels[0].level_dbfs) == pytest.approx(planted, abs=0.6)
    assert one.start >= 8 * RATE
    assert found.hum_ratio is None


@pytest.mark.parametrize(("base_hz", "mains_hz"), [(49.2, 50.0), (50.5, 50.0), (58.9, 60.0)])
@pytest.mark.parametrize("seed", [1, 2])
def test_hum_of_the_tape_beside_hum_of_the_chain(
    facts: Facts, base_hz: float, mains_hz: float, seed: int
) -> None:
    # Leader first: there the tape's own is missing.
    tape = hum(base_hz, TAPE, 20) + hiss(-68, 20, seed)
    tape[: 6 * RATE] = 0.0
    tape[12 * RATE :] += speech(8, seed)
    found = facts(tape + hum(mains_hz, CHAIN, 20) + hiss(-92, 20, seed + 9))
    chain, recorded = found.hum
    assert float(chain.frequency_hz) == pytest.approx(mains_hz, abs=0.02)
    assert float(recorded.frequency_hz) == pytest.approx(base_hz, abs=0.02)
    assert real(found.hum_ratio) == pytest.approx(base_hz / mains_hz, abs=0.0005)


def test_levels_of_each_channel(facts: Facts) -> None:
    base = hum(50, CHAIN, 8)
    found = facts(base + hiss(-85, 8, 1), 0.1 * base + hiss(-95, 8, 2), hiss(-85, 8, 3))
    (one,) = found.hum
    assert [level.channel for level in one.levels] == [1, 2]
    assert float(one.levels[0].level_dbfs - one.levels[1].level_dbfs) == pytest.approx(20, abs=1)


@pytest.mark.parametrize("seed", range(6))
def test_noise_alone_has_no_hum(facts: Facts, seed: int) -> None:
    assert facts(hiss(-60, 12, seed), hiss(-60, 12, seed + 20)).hum == ()


def test_programme_without_a_quiet_stretch_has_none(facts: Facts) -> None:
    assert facts(speech(12, 3) + hum(50, TAPE, 12)).hum == ()


def test_other_notes_are_no_hum(facts: Facts) -> None:
    for base_hz in (41.2, 55.0, 65.4, 73.4):
        assert facts(hum(base_hz, TAPE, 8) + hiss(-80, 8, 1)).hum == (), base_hz


def test_three_hundred_hertz_alone_are_of_neither(facts: Facts) -> None:
    assert facts(hum(300, {1: -60.0}, 8) + hiss(-80, 8, 1)).hum == ()


@pytest.mark.parametrize("rate", [8_000, 11_025, 44_100, 96_000])
def test_hum_at_any_rate(facts: Facts, rate: int) -> None:
    sound = hum(50, CHAIN, 6, rate) + hiss(-75, 6, 4, rate)
    (one,) = facts(sound, rate=rate).hum
    assert one.frequency_hz.quantize(Decimal("0.1")) == 50
    planted = 10 * np.log10(sum(10 ** (level / 10) for level in CHAIN.values()))
    assert float(one.levels[0].level_dbfs) == pytest.approx(planted, abs=0.6)


def test_less_than_a_window_shows_none(facts: Facts) -> None:
    assert facts(hum(50, TAPE, 3.9) + hiss(-80, 3.9, 1)).hum == ()
