from collections.abc import Callable
from decimal import Decimal

import numpy as np
import pytest

from tailsout.ground.pcm import Pcm
from tailsout.measure.onepass import Measured
from tailsout.measure.peaks import TAPS, interpolator, largest_output
from tailsout.records.sound import ClippedRun

PcmOf = Callable[..., Pcm]
OctetsOf = Callable[..., bytes]
Measure = Callable[..., Measured]
WIDTHS = [(16, False), (24, False), (32, False), (32, True), (64, True)]


@pytest.mark.parametrize(
    ("rate", "phases"), [(8_000, 3), (48_000, 3), (96_000, 3), (176_400, 1), (384_000, 1)]
)
def test_phases_by_rate(rate: int, phases: int) -> None:
    taps = interpolator(rate)
    assert taps.shape == (phases, TAPS)
    assert taps.sum(axis=1) == pytest.approx(np.ones(phases), abs=1e-6)
    assert 2.0 < largest_output(taps) < 3.0


def test_outer_phases_mirror_each_other() -> None:
    taps = interpolator(48_000)
    assert taps[0] == pytest.approx(taps[2, ::-1], abs=1e-7)


@pytest.mark.parametrize("rate", [44_100, 48_000, 96_000])
@pytest.mark.parametrize("part_of_rate", [0.05, 0.2, 0.3, 0.4167])
def test_true_peak_of_sines_of_any_phase(
    pcm_of: PcmOf, octets_of: OctetsOf, measured: Measure, rate: int, part_of_rate: float
) -> None:
    # Interpolated four times a sine may be missed by cos(pi/4 * part), 0.5 dB at half the rate.
    pcm = pcm_of(64, is_float=True, sample_rate_hz=rate, channels=8)
    n = np.arange(4000)[:, np.newaxis]
    fade = np.minimum(1.0, np.minimum(n, n[::-1]) / 500)
    phases = np.arange(8) * np.pi / 8
    samples = 0.5 * fade * np.sin(2 * np.pi * part_of_rate * n + phases)
    lost = -20 * np.log10(np.cos(np.pi / 4 * part_of_rate))
    for one in measured(octets_of(samples, pcm), pcm).facts.channels:
        assert -6.02 - lost - 0.02 <= float(one.true_peak_dbtp or 0) <= -6.02 + 0.02


def test_a_peak_between_two_samples_is_found(
    pcm_of: PcmOf, octets_of: OctetsOf, measured: Measure
) -> None:
    pcm = pcm_of(64, is_float=True, channels=1)
    n = np.arange(2000)
    samples = (
        0.5 * np.sin(np.pi / 2 * n + np.pi / 4) * np.minimum(1.0, np.minimum(n, n[::-1]) / 500)
    )
    (one,) = measured(octets_of(samples, pcm), pcm).facts.channels
    assert one.sample_peak_dbfs == Decimal("-9.03")
    assert float(one.true_peak_dbtp or 0) == pytest.approx(-6.02, abs=0.02)


@pytest.mark.parametrize("where", [0, 500, 999])
def test_one_sample_of_full_scale_anywhere(
    pcm_of: PcmOf, octets_of: OctetsOf, measured: Measure, where: int
) -> None:
    pcm = pcm_of(64, is_float=True, channels=1)
    samples = np.zeros(1000)
    samples[where] = -0.5
    facts = measured(octets_of(samples, pcm), pcm).facts
    assert facts.sample_peak_dbfs == facts.true_peak_dbtp == Decimal("-6.02")


@pytest.mark.parametrize("where", [0, 998])
def test_the_filter_reaches_into_the_silence_around_the_file(
    pcm_of: PcmOf, octets_of: OctetsOf, measured: Measure, where: int
) -> None:
    # Two equal samples alone: the sinc between them reads 4/pi.
    pcm = pcm_of(64, is_float=True, channels=1)
    samples = np.zeros(1000)
    samples[where : where + 2] = 0.5
    facts = measured(octets_of(samples, pcm), pcm).facts
    assert float(facts.true_peak_dbtp or 0) == pytest.approx(
        20 * np.log10(0.5 * 4 / np.pi), abs=0.05
    )


@pytest.mark.parametrize(("bits", "is_float"), WIDTHS)
def test_peaks_and_offset_of_each_channel(
    pcm_of: PcmOf, octets_of: OctetsOf, measured: Measure, bits: int, is_float: bool
) -> None:
    pcm = pcm_of(bits, is_float=is_float, channels=8)
    levels = 2.0 ** -np.arange(1, 9)
    alternating = np.where(np.arange(2000) % 2, 1.0, -1.0)
    samples = np.outer(alternating, levels)
    samples[:, 2] += 2.0**-10
    facts = measured(octets_of(samples, pcm), pcm).facts
    assert facts.sample_peak_dbfs == Decimal("-6.02")
    for number, one in enumerate(facts.channels):
        added = 2.0**-10 if number == 2 else 0.0
        assert float(one.sample_peak_dbfs or 0) == pytest.approx(
            20 * np.log10(levels[number] + added), abs=0.006
        )
    offsets = [one.dc_offset_dbfs for one in facts.channels]
    assert offsets == [None, None, Decimal("-60.21"), None, None, None, None, None]


