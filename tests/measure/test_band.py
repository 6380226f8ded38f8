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


def shaped(
    rate: int, seconds: float, seed: int, gain: Callable[[np.ndarray], np.ndarray]
) -> np.ndarray:
    size = int(rate * seconds)
    hz = np.fft.rfftfreq(size, 1 / rate)
    white = np.fft.rfft(np.random.default_rng(seed).standard_normal(size))
    return np.fft.irfft(gain(hz) * white, size)


def rolled_off(corner_hz: float, order: int = 4) -> Callable[[np.ndarray], np.ndarray]:
    return lambda hz: 1 / np.sqrt(1 + (hz / corner_hz) ** (2 * order))


def real(value: Decimal | None) -> float:
    assert value is not None
    return float(value)


@pytest.fixture
def facts(pcm_of: PcmOf, octets_of: OctetsOf, measured: Measure) -> Facts:
    def measure_it(sound: np.ndarray, rate: int = 96_000) -> AudioFacts:
        pcm = pcm_of(24, channels=1, sample_rate_hz=rate)
        return measured(octets_of(sound, pcm), pcm).facts

    return measure_it


@pytest.mark.parametrize("corner_hz", [5_000.0, 9_000.0, 12_000.0])
def test_programme_over_hiss_reaches_as_far_as_it_stands_out(
    facts: Facts, corner_hz: float
) -> None:
    # Programme falls by 24 dB an octave from the corner on; hiss lies 40 dB below its plateau, so
    # that it stands 6 dB out up to where it has fallen by 34 dB.
    sound = 0.05 * shaped(96_000, 6, 1, rolled_off(corner_hz))
    sound[3 * 96_000 :] = 0.0
    sound += 0.0005 * shaped(96_000, 6, 2, np.ones_like)
    reach = corner_hz * (10 ** (34 / 10) - 1) ** (1 / 8)
    found = facts(sound)
    assert real(found.bandwidth_hz) == pytest.approx(reach, rel=0.06)
    assert found.brick_wall_hz is None


def test_without_a_pause_the_floor_is_the_lowest_part(facts: Facts) -> None:
    sound = 0.05 * shaped(96_000, 3, 1, rolled_off(8_000)) + 1e-4 * shaped(
        96_000, 3, 2, np.ones_like
    )
    reach = 8_000 * (10 ** (48 / 10) - 1) ** (1 / 8)
    assert float(facts(sound).bandwidth_hz or 0) == pytest.approx(reach, rel=0.06)


def test_flat_noise_reaches_to_the_end(facts: Facts) -> None:
    found = facts(0.1 * np.random.default_rng(1).standard_normal(300_000), 48_000)
    assert real(found.bandwidth_hz) == 24_000
    assert found.brick_wall_hz is None


@pytest.mark.parametrize("edge_hz", [16_000.0, 20_000.0, 22_050.0, 24_000.0])
@pytest.mark.parametrize("seed", [1, 2])
def test_a_sharp_edge_is_found(facts: Facts, edge_hz: float, seed: int) -> None:
    sound = 0.03 * shaped(96_000, 3, seed, lambda hz: rolled_off(9_000, 1)(hz) * (hz < edge_hz))
    sound += 1e-6 * np.random.default_rng(9).standard_normal(sound.size)
    found = facts(sound)
    assert real(found.brick_wall_hz) == pytest.approx(edge_hz, abs=60)
    assert real(found.bandwidth_hz) == pytest.approx(edge_hz, abs=300)


@pytest.mark.parametrize("order", [1, 2, 4, 6])
def test_a_slope_is_no_edge(facts: Facts, order: int) -> None:
    sound = 0.03 * shaped(96_000, 3, 3, rolled_off(12_000, order))
    assert facts(sound).brick_wall_hz is None


def test_a_converters_own_edge_is_none(facts: Facts) -> None:
    assert (
        facts(0.03 * shaped(48_000, 3, 3, lambda hz: 1.0 * (hz < 22_500)), 48_000).brick_wall_hz
        is None
    )


@pytest.mark.parametrize("line_hz", [15_625.0, 15_734.3, 19_000.0])
def test_lines_known_from_elsewhere(facts: Facts, line_hz: float) -> None:
    sound = 0.001 * shaped(96_000, 4, 3, rolled_off(12_000, 2))
    time = np.arange(sound.size) / 96_000
    level = 10 ** (-75 / 20)
    (one,) = facts(sound + level * np.sin(2 * np.pi * line_hz * time)).lines
    assert float(one.frequency_hz) == pytest.approx(line_hz, abs=2)
    assert int(one.nominal_hz) == int(line_hz)
    assert float(one.level_dbfs) == pytest.approx(-75, abs=0.5)
    assert one.above_floor_db > 10
    assert facts(sound).lines == ()
    # A note near by is none of them.
    assert facts(sound + level * np.sin(2 * np.pi * 17_000 * time)).lines == ()
