from collections.abc import Callable
from decimal import Decimal

import numpy as np
import pytest

from tailsout.ground.pcm import Pcm
from tailsout.measure.onepass import Measured
from tailsout.records.sound import ChannelFacts

PcmOf = Callable[..., Pcm]
OctetsOf = Callable[..., bytes]
Measure = Callable[..., Measured]
RATE = 48_000


def sine(hz: float, seconds: float, level_dbfs: float = 0.0) -> np.ndarray:
    return 10 ** (level_dbfs / 20) * np.sin(2 * np.pi * hz * np.arange(seconds * RATE) / RATE)


def real(value: Decimal | None) -> float:
    assert value is not None
    return float(value)


@pytest.fixture
def one(pcm_of: PcmOf, octets_of: OctetsOf, measured: Measure) -> Callable[..., ChannelFacts]:
    def measure_one(samples: np.ndarray, bits: int = 24, **other: object) -> ChannelFacts:
        pcm = pcm_of(bits, channels=1, **other)
        (channel,) = measured(octets_of(samples, pcm), pcm).facts.channels
        return channel

    return measure_one


@pytest.mark.parametrize("level", [0.0, -20.0, -60.0])
def test_a_sine_reads_the_same_as_peak_and_as_rms(
    one: Callable[..., ChannelFacts], level: float
) -> None:
    # AES17: a full-scale sine is 0 dBFS as RMS. From memory: AES17-2015, 3.12.3.
    facts = one(sine(1_000, 2.4, level))
    assert real(facts.rms_dbfs) == pytest.approx(level, abs=0.011)
    assert facts.crest_db == Decimal("3.01")


def test_one_sample_has_a_level(one: Callable[..., ChannelFacts]) -> None:
    facts = one(np.array([0.5]))
    assert facts.rms_dbfs == Decimal("-3.01")
    assert facts.crest_db == 0
    assert facts.noise_floor_dbfs is None
    assert facts.effective_bits == 2


def test_silence_has_none(one: Callable[..., ChannelFacts]) -> None:
    facts = one(np.zeros(3 * RATE))
    assert facts.rms_dbfs is None
    assert facts.crest_db is None
    assert facts.noise_floor_dbfs is None
    assert facts.effective_bits is None
    assert facts.digital_silence_samples == 3 * RATE
    assert facts.dropouts == facts.flat_tops == 0


@pytest.mark.parametrize("floor", [-50.0, -90.0])
def test_the_floor_is_the_quietest_half_second(
    one: Callable[..., ChannelFacts], floor: float
) -> None:
    random = np.random.default_rng(3)
    sound = 0.02 + 0.1 * random.standard_normal(6 * RATE)
    quiet = 10 ** (floor / 20) * np.sqrt(0.5) * random.standard_normal(RATE)
    sound[int(2.1 * RATE) : int(3.1 * RATE)] = 0.02 + quiet
    sound[int(4.2 * RATE) : int(4.4 * RATE)] = 0.0
    facts = one(sound)
    assert real(facts.noise_floor_dbfs) == pytest.approx(floor, abs=0.3)
    assert abs(facts.digital_silence_samples - 0.2 * RATE) <= 2 * RATE / 800


def test_a_word_has_no_floor(one: Callable[..., ChannelFacts]) -> None:
    swell = np.sin(2 * np.pi * 2.5 * np.arange(RATE) / RATE) ** 4
    assert one(swell * sine(300, 1.0, -6)).noise_floor_dbfs is None


@pytest.mark.parametrize(
    ("bits", "used"), [(24, 24), (24, 16), (24, 20), (16, 12), (32, 24), (8, 8)]
)
def test_bits_in_use(one: Callable[..., ChannelFacts], bits: int, used: int) -> None:
    step = 2.0 ** (1 - used)
    samples = np.round(np.random.default_rng(1).uniform(-0.9, 0.9, 9_000) / step) * step
    assert one(samples, bits).effective_bits == used


def test_floats_have_no_bits_in_use(one: Callable[..., ChannelFacts]) -> None:
    assert one(sine(1_000, 0.1), 32, is_float=True).effective_bits is None


@pytest.mark.parametrize("bits", [16, 24])
@pytest.mark.parametrize("side", [1.0, -1.0])
def test_tops_cut_off_below_full_scale(
    one: Callable[..., ChannelFacts], bits: int, side: float
) -> None:
    # 40 cycles, every one cut off on one side; 10 before are lower.
    wave = np.concatenate([sine(200, 0.05, -12), sine(200, 0.2)])
    cut = side * np.minimum(0.7 * wave, 0.5)
    facts = one(cut, bits)
    assert facts.flat_tops == 40
    assert facts.clipped_runs == 0
    assert one(side * 0.7 * wave, bits).flat_tops == 0


@pytest.mark.parametrize("hz", [20.0, 31.5, 50.0])
def test_the_round_top_of_a_slow_wave_is_not_flat(
    one: Callable[..., ChannelFacts], hz: float
) -> None:
    assert one(sine(hz, 1.0, -6), 16).flat_tops == 0


def test_what_is_cut_off_at_full_scale_is_clipped_and_not_flat(
    one: Callable[..., ChannelFacts],
) -> None:
    facts = one(1.5 * sine(200, 0.2))
    assert facts.flat_tops == 0
    assert facts.clipped_runs == 80
