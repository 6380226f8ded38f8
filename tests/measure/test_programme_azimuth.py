"""Delays that are told with doubt: planted narrow bands, and seconds that disagree."""

from collections.abc import Callable
from decimal import Decimal

import numpy as np
import pytest

from tailsout.records.sound import PairFacts

Pair = Callable[..., PairFacts]


def band(seconds: float, seed: int, low: float, high: float, rate: int = 48_000) -> np.ndarray:
    random = np.random.default_rng(seed)
    size = int(rate * seconds)
    hz = np.fft.rfftfreq(size, 1 / rate)
    shape = (hz >= low) & (hz <= high)
    sound = np.fft.irfft(shape * np.fft.rfft(random.standard_normal(size)), size)
    wanted: np.ndarray = 0.1 * sound / sound.std()
    return wanted


def late(sound: np.ndarray, seconds: float, rate: int = 48_000) -> np.ndarray:
    hz = np.fft.rfftfreq(sound.size, 1 / rate)
    return np.fft.irfft(np.fft.rfft(sound) * np.exp(-2j * np.pi * hz * seconds), sound.size)


def hiss(size: int, seed: int, db: float) -> np.ndarray:
    return 10 ** (db / 20) * np.random.default_rng(seed).standard_normal(size)


@pytest.fixture
def pair(
    pcm_of: Callable[..., object],
    octets_of: Callable[..., bytes],
    measured: Callable[..., object],
) -> Pair:
    def measure_pair(first: np.ndarray, second: np.ndarray, rate: int = 48_000) -> PairFacts:
        pcm = pcm_of(24, sample_rate_hz=rate)
        told = measured(octets_of(np.stack([first, second], axis=1), pcm), pcm)
        (one,) = told.facts.pairs  # type: ignore[attr-defined]
        found: PairFacts = one
        return found

    return measure_pair


@pytest.mark.parametrize("sign", [1, -1])
@pytest.mark.parametrize("delay_us", [0, 24, -130])
def test_a_wide_band_leaves_no_doubt(pair: Pair, delay_us: float, sign: int) -> None:
    sound = band(5, 1, 100, 9_000)
    other = sign * late(sound, delay_us * 1e-6)
    facts = pair(sound + hiss(sound.size, 2, -50), other + hiss(sound.size, 3, -50))
    assert facts.delay_us is not None
    assert float(facts.delay_us) == pytest.approx(delay_us, abs=0.5)
    assert facts.delay_seconds == 5
    assert not facts.may_be_a_cycle_out
    assert facts.rival_delay_us is None


@pytest.mark.parametrize("sign", [1, -1])
def test_a_narrow_band_may_be_a_cycle_out(pair: Pair, sign: int) -> None:
    # 3.0 to 3.4 kHz: a period of 312 µs, and the next fits 0.97 times as well.
    sound = band(6, 1, 3_000, 3_400)
    facts = pair(
        sound + hiss(sound.size, 2, -70), sign * late(sound, 40e-6) + hiss(sound.size, 3, -70)
    )
    assert facts.may_be_a_cycle_out
    assert facts.delay_us is not None
    assert facts.rival_delay_us is not None
    apart = abs(float(facts.rival_delay_us - facts.delay_us))
    assert apart == pytest.approx(1e6 / 3_200, rel=0.1)
    told = (float(facts.delay_us), float(facts.rival_delay_us))
    assert min(abs(one - 40) for one in told) < 20


def test_seconds_that_disagree_by_a_period_are_in_doubt(pair: Pair) -> None:
    sound = band(6, 4, 1_000, 6_000)
    near, far = late(sound, 10e-6), late(sound, 10e-6 + 1 / 3_500)
    other = np.concatenate([far[:96_000], near[96_000:]])
    facts = pair(sound, other)
    assert facts.delay_us is not None
    assert float(facts.delay_us) == pytest.approx(10, abs=1)
    assert facts.may_be_a_cycle_out


def test_wander_of_slitting_is_no_doubt(pair: Pair) -> None:
    # ±3.2 µs: wander of tape as it was slit, 4 mm apart at 15 ips.
    sound = band(8, 5, 100, 9_000)
    parts = [late(sound, (20 + 3.2 * np.sin(n)) * 1e-6) for n in range(8)]
    cut = [part[n * 48_000 : (n + 1) * 48_000] for n, part in enumerate(parts)]
    facts = pair(sound, np.concatenate(cut))
    assert facts.delay_us is not None
    assert float(facts.delay_us) == pytest.approx(20, abs=3.2)
    assert facts.delay_spread_us is not None
    assert Decimal(1) < facts.delay_spread_us < Decimal("3.5")
    assert not facts.may_be_a_cycle_out


def test_without_high_frequencies_there_is_nothing_to_doubt(pair: Pair) -> None:
    sound = band(4, 6, 100, 900)
    facts = pair(sound, late(sound, 50e-6))
    assert facts.delay_us is not None
    assert not facts.may_be_a_cycle_out


def test_nothing_in_common_is_no_delay_and_no_doubt(pair: Pair) -> None:
    facts = pair(band(4, 7, 100, 9_000), band(4, 8, 100, 9_000))
    assert facts.delay_us is None
    assert facts.delay_seconds is None
    assert not facts.may_be_a_cycle_out
