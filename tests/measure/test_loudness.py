from collections.abc import Callable
from decimal import Decimal

import numpy as np
import pytest

from tailsout.ground.pcm import Pcm
from tailsout.measure.loudness import channel_weights, k_weighting
from tailsout.measure.onepass import Measured

PcmOf = Callable[..., Pcm]
OctetsOf = Callable[..., bytes]
Measure = Callable[..., Measured]

# ITU-R BS.1770-5 Annex 1, Tables 1 and 2.
PUBLISHED = [
    [1.53512485958697, -2.69169618940638, 1.19839281085285, -1.69065929318241, 0.73248077421585],
    [1.0, -2.0, 1.0, -1.99004745483398, 0.99007225036621],
]


def response_db(rate: int, frequency_hz: float) -> float:
    z = np.exp(-2j * np.pi * frequency_hz / rate)
    gain = 1.0
    for b0, b1, b2, a1, a2 in k_weighting(rate):
        gain *= abs((b0 + b1 * z + b2 * z * z) / (1 + a1 * z + a2 * z * z))
    return float(20 * np.log10(gain))


def test_at_48_khz_the_published_coefficients_come_out() -> None:
    assert k_weighting(48_000) == pytest.approx(np.array(PUBLISHED), abs=1e-12)


@pytest.mark.parametrize("rate", [44_100, 88_200, 96_000, 192_000, 384_000])
@pytest.mark.parametrize("frequency_hz", [20, 38, 100, 1000, 1682, 4000])
def test_the_response_stays_the_same_at_other_rates(rate: int, frequency_hz: float) -> None:
    assert response_db(rate, frequency_hz) == pytest.approx(
        response_db(48_000, frequency_hz), abs=0.05
    )


def test_a_response_not_made_for_the_rate_would_show() -> None:
    assert response_db(48_000, 1000 * 44.1 / 48) != pytest.approx(
        response_db(48_000, 1000), abs=0.05
    )


@pytest.mark.parametrize("rate", [8_000, 11_025, 22_050, 32_000, 384_000])
def test_the_response_at_low_and_very_high_rates(rate: int) -> None:
    # The bilinear transform bends the shelf below half the rate: 0.2 dB at 8 kHz.
    assert response_db(rate, 1000) == pytest.approx(response_db(48_000, 1000), abs=0.25)
    assert response_db(rate, 50) == pytest.approx(response_db(48_000, 50), abs=0.05)


@pytest.mark.parametrize(
    ("channels", "mask", "expected"),
    [
        (1, None, (1.0,)),
        (2, 0x3, (1.0, 1.0)),
        (4, None, (1.0,) * 4),
        (5, None, (1.0, 1.0, 1.0, 1.41, 1.41)),
        (6, None, (1.0, 1.0, 1.0, 0.0, 1.41, 1.41)),
        (6, 0, (1.0, 1.0, 1.0, 0.0, 1.41, 1.41)),
        (6, 0x3F, (1.0, 1.0, 1.0, 0.0, 1.41, 1.41)),
        (6, 0x60F, (1.0, 1.0, 1.0, 0.0, 1.41, 1.41)),
        (8, 0x63F, (1.0, 1.0, 1.0, 0.0, 1.0, 1.0, 1.41, 1.41)),
        (4, 0x33, (1.0, 1.0, 1.41, 1.41)),
        (3, 0xB, (1.0, 1.0, 0.0)),
        (8, None, (1.0,) * 8),
        (4, 0x3, (1.0,) * 4),
        (1, 0x3F, (1.0,)),
    ],
)
def test_channel_weights(channels: int, mask: int | None, expected: tuple[float, ...]) -> None:
    assert channel_weights(channels, mask) == expected


def sine(rate: int, seconds: float, size: float) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
    return size * np.sin(2 * np.pi * 997 * np.arange(round(seconds * rate)) / rate)


