"""Azimuth from phases: one line through zero, and what leaves a doubt."""

import numpy as np
import pytest

from tailsout.measure.phase import phase_line

SERIES = (1000, 10_000, 40, 63, 125, 250, 500, 2000, 4000, 6300, 8000, 12_500, 14_000, 16_000)
TUNED, UNSEEN = (1, 2, 3), (11, 12, 13, 14)


def lags(delay_us: float, series: tuple[float, ...] = SERIES) -> list[tuple[float, float]]:
    return [(hz, (360e-6 * hz * delay_us + 180) % 360 - 180) for hz in series]


@pytest.mark.parametrize("delay", [0.0, 2.0, -5.0, 23.7001, 51.92, -119.0, 260.0])
def test_the_delay_of_a_whole_series(delay: float) -> None:
    line = phase_line(lags(delay))
    assert line is not None
    assert line.delay_us == pytest.approx(delay, abs=1e-6)
    assert line.residual_deg == pytest.approx(0.0, abs=1e-6)
    assert not line.may_be_a_cycle_out
    assert not line.is_inverted


@pytest.mark.parametrize("seed", [*TUNED, *UNSEEN])
def test_phases_that_sway(seed: int) -> None:
    """Slitting makes azimuth sway by some degrees at the high end (published: 600 µrad)."""
    chance = np.random.default_rng(seed)
    delay = float(chance.uniform(-60, 60))
    swayed = [(hz, lag + chance.normal(0, 8 * hz / 16_000)) for hz, lag in lags(delay)]
    line = phase_line(swayed)
    assert line is not None
    assert line.delay_us == pytest.approx(delay, abs=1.5)
    assert 0.5 < line.residual_deg < 8
    assert not line.may_be_a_cycle_out


def test_tones_that_do_not_settle_the_cycle() -> None:
    """10 and 15 kHz alone fit a delay every 200 µs; with 1 kHz only one."""
    line = phase_line([(hz, lag + 4) for hz, lag in lags(20.0, (10_000, 15_000))])
    assert line is not None
    assert line.delay_us == pytest.approx(20.85, abs=0.05)
    assert line.may_be_a_cycle_out
    settled = phase_line(lags(20.0, (1000, 10_000, 15_000)))
    assert settled is not None
    assert not settled.may_be_a_cycle_out


def test_phases_without_any_order_are_a_doubt() -> None:
    chance = np.random.default_rng(5)
    line = phase_line([(hz, float(chance.uniform(-180, 180))) for hz in SERIES])
    assert line is not None
    assert line.may_be_a_cycle_out


def test_an_inverted_leg() -> None:
    turned = [(hz, (lag + 360) % 360 - 180) for hz, lag in lags(7.5)]
    line = phase_line(turned)
    assert line is not None
    assert line.is_inverted
    assert line.delay_us == pytest.approx(7.5, abs=1e-6)


@pytest.mark.parametrize("tones", [[], [(1000.0, 5.0)], [(10_000.0, 5.0), (10_000.2, 6.0)]])
def test_one_frequency_tells_no_delay(tones: list[tuple[float, float]]) -> None:
    assert phase_line(tones) is None
