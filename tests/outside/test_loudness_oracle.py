"""Our meters against libebur128, an independent implementation, on signals like programme.

Momentary and short-term loudness are polled every 10 ms, since libebur128 only tells the present
value. Its own loudness range differs by up to 1.2 LU on signals so short (it seems to rest on one
value a second; not traced); ours is held against the percentiles of its short-term values at 10 Hz.
"""

import io
import math
from dataclasses import dataclass

import numpy as np
import pytest
from numpy.typing import NDArray

from tailsout.ground.pcm import Pcm
from tailsout.measure.onepass import measure
from tailsout.records.sound import AudioFacts

pytestmark = pytest.mark.oracles

RATE = 48_000
SECONDS = 40


@dataclass(frozen=True, slots=True, kw_only=True)
class Opinion:
    integrated: float
    range_lu: float
    momentary: float
    short_term: float
    true_peak: float


def programme(seed: int) -> NDArray[np.float32]:
    """Stereo syllables of noise and tone with pauses and slow level changes, over hiss."""
    random = np.random.default_rng(seed)
    frames = RATE * SECONDS
    time = np.arange(frames) / RATE
    syllables = random.uniform(-30, 0, SECONDS * 5) - 60 * (random.random(SECONDS * 5) > 0.8)
    level = np.repeat(10 ** (syllables / 20), RATE // 5) * np.abs(np.sin(5 * np.pi * time))
    slow = 10 ** (random.uniform(-12, 0) * np.sin(2 * np.pi * time / 17) / 20)
    carrier = np.convolve(random.standard_normal(frames), np.hanning(24) / 12, "same")
    carrier += np.sin(2 * np.pi * random.uniform(100, 4000) * time)
    both = (0.15 * carrier * level * slow)[:, np.newaxis] * random.uniform(0.3, 1.0, 2)
    return (both + 10 ** (-62 / 20) * random.standard_normal((frames, 2))).astype(np.float32)


def spread(short_term: NDArray[np.float64]) -> float:
    """EBU Tech 3342 on a list of values."""
    heard = short_term[short_term > -70]
    gate = 10 * np.log10(np.mean(10 ** (heard / 10))) - 20
    low, high = np.percentile(heard[heard >= gate], [10, 95], method="nearest")
    return float(high - low)


def opinion_of(samples: NDArray[np.float32]) -> Opinion:
    ebu = pytest.importorskip("pyebur128")
    modes = ebu.MeasurementMode
    state = ebu.R128State(2, RATE, modes.MODE_I | modes.MODE_S | modes.MODE_TRUE_PEAK)
    momentary, short_term = [], []
    hop = RATE // 100
    for start in range(0, len(samples), hop):
        state.add_frames(samples[start : start + hop].ravel(), hop)
        momentary.append(ebu.get_loudness_momentary(state))
        short_term.append(ebu.get_loudness_shortterm(state))
    return Opinion(
        integrated=ebu.get_loudness_global(state),
        range_lu=spread(np.array(short_term[299::10])),
        momentary=max(momentary[39:]),
        short_term=max(short_term[299:]),
        true_peak=20 * math.log10(max(ebu.get_true_peak(state, c) for c in (0, 1))),
    )


def facts_of(samples: NDArray[np.float32]) -> AudioFacts:
    octets = samples.astype("<f4").tobytes()
    pcm = Pcm(is_float=True, sample_rate_hz=RATE, channels=2, container_bits=32, valid_bits=32)
    return measure(
        io.BytesIO(octets),
        pcm,
        data_offset=0,
        data_octets=len(octets),
        file_octets=len(octets),
        advance=lambda _octets: None,
    ).facts


@pytest.mark.parametrize("seed", [1, 2, 3, 4, 5])
def test_two_meters_agree(seed: int) -> None:
    samples = programme(seed)
    ours, theirs = facts_of(samples), opinion_of(samples)
    assert float(ours.integrated_lufs or 0) == pytest.approx(theirs.integrated, abs=0.1)
    assert float(ours.momentary_max_lufs or 0) == pytest.approx(theirs.momentary, abs=0.1)
    assert float(ours.short_term_max_lufs or 0) == pytest.approx(theirs.short_term, abs=0.1)
    assert float(ours.true_peak_dbtp or 0) == pytest.approx(theirs.true_peak, abs=0.2)
    assert float(ours.range_lu or 0) == pytest.approx(theirs.range_lu, abs=0.3)


def test_two_meters_differ_on_different_signals() -> None:
    ours, theirs = facts_of(programme(1)), opinion_of(programme(2))
    assert float(ours.integrated_lufs or 0) != pytest.approx(theirs.integrated, abs=0.1)


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_true_peak_beside_another_interpolator(seed: int) -> None:
    """The highest sample after soxr's own oversampling by four, a third opinion."""
    soxr = pytest.importorskip("soxr")
    samples = programme(seed)
    between = np.concatenate(
        [soxr.resample(samples[:, c].astype(np.float64), RATE, 4 * RATE, "VHQ") for c in (0, 1)]
    )
    theirs = 20 * math.log10(float(np.max(np.abs(between))))
    ours = float(facts_of(samples).true_peak_dbtp or 0)
    assert ours == pytest.approx(theirs, abs=0.2)
    assert ours != pytest.approx(theirs + 0.5, abs=0.2)