@pytest.mark.parametrize("rate", [44_100, 48_000, 88_200, 96_000, 192_000, 384_000])
def test_the_reference_tone(
    pcm_of: PcmOf, octets_of: OctetsOf, measured: Measure, rate: int
) -> None:
    # BS.1770-5 Annex 1: a 997 Hz full-scale sine in one channel reads -3.01 LKFS.
    pcm = pcm_of(64, is_float=True, sample_rate_hz=rate, channels=1)
    facts = measured(octets_of(sine(rate, 3.5, 1.0), pcm), pcm).facts
    assert float(facts.integrated_lufs or 0) == pytest.approx(-3.01, abs=0.02)
    assert float(facts.momentary_max_lufs or 0) == pytest.approx(-3.01, abs=0.02)
    assert float(facts.short_term_max_lufs or 0) == pytest.approx(-3.01, abs=0.02)


@pytest.mark.parametrize("rate", [8_000, 11_025, 22_050, 22_051])
def test_low_and_odd_rates(
    pcm_of: PcmOf, octets_of: OctetsOf, measured: Measure, rate: int
) -> None:
    pcm = pcm_of(16, sample_rate_hz=rate, channels=1)
    facts = measured(octets_of(sine(rate, 6.0, 0.1), pcm), pcm).facts
    assert float(facts.integrated_lufs or 0) == pytest.approx(-23.01, abs=0.25)
    assert facts.range_lu == 0


@pytest.mark.parametrize(
    ("frames", "full"),
    [(19_199, ""), (19_200, "M"), (143_999, "M"), (144_000, "MS")],
)
def test_a_window_that_is_not_full_has_no_value(
    pcm_of: PcmOf,
    octets_of: OctetsOf,
    measured: Measure,
    frames: int,
    full: str,
) -> None:
    pcm = pcm_of(16, channels=1)
    facts = measured(octets_of(sine(48_000, frames / 48_000, 0.5), pcm), pcm).facts
    assert facts.frames == frames
    assert (facts.momentary_max_lufs is not None) == ("M" in full)
    assert (facts.integrated_lufs is not None) == ("M" in full)
    assert (facts.short_term_max_lufs is not None) == ("S" in full)
    assert (facts.range_lu is not None) == ("S" in full)


def test_below_the_absolute_gate_only_maxima_remain(
    pcm_of: PcmOf, octets_of: OctetsOf, measured: Measure
) -> None:
    pcm = pcm_of(32, is_float=True, channels=1)
    facts = measured(octets_of(sine(48_000, 4, 10 ** (-70 / 20)), pcm), pcm).facts
    assert facts.integrated_lufs is None
    assert facts.range_lu is None
    assert float(facts.momentary_max_lufs or 0) == pytest.approx(-73.01, abs=0.02)
    louder = measured(octets_of(sine(48_000, 4, 10 ** (-66 / 20)), pcm), pcm).facts
    assert float(louder.integrated_lufs or 0) == pytest.approx(-69.01, abs=0.02)


def test_the_low_frequency_channel_is_left_out(
    pcm_of: PcmOf, octets_of: OctetsOf, measured: Measure
) -> None:
    pcm = pcm_of(16, channels=6)
    samples = np.zeros((48_000, 6))
    samples[:, 3] = sine(48_000, 1, 0.5)
    assert measured(octets_of(samples, pcm), pcm).facts.integrated_lufs is None
    samples[:, 4] = sine(48_000, 1, 1.0)
    surround = measured(octets_of(samples, pcm), pcm).facts.integrated_lufs
    assert float(surround or 0) == pytest.approx(-3.01 + 10 * np.log10(1.41), abs=0.02)


def test_range_and_integrated_survive_levels_beyond_the_tally(
    pcm_of: PcmOf, octets_of: OctetsOf, measured: Measure
) -> None:
    pcm = pcm_of(64, is_float=True, channels=1)
    facts = measured(octets_of(sine(48_000, 4, 1e25), pcm), pcm).facts
    assert float(facts.integrated_lufs or 0) == pytest.approx(500 - 3.01, abs=0.02)
    assert facts.range_lu == Decimal("0.00")
