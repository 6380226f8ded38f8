import math
import random
from collections.abc import Callable

import pytest

from tailsout.tape import heads
from tailsout.tape.equalisation import flux_db

# McKnight, "Azimuth in a Magnetic Tape Recorder": ±300 µrad at 10 kHz, edge tracks of 2 mm.
PUBLISHED = [(3.75, 4.0, 45), (7.5, 4.0, 22), (3.75, 23, 260)]


@pytest.mark.parametrize(("speed", "spacing", "degrees"), PUBLISHED)
def test_the_published_azimuth_check(speed: float, spacing: float, degrees: float) -> None:
    minutes = 300e-6 / heads.MINUTE
    phase = heads.phase_degrees(10_000, heads.delay_us(minutes, spacing, speed))
    assert phase == pytest.approx(degrees, abs=1)


@pytest.mark.parametrize(
    "case",
    [
        (4.3, 1, 15, 3.283, 152, -0.05),
        (4.3, 3, 15, 9.849, 50.8, -0.42),
        (4.3, 5, 7.5, 32.83, 15.2, -5.79),
        (3.4, 5, 3.75, 51.92, 9.63, -24.4),
    ],
)
def test_azimuth_between_channels(case: tuple[float, ...]) -> None:
    spacing, minutes, speed, delay, null_khz, loss = case
    found = heads.delay_us(minutes, spacing, speed)
    assert found == pytest.approx(delay, rel=3e-4)
    assert heads.azimuth_minutes(found, spacing, speed) == pytest.approx(minutes)
    assert heads.mono_null_hz(found) / 1000 == pytest.approx(null_khz, rel=0.005)
    assert heads.mono_loss_db(10_000, found) == pytest.approx(loss, abs=0.06)


@pytest.mark.parametrize(
    ("delay", "spacing", "speed", "minutes"),
    [(2.0, 4.3, 15, 0.609), (10, 4.3, 7.5, 1.523), (-5, 3.4, 3.75, -0.482)],
)
def test_the_angle_of_a_delay(delay: float, spacing: float, speed: float, minutes: float) -> None:
    assert heads.azimuth_minutes(delay, spacing, speed) == pytest.approx(minutes, abs=0.0006)


# Losses at 10 kHz: Wallace (spacing, thickness), Eargle's handbook ch. 167 (gap); derived.
@pytest.mark.parametrize(
    ("speed", "losses"),
    [
        (3.75, (-5.73, -14.32, -1.82, -8.66, -16.40)),
        (7.5, (-2.86, -7.16, -0.44, -1.82, -10.69)),
        (15, (-1.43, -3.58, -0.11, -0.44, -6.20)),
    ],
)
def test_losses(speed: float, losses: tuple[float, ...]) -> None:
    found = (
        heads.spacing_loss_db(10_000, 1, speed),
        heads.spacing_loss_db(10_000, 2.5, speed),
        heads.gap_loss_db(10_000, 3, speed),
        heads.gap_loss_db(10_000, 6, speed),
        heads.thickness_loss_db(10_000, 10, speed),
    )
    assert found == pytest.approx(losses, abs=0.011)


def test_gap_nulls() -> None:
    nulls = [heads.gap_null_hz(3, speed) / 1000 for speed in (1.875, 3.75, 7.5, 15)]
    assert nulls == pytest.approx([14.3, 28.6, 57.2, 114.4], abs=0.06)
    assert heads.gap_loss_db(heads.gap_null_hz(3, 7.5), 3, 7.5) < -200


@pytest.mark.parametrize(
    ("speed", "width", "losses"),
    [
        (3.75, 1.0, (-0.01, -0.12, -0.34, -1.38)),
        (7.5, 6.3, (-0.13, -1.22, -3.60, -28.1)),
        (15, 6.3, (-0.03, -0.30, -0.84, -3.60)),
    ],
)
def test_azimuth_loss_of_one_track(speed: float, width: float, losses: tuple[float, ...]) -> None:
    found = [heads.azimuth_loss_db(10_000, minutes, width, speed) for minutes in (1, 3, 5, 10)]
    assert found == pytest.approx(losses, abs=0.06)


