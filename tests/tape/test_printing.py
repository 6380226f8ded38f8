from collections.abc import Callable

import pytest

from tailsout.tape import printing


# v ÷ (2πt), the corrected formula that Bertram, Stafford and Mills confirm (JAES October 1980).
@pytest.mark.parametrize(
    ("um", "frequencies"),
    [
        (50.8, (298, 597, 1194, 2387)),
        (52, (292, 583, 1166, 2332)),
        (35, (433, 866, 1733, 3465)),
        (26, (583, 1166, 2332, 4664)),
        (18, (842, 1684, 3369, 6738)),
    ],
)
def test_what_prints_most(um: float, frequencies: tuple[float, ...]) -> None:
    found = [printing.strongest_hz(um, speed) for speed in (3.75, 7.5, 15, 30)]
    assert found == pytest.approx(frequencies, abs=0.6)


def test_the_shape_of_the_band() -> None:
    found = [printing.band_db(x * 600, 600) for x in (0.25, 0.5, 1, 2, 4)]
    assert found == pytest.approx([-5.53, -1.68, 0, -2.67, -14.0], abs=0.03)


@pytest.mark.parametrize(
    ("um", "ms"),
    [(52, (3.43, 1.715, 0.858)), (35, (2.309, 1.154, 0.577)), (26, (1.715, 0.858, 0.429))],
)
def test_the_outer_neighbour_is_later(um: float, ms: tuple[float, ...]) -> None:
    for speed, wanted in zip((3.75, 7.5, 15), ms, strict=True):
        difference = printing.delay_difference_seconds(um, speed)
        assert difference * 1000 == pytest.approx(wanted, abs=0.0006)
        outer, inner = printing.delays_seconds(60, um, speed)
        assert outer - inner == pytest.approx(difference)


@pytest.mark.parametrize(
    ("um", "slopes"),
    [
        (52, (0.006860, 0.003430, 0.001715)),
        (35, (0.004618, 0.002309, 0.001154)),
        (26, (0.003430, 0.001715, 0.000858)),
    ],
)
def test_how_the_delay_runs_along_a_reel(um: float, slopes: tuple[float, ...]) -> None:
    for speed, slope in zip((3.75, 7.5, 15), slopes, strict=True):
        tails = printing.squared_delay_slope(um, speed, tails_out=True)
        assert tails == pytest.approx(slope, abs=6e-7)
        assert printing.squared_delay_slope(um, speed, tails_out=False) == -tails


def test_which_end_was_out() -> None:
    assert printing.end_out_while_printing(1.0, 1.0017) == "tail"
    assert printing.end_out_while_printing(1.0017, 1.0) == "head"
    assert printing.end_out_while_printing(1.0, 1.0) is None


@pytest.mark.parametrize(
    "wrong",
    [
        lambda: printing.delays_seconds(0, 52, 7.5),
        lambda: printing.strongest_hz(0, 7.5),
        lambda: printing.strongest_hz(52, 0),
        lambda: printing.band_db(0, 600),
        lambda: printing.delays_seconds(0.026, 52, 7.5),
        lambda: printing.band_db(600, 0),
        lambda: printing.end_out_while_printing(0, 1),
        lambda: printing.end_out_while_printing(1, 0),
    ],
)
def test_what_cannot_be(wrong: Callable[[], object]) -> None:
    with pytest.raises(ValueError, match=r"is impossible|above 0"):
        wrong()
