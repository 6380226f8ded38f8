"""Levels, frequencies and phases of single tones."""

import math
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from tailsout.measure.phasors import phasors, read_tone
from tailsout.measure.tones import steady_tones

RATE = 48_000
Make = Callable[..., Any]


@pytest.fixture
def read(play: Make, played: Make, samples_of: Make) -> Make:
    def one_tone(hz: float, machine: Any, *, seconds: float = 2.0, rate: int = RATE) -> Any:
        samples = samples_of(play([played(seconds=seconds, hz=hz)], machine, rate), rate)
        (place,) = steady_tones(samples)
        return read_tone(samples, place)

    return one_tone


@pytest.mark.parametrize("hz", [31.5, 40, 63, 315, 1000, 3150, 10_000, 16_000, 20_000])
def test_level_and_frequency_under_wow_and_hiss(read: Make, machine: Make, hz: float) -> None:
    """Sheet of prototypes: level within 0.002 dB, frequency within parts of a million."""
    found = read(hz, machine(speed=0.0027, hiss_dbfs=-70.0))
    assert found.frequency_hz == pytest.approx(hz * 1.0027, rel=1e-5 if hz > 300 else 1e-4)
    for amplitude in found.amplitude:
        assert 20 * math.log10(amplitude) == pytest.approx(-18.0, abs=0.005)


@pytest.mark.parametrize("hz", [1000, 10_000, 18_000])
def test_wow_does_not_lower_the_level_of_high_tones(read: Make, machine: Make, hz: float) -> None:
    found = read(hz, machine(wow=0.001, wow_hz=2.0))
    assert 20 * math.log10(found.amplitude[0]) == pytest.approx(-18.0, abs=0.01)


def test_long_windows_would(samples_of: Make, play: Make, played: Make, machine: Make) -> None:
    """The trap: 50 ms under-read 18 kHz by most of a decibel under 0.06 % of wow."""
    sound = play([played(seconds=2.0, hz=18_000)], machine(wow=0.0006), RATE)
    window = np.hanning(2401)[:-1]
    samples = samples_of(sound, RATE)
    found = phasors(samples, 0, 96_000, frequency_hz=18_000, window=window, hop=1200)
    assert 20 * math.log10(np.abs(found).mean()) < -18.2


@pytest.mark.parametrize("late", [-40.0, 0.0, 3.283, 23.7])
def test_phase_is_the_delay(read: Make, machine: Make, late: float) -> None:
    for hz in (100, 1000, 10_000):
        found = read(hz, machine(late_us=(0.0, late), hiss_dbfs=-75.0), seconds=1.2)
        wanted = (360e-6 * hz * late + 180) % 360 - 180
        assert found.lag_degrees[0] == pytest.approx(0.0, abs=1e-9)
        assert found.lag_degrees[1] == pytest.approx(wanted, abs=0.1)


@pytest.mark.parametrize("hz", [40, 1000, 10_000])
def test_dropouts_change_nothing(read: Make, machine: Make, hz: float) -> None:
    holes = ((0.5, 0.03, -20.0), (0.9, 0.015, -60.0), (1.31, 0.03, -8.0))
    found = read(hz, machine(dropouts=holes, hiss_dbfs=-75.0))
    assert 20 * math.log10(found.amplitude[0]) == pytest.approx(
        -18.0, abs=0.03 if hz > 300 else 0.1
    )
    assert found.frequency_hz == pytest.approx(hz, rel=2e-5 if hz > 300 else 3e-3)


def test_a_channel_without_the_tone_has_none(read: Make, machine: Make) -> None:
    def dead(_hz: float, channel: int) -> float:
        return -300.0 if channel else 0.0

    found = read(1000, machine(response=dead))
    assert found.amplitude[1] is None
    assert found.lag_degrees == (pytest.approx(0.0, abs=1e-9), None)
    # A channel of noise alone holds no tone either.
    noisy = read(1000, machine(response=dead, hiss_dbfs=-60.0))
    assert noisy.amplitude[1] is None


@pytest.mark.parametrize(("rate", "hz"), [(8_000, 3150), (8_000, 3700), (192_000, 20_000)])
def test_near_half_the_sample_rate(read: Make, machine: Make, rate: int, hz: float) -> None:
    found = read(hz, machine(), rate=rate)
    assert 20 * math.log10(found.amplitude[0]) == pytest.approx(-18.0, abs=0.005)
    assert found.frequency_hz == pytest.approx(hz, rel=1e-6)
