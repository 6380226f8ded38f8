"""Parts of a file asked for before the read, and the trace that stays of all of it."""

from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal

import numpy as np
import pytest

from tailsout.ground.pcm import Pcm
from tailsout.measure.meters import Meters
from tailsout.measure.onepass import Measured
from tailsout.measure.trace import NOTHING

PcmOf = Callable[..., Pcm]
OctetsOf = Callable[..., bytes]
Measure = Callable[..., Measured]
RATE = 16_000


def three_parts() -> np.ndarray:
    """Thrice 6 s: quiet with hum; sound to 3 kHz, right late by 50 µs; to 6 kHz, early."""
    random = np.random.default_rng(8)
    size = 6 * RATE
    hz = np.fft.rfftfreq(size, 1 / RATE)
    made = []
    for top_hz, late_s in ((0, 0.0), (3_000, 50e-6), (6_000, -30e-6)):
        spectrum = np.fft.rfft(random.standard_normal(size)) * (hz < top_hz) * (hz > 60)
        right = np.fft.irfft(spectrum * np.exp(-2j * np.pi * hz * late_s), size)
        made.append(0.1 * np.stack([np.fft.irfft(spectrum, size), right], axis=1))
    sound = np.concatenate(made)
    time = np.arange(sound.shape[0]) / RATE
    hum = 10 ** (-70 / 20) * (np.sin(2 * np.pi * 60 * time) + np.sin(2 * np.pi * 180 * time))
    noise = 10 ** (-85 / 20) * random.standard_normal(sound.shape)
    return sound + hum[:, np.newaxis] + noise


def real(value: Decimal | None) -> float:
    assert value is not None
    return float(value)


REGIONS = ((0, 6 * RATE), (6 * RATE, 12 * RATE), (12 * RATE - 77, 18 * RATE), (100, 900))


def test_each_region_has_its_own_facts(
    pcm_of: PcmOf, octets_of: OctetsOf, measured: Measure
) -> None:
    pcm = pcm_of(24, sample_rate_hz=RATE)
    result = measured(octets_of(three_parts(), pcm), pcm, regions=REGIONS)
    quiet, low, high, none = result.regions
    assert [(one.start, one.end) for one in result.regions] == list(REGIONS)
    assert [one.seconds for one in result.regions] == [6, 6, 6, 0]
    (hum,) = quiet.hum
    assert float(hum.frequency_hz) == pytest.approx(60, abs=0.02)
    assert low.hum == high.hum == ()
    assert real(low.bandwidth_hz) == pytest.approx(3_000, abs=200)
    assert real(high.bandwidth_hz) == pytest.approx(6_000, abs=200)
    assert real(low.pairs[0].delay_us) == pytest.approx(50, abs=1)
    assert real(high.pairs[0].delay_us) == pytest.approx(-30, abs=1)
    assert real(quiet.channels[0].noise_floor_dbfs) < -65
    assert real(low.channels[0].noise_floor_dbfs) > -40
    assert real(low.channels[1].rms_dbfs) > real(quiet.channels[1].rms_dbfs) + 20
    assert none.channels[0].rms_dbfs is None
    assert none.bandwidth_hz is None
    assert all(one.delay_us is None for one in none.pairs)


def test_a_region_that_is_all_agrees_with_the_file(
    pcm_of: PcmOf, octets_of: OctetsOf, measured: Measure
) -> None:
    pcm = pcm_of(24, sample_rate_hz=RATE)
    sound = three_parts()
    result = measured(octets_of(sound, pcm), pcm, regions=[(0, sound.shape[0])])
    (one,) = result.regions
    assert one.pairs == result.facts.pairs
    assert one.hum == result.facts.hum
    assert [c.rms_dbfs for c in one.channels] == [c.rms_dbfs for c in result.facts.channels]


def test_the_trace_of_every_second(pcm_of: PcmOf, octets_of: OctetsOf, measured: Measure) -> None:
    pcm = pcm_of(24, sample_rate_hz=RATE)
    sound = three_parts()
    sound[4 * RATE : 5 * RATE] = 0.0
    trace = measured(octets_of(sound, pcm), pcm).trace
    assert trace is not None
    assert trace.rms.shape == (18, 2)
    assert trace.rms[:, 0] == pytest.approx(
        np.sqrt((sound[:, 0].reshape(18, -1) ** 2).mean(1)), abs=1e-6
    )
    assert np.nanmedian(trace.delays[6:12, 0]) / RATE == pytest.approx(50e-6, abs=1e-6)
    assert np.nanmedian(trace.delays[12:, 0]) / RATE == pytest.approx(-30e-6, abs=1e-6)
    assert trace.correlations[7, 0] > 0.8
    assert trace.coherences[7, 0] > 0.9
    assert np.isnan(trace.coherences[4, 0])
    assert trace.levels.shape == (900,)
    assert (trace.levels[200:250] == NOTHING).all()
    assert (trace.levels[:200] != NOTHING).all()
    told = (
        trace.rms.nbytes + trace.delays.nbytes + trace.correlations.nbytes + trace.coherences.nbytes
    )
    assert told + trace.levels.nbytes <= 150 * 18


def test_no_split_changes_regions_or_overview(pcm_of: PcmOf, octets_of: OctetsOf) -> None:
    pcm = pcm_of(24, sample_rate_hz=RATE)
    octets = octets_of(three_parts(), pcm)
    results = []
    for size in (1_000, 15_999, 16_000, 77_777, 300_000):
        meters = Meters(pcm, frames=size, regions=REGIONS)
        for at in range(0, len(octets), size * pcm.frame_octets):
            meters.take(octets[at : at + size * pcm.frame_octets])
        meters.close()
        results.append((meters.regions(), meters.overview(), meters.facts("")))
    assert all(one == results[0] for one in results[1:])
    # What differs must show, or the comparison above proves nothing.
    assert replace(results[0][2], hum=()) != results[0][2]
