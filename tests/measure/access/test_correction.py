"""The correction of a replay curve against the table of mismatches and against hand sums."""

import math

import numpy as np
import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from tailsout.measure.access.correction import LOWEST_HZ, Correction
from tailsout.tape.equalisation import mismatch_db

# Time constants in µs of IASA-TC 04, 5.4.10, Table 1; the mismatches at 5, 10 and 16 kHz as
# derived from them, dB re 1 kHz: tape → machine.
MISMATCHES = (
    ((3180.0, 50.0), (None, 35.0), (-1.76, -2.51, -2.74)),
    ((3180.0, 50.0), (None, 70.0), (1.89, 2.35, 2.47)),
    ((None, 100.0), (3180.0, 50.0), (-3.92, -4.66, -4.85)),
    ((None, 100.0), (None, 70.0), (-2.02, -2.31, -2.38)),
    ((3180.0, 140.0), (3180.0, 90.0), (-2.26, -2.48, -2.52)),
    ((None, 35.0), (None, 17.5), (-2.14, -4.07, -4.99)),
)


@pytest.mark.parametrize(("recorded", "replayed", "mismatch"), MISMATCHES)
def test_it_takes_away_what_the_mismatch_adds(
    recorded: tuple[float | None, float],
    replayed: tuple[float | None, float],
    mismatch: tuple[float, ...],
) -> None:
    one = Correction(recorded, replayed, rate_hz=96_000, channels=1)
    for hertz, db in zip((5_000, 10_000, 16_000), mismatch, strict=True):
        assert one.gain_db(hertz) == pytest.approx(-db, abs=0.03)
    assert one.gain_db(1_000) == pytest.approx(0, abs=1e-9)


@pytest.mark.parametrize("rate", [48_000, 96_000])
@pytest.mark.parametrize("hertz", [1_000, 10_000, 15_000])
@pytest.mark.parametrize(("recorded", "replayed"), [m[:2] for m in MISMATCHES])
def test_at_1_10_and_15_khz_it_is_the_analogue_curve(
    rate: int,
    hertz: int,
    recorded: tuple[float | None, float],
    replayed: tuple[float | None, float],
) -> None:
    one = Correction(recorded, replayed, rate_hz=rate, channels=1)
    assert one.gain_db(hertz) == pytest.approx(-mismatch_db(hertz, recorded, replayed), abs=0.03)


def test_the_top_is_not_bent_by_the_sampling() -> None:
    # 50 → 35 µs, analogue, absolute: −0.204, −2.701 and −2.988 dB at 1, 10 and 20 kHz.
    for rate in (48_000, 96_000):
        one = Correction((None, 35.0), (None, 50.0), rate_hz=rate, channels=1)
        for hertz, db in ((10_000, -2.701), (20_000, -2.988)):
            assert one.gain_db(hertz) == pytest.approx(db + 0.204, abs=0.03)


@given(
    recorded=st.floats(5, 500),
    replayed=st.floats(5, 500),
    rate=st.sampled_from([8_000, 22_050, 44_100, 96_000, 384_000]),
)
@example(recorded=5.0, replayed=5.000000000000001, rate=96_000)
@example(recorded=5.0, replayed=5.000000000000001, rate=8_000)
@example(recorded=5.0, replayed=5.00001, rate=8_000)
def test_any_two_constants_make_a_filter_that_stays_in_bounds(
    recorded: float, replayed: float, rate: int
) -> None:
    one = Correction((None, recorded), (None, replayed), rate_hz=rate, channels=1)
    click = np.zeros((1, 4096))
    click[0, 0] = 1.0
    one.run(click)
    assert np.isfinite(click).all()
    assert abs(click[0, -1]) < 1e-3
    flat = -mismatch_db(30, (None, recorded), (None, replayed))
    assert one.gain_db(30) == pytest.approx(flat, abs=0.25 if rate < 40_000 else 0.1)


def test_samples_get_the_gain_it_tells() -> None:
    rate, seconds = 96_000, 1
    one = Correction((None, 35.0), (3180.0, 50.0), rate_hz=rate, channels=2)
    told = Correction((None, 35.0), (3180.0, 50.0), rate_hz=rate, channels=2)
    n = np.arange(rate * seconds)
    for hertz in (31.5, 1_000, 15_000):
        wave = np.stack([np.sin(2 * np.pi * hertz * n / rate)] * 2)
        for block in np.split(wave, 8, axis=1):
            piece = np.ascontiguousarray(block)
            one.run(piece)
            block[:] = piece
        late = wave[:, rate // 2 :]
        gain = 20 * math.log10(np.sqrt(2 * (late**2).mean()))
        assert gain == pytest.approx(told.gain_db(hertz), abs=0.05)


def test_a_tape_without_a_low_corner_gets_no_gain_without_end() -> None:
    one = Correction((None, 35.0), (3180.0, 50.0), rate_hz=96_000, channels=1)
    # 50 Hz ÷ 5 Hz: 20 dB at most, and what the curve asks as far down as 31.5 Hz.
    assert one.gain_db(0.01) == pytest.approx(20 * math.log10(50.05 / LOWEST_HZ), abs=0.3)
    assert one.gain_db(31.5) == pytest.approx(5.66, abs=0.12)
    back = Correction((3180.0, 50.0), (None, 35.0), rate_hz=96_000, channels=1)
    assert back.gain_db(31.5) == pytest.approx(-5.66, abs=0.12)


def test_a_time_constant_of_none_is_refused() -> None:
    with pytest.raises(ValueError, match="above 0"):
        Correction((None, 0.0), (None, 50.0), rate_hz=96_000, channels=1)
