"""What two channels share, planted in the frequency domain, which the meter never sees."""

from collections.abc import Callable
from decimal import Decimal

import numpy as np
import pytest

from tailsout.ground.pcm import Pcm
from tailsout.measure.onepass import Measured
from tailsout.records.sound import PairFacts

PcmOf = Callable[..., Pcm]
OctetsOf = Callable[..., bytes]
Measure = Callable[..., Measured]
Pair = Callable[..., PairFacts]


def programme(rate: int, seconds: float, seed: int, *, top_hz: float = 9_000) -> np.ndarray:
    """Noise that falls with frequency, from 80 Hz to the top."""
    random = np.random.default_rng(seed)
    size = int(rate * seconds)
    hz = np.fft.rfftfreq(size, 1 / rate)
    shape = np.where(
        (hz > 80) & (hz < min(top_hz, 0.4 * rate)), 1 / np.sqrt(1 + (hz / 500) ** 2), 0
    )
    sound = np.fft.irfft(shape * np.fft.rfft(random.standard_normal(size)), size)
    wanted: np.ndarray = 0.1 * sound / sound.std()
    return wanted


def late(sound: np.ndarray, rate: int, seconds: float) -> np.ndarray:
    hz = np.fft.rfftfreq(sound.size, 1 / rate)
    return np.fft.irfft(np.fft.rfft(sound) * np.exp(-2j * np.pi * hz * seconds), sound.size)


def hiss(size: int, seed: int, snr_db: float) -> np.ndarray:
    level = 0.1 * 10 ** (-snr_db / 20)
    return level * np.random.default_rng(seed).standard_normal(size)


def real(value: Decimal | None) -> float:
    assert value is not None
    return float(value)


@pytest.fixture
def pair(pcm_of: PcmOf, octets_of: OctetsOf, measured: Measure) -> Pair:
    def measure_pair(first: np.ndarray, second: np.ndarray, rate: int = 48_000) -> PairFacts:
        pcm = pcm_of(24, sample_rate_hz=rate)
        facts = measured(octets_of(np.stack([first, second], axis=1), pcm), pcm).facts
        (one,) = facts.pairs
        return one

    return measure_pair


@pytest.mark.parametrize("rate", [44_100, 48_000, 96_000])
@pytest.mark.parametrize(
    ("delay_us", "sign"), [(0.0, 1), (23.7, 1), (-83.33, 1), (310.0, 1), (-41.2, -1)]
)
def test_delay_and_polarity(pair: Pair, rate: int, delay_us: float, sign: int) -> None:
    sound = programme(rate, 3.2, 4)
    other = sign * late(sound, rate, delay_us * 1e-6)
    facts = pair(sound + hiss(sound.size, 5, 30), other + hiss(sound.size, 6, 30), rate)
    assert real(facts.delay_us) == pytest.approx(delay_us, abs=0.15)
    assert real(facts.delay_spread_us) < 0.3
    assert facts.is_inverted == (sign < 0)
    assert facts.is_dual_mono


@pytest.mark.parametrize("snr_db", [20, 6])
def test_delay_in_hiss(pair: Pair, snr_db: float) -> None:
    sound = programme(48_000, 4.5, 7)
    facts = pair(
        sound + hiss(sound.size, 8, snr_db),
        late(sound, 48_000, 12e-6) + hiss(sound.size, 9, snr_db),
    )
    assert real(facts.delay_us) == pytest.approx(12.0, abs=1.5)


def test_channels_that_share_nothing_have_no_delay(pair: Pair) -> None:
    facts = pair(programme(48_000, 4, 1), programme(48_000, 4, 2))
    assert facts.delay_us is None
    assert facts.delay_spread_us is None
    assert real(facts.coherence) < 0.25
    assert abs(real(facts.correlation)) < 0.1
    assert not facts.is_dual_mono
    assert not facts.is_inverted


@pytest.mark.parametrize("balance", [0.3, -0.3, 1.2, -6.0])
def test_balance(pair: Pair, balance: float) -> None:
    sound = programme(48_000, 2, 3)
    facts = pair(sound, 10 ** (balance / 20) * sound + hiss(sound.size, 2, 60))
    assert real(facts.balance_db) == pytest.approx(balance, abs=0.02)
    assert facts.correlation == 1
    assert facts.is_dual_mono == (abs(balance) < 0.5)
    assert not facts.is_identical


def test_the_same_samples_twice(pair: Pair) -> None:
    sound = programme(48_000, 2, 3)
    facts = pair(sound, sound)
    assert facts.is_identical
    assert facts.is_dual_mono
    assert facts.delay_us == 0
    sound[70_000] += 2**-22
    changed = pair(sound, programme(48_000, 2, 3))
    assert not changed.is_identical


def test_a_dead_channel_has_nothing_to_compare(pair: Pair) -> None:
    sound = programme(48_000, 2, 3)
    assert pair(sound, np.zeros(sound.size)) == PairFacts(channel=1)
    assert pair(np.zeros(sound.size), np.zeros(sound.size)) == PairFacts(channel=1)


def test_eight_channels_are_seven_pairs(
    pcm_of: PcmOf, octets_of: OctetsOf, measured: Measure
) -> None:
    pcm = pcm_of(24, channels=8)
    sound = programme(48_000, 1.5, 3)
    samples = np.stack([late(sound, 48_000, n * n * 5e-6) for n in range(8)], axis=1)
    pairs = measured(octets_of(samples, pcm), pcm).facts.pairs
    assert [one.channel for one in pairs] == [1, 2, 3, 4, 5, 6, 7]
    told = [real(one.delay_us) for one in pairs]
    assert told == pytest.approx([5.0 * (2 * n + 1) for n in range(7)], abs=0.1)


def test_delay_that_wanders_has_a_spread(pair: Pair) -> None:
    sound = programme(48_000, 8, 5)
    parts = [late(sound, 48_000, us * 1e-6) for us in (10, 14, 18, 22, 26, 30, 34, 38)]
    other = np.concatenate([part[n * 48_000 : (n + 1) * 48_000] for n, part in enumerate(parts)])
    facts = pair(sound, other)
    assert real(facts.delay_us) == pytest.approx(24.0, abs=2.1)
    assert real(facts.delay_spread_us) == pytest.approx(9.5, abs=1.5)


def test_one_pair_of_one_channel_is_none(
    pcm_of: PcmOf, octets_of: OctetsOf, measured: Measure
) -> None:
    pcm = pcm_of(24, channels=1)
    assert measured(octets_of(programme(48_000, 1, 1), pcm), pcm).facts.pairs == ()


def test_half_a_second_is_enough_for_a_delay(pair: Pair) -> None:
    sound = programme(48_000, 0.55, 5)
    facts = pair(sound, late(sound, 48_000, 20e-6))
    assert real(facts.delay_us) == pytest.approx(20.0, abs=0.3)
    assert real(facts.correlation) > 0.9