def test_eight_bits_are_unsigned(pcm_of: PcmOf, measured: Measure) -> None:
    pcm = pcm_of(8, channels=1)
    facts = measured(bytes([128] * 50 + [64] + [128] * 50), pcm).facts
    assert facts.sample_peak_dbfs == Decimal("-6.02")
    assert measured(bytes([128] * 100), pcm).facts.sample_peak_dbfs is None


def test_a_residue_of_rounding_is_no_offset(
    pcm_of: PcmOf, octets_of: OctetsOf, measured: Measure
) -> None:
    pcm = pcm_of(64, is_float=True, channels=1)
    wave = np.sin(2 * np.pi * np.arange(48_000) / 48)
    assert wave.sum() != 0
    assert measured(octets_of(wave, pcm), pcm).facts.channels[0].dc_offset_dbfs is None
    small = measured(octets_of(wave + 1e-9, pcm), pcm).facts.channels[0].dc_offset_dbfs
    assert small == Decimal("-180.00")


@pytest.mark.parametrize(("bits", "is_float"), [(8, False), *WIDTHS])
def test_clipped_runs_at_their_exact_place(
    pcm_of: PcmOf, octets_of: OctetsOf, measured: Measure, bits: int, is_float: bool
) -> None:
    pcm = pcm_of(bits, is_float=is_float)
    samples = np.zeros((200_000, 2))
    samples[0:3, 0] = 1.0
    samples[70_001:70_011, 1] = -1.0
    samples[90_000:90_002, 0] = 1.0  # too short
    samples[199_996:, 1] = 1.0
    facts = measured(octets_of(samples, pcm), pcm).facts
    assert facts.clipped_runs == (
        ClippedRun(channel=1, start=0, length=3),
        ClippedRun(channel=2, start=70_001, length=10),
        ClippedRun(channel=2, start=199_996, length=4),
    )
    assert [one.clipped_runs for one in facts.channels] == [1, 2]


def test_a_run_of_integers_stays_on_one_rail(pcm_of: PcmOf, measured: Measure) -> None:
    codes = np.array([0, 32767, 32767, -32768, -32768, 0, 32767, 32767, 32767, -32768, 0], "<i2")
    facts = measured(codes.tobytes(), pcm_of(16, channels=1)).facts
    assert facts.clipped_runs == (ClippedRun(channel=1, start=6, length=3),)


def test_one_step_below_full_scale_is_not_clipped(pcm_of: PcmOf, measured: Measure) -> None:
    codes = np.array([0, *[2**31 - 2] * 5, 0, *[-(2**31) + 1] * 5, 0], "<i4")
    assert measured(codes.tobytes(), pcm_of(32, channels=1)).facts.clipped_runs == ()


def test_full_scale_is_that_of_the_valid_bits(
    pcm_of: PcmOf, octets_of: OctetsOf, measured: Measure
) -> None:
    samples = np.zeros(100)
    samples[10:14] = 1.0
    narrow = pcm_of(24, valid_bits=20, channels=1)
    octets = octets_of(samples, narrow)
    assert measured(octets, narrow).facts.clipped_runs == (
        ClippedRun(channel=1, start=10, length=4),
    )
    assert measured(octets, pcm_of(24, channels=1)).facts.clipped_runs == ()


def test_floats_beyond_full_scale_count_on_either_side(
    pcm_of: PcmOf, octets_of: OctetsOf, measured: Measure
) -> None:
    samples = np.array([0.0, 1.0, -1.5, 1.2, 0.99, 1.0, 1.0, 0.0])
    pcm = pcm_of(32, is_float=True, channels=1)
    facts = measured(octets_of(samples, pcm), pcm).facts
    assert facts.clipped_runs == (ClippedRun(channel=1, start=1, length=3),)


def test_the_first_hundred_runs_by_start_then_channel(
    pcm_of: PcmOf, octets_of: OctetsOf, measured: Measure
) -> None:
    samples = np.zeros((4_000, 3))
    for start in range(1, 1_500, 10):
        samples[start : start + 3, 1] = 1.0
        samples[start : start + 4, 0] = -1.0
    samples[2:3_999, 2] = 1.0  # ends long after the hundredth has been seen
    pcm = pcm_of(16, channels=3)
    facts = measured(octets_of(samples, pcm), pcm).facts
    assert [one.clipped_runs for one in facts.channels] == [150, 150, 1]
    expected = [(start, channel) for start in range(1, 1_500, 10) for channel in (1, 2)]
    expected.insert(2, (2, 3))
    assert [(one.start, one.channel) for one in facts.clipped_runs] == expected[:100]
    assert facts.clipped_runs[2].length == 3_997
