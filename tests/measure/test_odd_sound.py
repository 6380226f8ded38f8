"""Sound that holds nothing to measure, or more than there should be: None, and no wrong number."""

import warnings
from collections.abc import Callable
from decimal import Decimal

import numpy as np
import pytest

from tailsout.ground.pcm import Pcm
from tailsout.measure.hum import WINDOW_S
from tailsout.measure.onepass import Measured
from tailsout.records.sound import AudioFacts, PairFacts

PcmOf = Callable[..., Pcm]
OctetsOf = Callable[..., bytes]
Measure = Callable[..., Measured]
Facts = Callable[..., AudioFacts]
RATES = [8_000, 11_025, 47_999, 96_000, 192_000]


def real(value: Decimal | None) -> float:
    assert value is not None
    return float(value)


@pytest.fixture
def facts(pcm_of: PcmOf, octets_of: OctetsOf, measured: Measure) -> Facts:
    def measure_it(
        samples: np.ndarray, rate: int = 8_000, bits: int = 24, **other: object
    ) -> AudioFacts:
        pcm = pcm_of(bits, channels=samples.shape[1], sample_rate_hz=rate, **other)
        with warnings.catch_warnings():
            warnings.simplefilter("error")
            return measured(octets_of(samples, pcm), pcm).facts

    return measure_it


def says_nothing(facts: AudioFacts) -> bool:
    return (
        facts.bandwidth_hz is None
        and facts.brick_wall_hz is None
        and not (facts.lines or facts.hum or facts.dropouts)
        and all(one.delay_us is None for one in facts.pairs)
    )


@pytest.mark.parametrize("rate", RATES)
@pytest.mark.parametrize("frames", [0, 1, 2, 9, 100, 5_000])
def test_very_short_sound(facts: Facts, rate: int, frames: int) -> None:
    found = facts(np.random.default_rng(1).uniform(-0.5, 0.5, (frames, 2)), rate)
    assert found.frames == frames
    assert not found.gaps
    assert not found.hum
    assert found.dropouts_a_minute is None
    if frames < 100:
        assert says_nothing(found)
        assert found.channels[0].noise_floor_dbfs is None
    if frames == 0:
        assert found.channels[0].rms_dbfs is None
        assert found.pairs == (PairFacts(channel=1),)


@pytest.mark.parametrize("rate", RATES)
def test_silence(facts: Facts, rate: int) -> None:
    found = facts(np.zeros((3 * rate, 2)), rate)
    assert says_nothing(found)
    assert found.pairs == (PairFacts(channel=1),)
    assert [one.kind for one in found.gaps] == ["digital silence"]


@pytest.mark.parametrize("rate", RATES)
@pytest.mark.parametrize("level", [0.5, -0.3, 1.0])
def test_nothing_but_direct_current(facts: Facts, rate: int, level: float) -> None:
    found = facts(np.full((3 * rate, 2), level), rate)
    assert says_nothing(found)
    assert found.gaps == ()
    assert [one.flat_tops for one in found.channels] == [0, 0]
    assert found.pairs[0].is_identical
    for one in found.channels:
        assert real(one.dc_offset_dbfs) == pytest.approx(20 * np.log10(abs(level)), abs=0.01)
        assert real(one.rms_dbfs) == pytest.approx(20 * np.log10(abs(level)) + 3.01, abs=0.01)
        assert one.noise_floor_dbfs is None or float(one.noise_floor_dbfs) < -140


@pytest.mark.parametrize("rate", [8_000, 48_000])
@pytest.mark.parametrize(
    "levels", [(0.25, 0.25), (0.25, -1.0), (0.25, 0.0), (0.0, 0.0), (-1.0, 1.0)]
)
def test_direct_current_for_as_long_as_hum_is_looked_for(
    facts: Facts, rate: int, levels: tuple[float, float]
) -> None:
    found = facts(np.full(((WINDOW_S + 2) * rate, 2), levels), rate, 16)
    assert says_nothing(found)
    assert found.hum_ratio is None


@pytest.mark.parametrize("rate", RATES)
def test_noise_of_full_scale(facts: Facts, rate: int) -> None:
    found = facts(np.random.default_rng(2).uniform(-1, 1, (3 * rate, 2)), rate)
    assert real(found.bandwidth_hz) == pytest.approx(rate / 2, rel=0.001)
    assert found.brick_wall_hz is None
    assert not any((found.hum, found.gaps, found.dropouts, found.lines))
    assert [real(one.rms_dbfs) for one in found.channels] == pytest.approx([-1.76, -1.76], abs=0.1)
    assert found.pairs[0].delay_us is None
    assert not found.pairs[0].is_dual_mono


@pytest.mark.parametrize("rate", RATES)
def test_one_dead_channel(facts: Facts, rate: int) -> None:
    samples = np.random.default_rng(2).normal(0, 0.05, (3 * rate, 2))
    samples[:, 1] = 0.0
    found = facts(samples, rate)
    alive, dead = found.channels
    assert alive.rms_dbfs is not None
    assert dead.rms_dbfs is dead.crest_db is dead.noise_floor_dbfs is None
    assert dead.effective_bits is None
    assert dead.digital_silence_samples == 3 * rate
    assert found.pairs == (PairFacts(channel=1),)


def test_floats_that_are_no_numbers(facts: Facts) -> None:
    samples = np.random.default_rng(2).normal(0, 0.05, (24_000, 2))
    samples[5_000:5_900, 0] = np.nan
    samples[7_000, 1] = np.inf
    samples[9_000, 1] = -3e38
    found = facts(samples, bits=32, is_float=True)
    assert found.non_finite_samples == 902
    assert [real(one.rms_dbfs) for one in found.channels] == pytest.approx([-23.1, -23.0], abs=0.3)


def test_floats_beyond_all_measure(facts: Facts) -> None:
    samples = np.random.default_rng(2).normal(0, 0.05, (24_000, 2)) * 1e25
    found = facts(samples, bits=32, is_float=True)
    assert says_nothing(found)
    assert real(found.channels[0].rms_dbfs) == pytest.approx(477, abs=0.3)


def test_a_step_of_one_bit(facts: Facts) -> None:
    samples = np.zeros((24_000, 1))
    samples[::2] = 2.0**-23
    found = facts(samples)
    assert found.channels[0].effective_bits == 24
    assert not any((found.hum, found.dropouts))


def test_so_many_channels_that_a_second_would_not_fit(facts: Facts) -> None:
    found = facts(np.random.default_rng(1).normal(0, 0.1, (8_000, 33)))
    assert says_nothing(found)
    assert found.pairs == ()
    assert found.channels[0].rms_dbfs is None
    assert found.channels[0].sample_peak_dbfs is not None
