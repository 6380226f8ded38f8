"""Scales of a plot."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from matplotlib.figure import Figure

from tailsout.views.plots.scales import digits_of, round_step, rule_rate, rule_time, steps


@given(st.floats(1e-6, 1e6), st.integers(2, 20))
def test_a_round_step_divides_a_span_into_so_many_at_most(span: float, most: int) -> None:
    step = round_step(span, most)
    assert span / step <= most
    assert span / step > most / 2.6


@given(st.floats(-1e3, 1e3), st.floats(1e-3, 1e3), st.integers(2, 12))
def test_steps_lie_between_the_ends(low: float, span: float, most: int) -> None:
    found = steps(low, low + span, most)
    assert len(found) <= most + 1
    assert all(low - 1e-6 * span <= one <= low + span * (1 + 1e-6) for one in found)


@pytest.mark.parametrize(
    ("step", "digits"), [(5.0, 0), (1.0, 0), (0.5, 1), (0.1, 1), (0.02, 2), (0.001, 3)]
)
def test_digits_that_a_step_needs(step: float, digits: int) -> None:
    assert digits_of(step) == digits


@pytest.mark.parametrize("seconds", [0.05, 0.1, 1.0, 7.3, 60.0, 1800.0, 36000.0, 400_000.0, 1e7])
def test_time_has_a_few_figures_whatever_its_length(seconds: float) -> None:
    axes = Figure().add_axes((0.0, 0.0, 1.0, 1.0))
    rule_time(axes, seconds)
    ticks = list(axes.get_xticks())
    assert 1 <= len(ticks) <= 12
    assert ticks[0] == 0.0
    assert ticks[-1] <= seconds
    texts = [one.get_text() for one in axes.get_xticklabels()]
    assert len(set(texts)) == len(texts)


@pytest.mark.parametrize("tones", [True, False])
def test_frequencies_on_the_scale_are_within_it(tones: bool) -> None:
    axes = Figure().add_axes((0.0, 0.0, 1.0, 1.0))
    rule_rate(axes, 30.0, 20_000.0, tones=tones)
    texts = [one.get_text() for one in axes.get_xticklabels()]
    assert texts[0] == ("31.5" if tones else "50")
    assert texts[-1] == ("16 k" if tones else "10 k")
