"""Dither by its level, its spectrum and its having nothing to do with the signal."""

import math

import numpy as np
import pytest

from tailsout.measure.access.depth import Depth


def error_of(signal: np.ndarray, bits: int, seed: int = 7) -> np.ndarray:
    """What is added to one channel, in steps."""
    words = Depth(bits, seed).words(signal[np.newaxis, :])[:, 0]
    steps = words.astype(np.int64) >> (32 - bits)
    return np.asarray(steps - signal * (1 << (bits - 1)))


@pytest.mark.parametrize("bits", [16, 24])
@pytest.mark.parametrize("level", [0.0, 0.3, 0.5, 1234.25])
def test_the_noise_is_half_a_step_whatever_is_played(bits: int, level: float) -> None:
    # Triangular density of 2 steps: variance 1/6, rounding 1/12, together 1/4 of a step squared.
    signal = np.full(200_000, level / (1 << (bits - 1)))
    error = error_of(signal, bits)
    assert error.mean() == pytest.approx(0, abs=0.005)
    assert error.std() == pytest.approx(0.5, abs=0.005)


def test_it_is_96_3_db_below_full_scale_at_16_bits() -> None:
    words = Depth(16, 1).words(np.zeros((1, 200_000)))
    rms = np.sqrt(((words / 2.0**31) ** 2).mean())
    assert 20 * math.log10(rms) == pytest.approx(20 * math.log10(0.5 / 32768), abs=0.03)


def test_its_spectrum_is_flat() -> None:
    error = error_of(np.zeros(1 << 18), 16)
    power = (np.abs(np.fft.rfft(error.reshape(256, -1), axis=1)) ** 2).mean(axis=0)[1:-1]
    bands = power.reshape(-1)[: len(power) // 8 * 8].reshape(8, -1).mean(axis=1)
    assert 10 * np.log10(bands / bands.mean()) == pytest.approx(np.zeros(8), abs=0.15)


def test_a_tone_far_below_a_step_survives_without_harmonics() -> None:
    n = np.arange(1 << 18)
    tone = 0.25 / (1 << 15) * np.sin(2 * np.pi * 64 * n / len(n))
    words = Depth(16, 3).words(tone[np.newaxis, :])[:, 0] / 2.0**31
    spectrum = np.abs(np.fft.rfft(words)) / len(n) * 2 * (1 << 15)
    assert spectrum[64] == pytest.approx(0.25, abs=0.02)
    floor = np.median(spectrum)
    assert spectrum[64 * 3] < 5 * floor
    assert spectrum[64 * 5] < 5 * floor


def test_the_draws_depend_on_the_seed_alone() -> None:
    signal = np.zeros((2, 1000))
    assert (Depth(16, 5).words(signal) == Depth(16, 5).words(signal)).all()
    assert (Depth(16, 5).words(signal) != Depth(16, 6).words(signal)).any()


def test_without_a_seed_samples_stay_as_they_are() -> None:
    steps = np.array([-(1 << 23), -1, 0, 1, (1 << 23) - 1])
    one = Depth(24, None)
    words = one.words(steps[np.newaxis, :] / 2.0**23)
    assert (words[:, 0] >> 8).tolist() == steps.tolist()
    assert one.clipped == 0


def test_what_lies_above_full_scale_is_counted_and_held() -> None:
    one = Depth(16, None)
    words = one.words(np.array([[1.5, -1.5, 0.5]]))
    assert (words[:, 0] >> 16).tolist() == [32767, -32768, 16384]
    assert one.clipped == 2