@pytest.mark.parametrize(
    ("track", "head", "level", "noise"),
    [
        (1.0, 2.0, -6.02, -3.01),
        (2.1, 6.3, -9.54, -4.77),
        (6.3, 2.1, 0, -4.77),
        (2.08, 2.75, -2.43, -1.21),
        (1.09, 2.08, -5.61, -2.81),
        (1.905, 2.083, -0.78, -0.39),
    ],
)
def test_a_track_on_a_head_of_another_width(
    track: float, head: float, level: float, noise: float
) -> None:
    assert heads.track_on_head_db(track, head) == pytest.approx((level, noise), abs=0.006)


@pytest.mark.parametrize(
    ("speed", "frequency", "low", "high"),
    [(15, 50, 2.2, 3.9), (15, 63, 1.8, 3.3), (15, 250, 0.5, 1.0), (7.5, 63, 1.0, 1.9)],
)
def test_fringing(speed: float, frequency: float, low: float, high: float) -> None:
    found = heads.fringing_db(frequency, 2.0, 3.5, speed)
    assert found == pytest.approx((low, high), abs=0.06)


def test_wavelengths() -> None:
    assert heads.wavelength_um(10_000, 7.5) == pytest.approx(19.05)


TONES = (500, 1000, 2000, 4000, 6300, 8000, 10_000, 12_500, 14_000, 16_000)


@pytest.mark.parametrize("seed", range(8))
def test_trim_and_spacing_are_told_apart(seed: int) -> None:
    """A reproducer that stands at 56 µs for a 50 µs tape, 1.2 µm off the head, 0.05 dB of noise."""
    noise = random.Random(seed)
    response = [
        (
            f,
            flux_db(f, 3180, 50)
            - flux_db(f, 3180, 56)
            + heads.spacing_loss_db(f, 1.2, 7.5)
            + noise.gauss(0, 0.05),
        )
        for f in TONES
    ]
    fit = heads.trim_or_spacing(response, (3180, 50), 7.5)
    assert fit is not None
    assert fit.t2_us == pytest.approx(56, abs=3)
    assert fit.spacing_um == pytest.approx(1.2, abs=0.2)
    assert fit.residual_db < 0.1


def test_no_fit_without_enough_tones() -> None:
    assert heads.trim_or_spacing([(1000, 0), (10_000, 0)], (3180, 50), 7.5) is None
    four = [(f, 0.0) for f in (1000, 4000, 8000, 10_000)]
    assert heads.trim_or_spacing(four, (3180, 50), 7.5) is not None
    assert heads.trim_or_spacing(four[1:], (3180, 50), 7.5) is None
    low = [(f, 0.0) for f in (400, 500, 630, 800, 1000)]
    assert heads.trim_or_spacing(low, (3180, 50), 7.5) is None


def test_no_fit_to_what_no_trim_explains() -> None:
    response = [(f, 30.0 * math.log10(f / 1000)) for f in TONES]
    assert heads.trim_or_spacing(response, (3180, 50), 7.5) is None


@pytest.mark.parametrize(
    "wrong",
    [
        lambda: heads.wavelength_um(0, 7.5),
        lambda: heads.delay_us(1, 0, 7.5),
        lambda: heads.delay_us(1, 4, 0),
        lambda: heads.mono_null_hz(0),
        lambda: heads.gap_loss_db(1, 0, 7.5),
        lambda: heads.thickness_loss_db(1, 0, 7.5),
        lambda: heads.track_on_head_db(0, 1),
        lambda: heads.azimuth_loss_db(1, 1, 0, 7.5),
        lambda: heads.fringing_db(50, 2, 0, 7.5),
    ],
)
def test_what_cannot_be(wrong: Callable[[], object]) -> None:
    with pytest.raises(ValueError, match=r"is impossible|no null"):
        wrong()
