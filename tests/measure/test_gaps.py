"""Leader, pauses and silence laid out in seconds; the borders are known to the sample."""

from collections.abc import Callable
from decimal import Decimal

import numpy as np
import pytest

from tailsout.ground.pcm import Pcm
from tailsout.measure.onepass import Measured
from tailsout.records.sound import Gap

PcmOf = Callable[..., Pcm]
OctetsOf = Callable[..., bytes]
Measure = Callable[..., Measured]
Parts = list[tuple[str, float]]
HISS_DBFS, LEADER_DBFS = -58.0, -88.0


def laid_out(parts: Parts, rate: int, seed: int, channels: int = 1) -> np.ndarray:
    random = np.random.default_rng(seed)
    made = []
    for kind, seconds in parts:
        size = round(seconds * rate)
        noise = np.sqrt(0.5) * random.standard_normal((size, channels))
        if kind == "silence":
            made.append(np.zeros((size, channels)))
            continue
        if kind == "leader":
            made.append(10 ** (LEADER_DBFS / 20) * noise)
            continue
        sound = 10 ** (HISS_DBFS / 20) * noise
        if kind == "speech":
            # Syllables with short rests, each down to the hiss.
            time = np.arange(size) / rate
            level = np.abs(np.sin(2 * np.pi * 2.1 * time)) ** 3 * random.uniform(0.02, 0.4)
            sound += (level * np.sin(2 * np.pi * 170 * time))[:, np.newaxis]
        made.append(sound)
    return np.concatenate(made)


def real(value: Decimal | None) -> float:
    assert value is not None
    return float(value)


@pytest.fixture
def gaps(pcm_of: PcmOf, octets_of: OctetsOf, measured: Measure) -> Callable[..., tuple[Gap, ...]]:
    def find(parts: Parts, rate: int = 8_000, seed: int = 1, channels: int = 1) -> tuple[Gap, ...]:
        pcm = pcm_of(24, sample_rate_hz=rate, channels=channels)
        found: tuple[Gap, ...] = measured(
            octets_of(laid_out(parts, rate, seed, channels), pcm), pcm
        ).facts.gaps
        return found

    return find


@pytest.mark.parametrize("rate", [8_000, 11_025, 48_000])
@pytest.mark.parametrize("seed", [1, 2])
def test_leader_pause_and_silence(
    gaps: Callable[..., tuple[Gap, ...]], rate: int, seed: int
) -> None:
    parts = [
        ("leader", 3.0),
        ("speech", 6.0),
        ("pause", 3.0),
        ("speech", 5.0),
        ("leader", 2.5),
        ("speech", 4.0),
        ("silence", 1.5),
    ]
    found = gaps(parts, rate, seed)
    assert [one.kind for one in found] == [
        "quiet as leader",
        "pause",
        "quiet as leader",
        "digital silence",
    ]
    planted = [(0.0, 3.0), (9.0, 12.0), (17.0, 19.5), (23.5, 25.0)]
    for one, (start, end) in zip(found, planted, strict=True):
        slack = 0.2 if one.kind == "pause" else 0.02
        assert one.start / rate == pytest.approx(start, abs=slack)
        assert one.end / rate == pytest.approx(end, abs=slack)
    levels = [one.level_dbfs for one in found]
    assert [real(one) for one in levels[:3]] == pytest.approx(
        [LEADER_DBFS, HISS_DBFS, LEADER_DBFS], abs=0.7
    )
    assert levels[3] is None


def test_a_short_silence_and_a_short_pause_are_none(gaps: Callable[..., tuple[Gap, ...]]) -> None:
    assert (
        gaps([("speech", 4.0), ("silence", 0.4), ("speech", 3.0), ("pause", 1.2), ("speech", 3.0)])
        == ()
    )


def test_steady_noise_has_no_gap(gaps: Callable[..., tuple[Gap, ...]]) -> None:
    assert gaps([("pause", 12.0)]) == ()


def test_without_leader_speech_has_only_its_pauses(gaps: Callable[..., tuple[Gap, ...]]) -> None:
    (one,) = gaps([("speech", 6.0), ("pause", 4.0), ("speech", 6.0)])
    assert one.kind == "pause"


def test_a_gap_is_one_of_all_channels(
    pcm_of: PcmOf, octets_of: OctetsOf, measured: Measure
) -> None:
    pcm = pcm_of(24, sample_rate_hz=8_000)
    samples = laid_out([("speech", 8.0)], 8_000, 3, 2)
    samples[8_000:24_000, 0] = 0.0
    assert measured(octets_of(samples, pcm), pcm).facts.gaps == ()
    samples[12_000:20_000, 1] = 0.0
    (one,) = measured(octets_of(samples, pcm), pcm).facts.gaps
    assert one == Gap(start=12_000, end=20_000, kind="digital silence")


def test_the_longest_hundred_in_order(
    pcm_of: PcmOf, octets_of: OctetsOf, measured: Measure
) -> None:
    pcm = pcm_of(16, sample_rate_hz=8_000, channels=1)
    sound = laid_out([("speech", 150.0)], 8_000, 3)
    for n in range(120):
        length = 4_800 if n % 6 else 4_160
        sound[n * 9_600 + 1_600 : n * 9_600 + 1_600 + length] = 0.0
    found = measured(octets_of(sound, pcm), pcm).facts.gaps
    assert len(found) == 100
    assert [one.start for one in found] == [n * 9_600 + 1_600 for n in range(120) if n % 6]


def test_a_file_that_is_silent(gaps: Callable[..., tuple[Gap, ...]]) -> None:
    assert gaps([("silence", 1.3)]) == (Gap(start=0, end=10_400, kind="digital silence"),)
    assert gaps([("silence", 0.3)]) == ()


def test_levels_are_told_in_decimals(gaps: Callable[..., tuple[Gap, ...]]) -> None:
    (one, *_) = gaps([("leader", 2.0), ("speech", 4.0)])
    assert isinstance(one.level_dbfs, Decimal)
