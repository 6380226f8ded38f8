from collections.abc import Callable
from decimal import Decimal

import numpy as np
import pytest

from tailsout.ground.pcm import Pcm
from tailsout.measure.onepass import Measured
from tailsout.measure.overview import MOST_BANDS, MOST_COLUMNS
from tailsout.records.sound import Overview

PcmOf = Callable[..., Pcm]
OctetsOf = Callable[..., bytes]
Measure = Callable[..., Measured]
See = Callable[..., Overview]


@pytest.fixture
def see(pcm_of: PcmOf, octets_of: OctetsOf, measured: Measure) -> See:
    def measure_it(samples: np.ndarray, rate: int = 8_000) -> Overview:
        pcm = pcm_of(24, channels=samples.shape[1], sample_rate_hz=rate)
        overview = measured(octets_of(samples, pcm), pcm).overview
        assert overview is not None
        return overview

    return measure_it


def test_columns_of_a_tenth_of_a_second(see: See) -> None:
    random = np.random.default_rng(1)
    samples = random.uniform(-0.5, 0.5, (8_000 * 3 + 500, 2))
    seen = see(samples)
    assert seen.seconds_a_column == Decimal("0.1")
    pieces = np.array_split(samples, range(800, samples.shape[0], 800))
    for c in range(2):
        assert seen.low[c] == pytest.approx([one[:, c].min() for one in pieces], abs=1e-6)
        assert seen.high[c] == pytest.approx([one[:, c].max() for one in pieces], abs=1e-6)
        rms = [np.sqrt((one[:, c] ** 2).mean()) for one in pieces]
        assert seen.rms[c] == pytest.approx(rms, abs=1e-5)
    assert len(seen.spectrogram) == 31 * MOST_BANDS


@pytest.mark.parametrize("seconds", [204, 205, 207, 411, 500, 1_000])
def test_a_long_file_has_no_more_columns(see: See, seconds: int) -> None:
    # A ramp of levels, so that each column can be told.
    rate = 8_000
    level = np.linspace(0.0, 0.5, seconds * 10).repeat(rate // 10)
    sign = np.where(np.arange(level.size) % 2, 1.0, -1.0)
    seen = see((level * sign)[:, np.newaxis], rate)
    tenths = int(seen.seconds_a_column * 10)
    assert tenths == max(1, 2 ** int(np.ceil(np.log2(seconds * 10 / (MOST_COLUMNS - 1)))))
    columns = -(-seconds * 10 // tenths)
    assert len(seen.high[0]) == columns <= MOST_COLUMNS
    expected = [level[n * tenths * 800 : (n + 1) * tenths * 800] for n in range(columns)]
    assert seen.high[0] == pytest.approx([one.max() for one in expected], abs=1e-6)
    rms = [np.sqrt((one**2).mean()) for one in expected]
    assert seen.rms[0] == pytest.approx(rms, abs=1e-4)


@pytest.mark.parametrize("rate", [8_000, 44_100, 96_000])
@pytest.mark.parametrize("hz", [440.0, 3_150.0])
def test_a_tone_shows_in_its_band_at_its_level(see: See, rate: int, hz: float) -> None:
    time = np.arange(2 * rate) / rate
    tone = 0.1 * np.sin(2 * np.pi * hz * time)
    tone[rate:] = 0.0
    seen = see(np.stack([tone, tone], axis=1), rate)
    cells = np.frombuffer(seen.spectrogram, np.uint8).reshape(-1, MOST_BANDS)
    assert len(seen.bands_hz) == MOST_BANDS
    assert list(seen.bands_hz) == sorted(seen.bands_hz)
    band = int(np.argmin(np.abs(np.log(np.array(seen.bands_hz) / hz))))
    assert abs(int(cells[4].argmin()) - band) <= 1
    around = 10 ** (-cells[4, band - 2 : band + 3].astype(float) / 10)
    assert 10 * np.log10(around.sum()) == pytest.approx(-20, abs=1.5)
    assert (cells[14] == 255).all()


def test_less_than_a_spectrum_is_seen_as_nothing(see: See) -> None:
    seen = see(np.full((300, 1), 0.25))
    assert seen.high == seen.low == ((0.25,),)
    assert set(seen.spectrogram) == {255}
    assert see(np.zeros((0, 1))).high == ((),)
