"""What a side-car keeps of an overview: few columns, and nothing that stands out is lost."""

import math
from collections.abc import Sequence
from decimal import Decimal

import pytest

from tailsout.measure.coarse import (
    BANDS_JOINED,
    MOST_CELLS_ACROSS,
    MOST_COLUMNS,
    coarsened,
)
from tailsout.records.sound import KeptOverview, Overview

BANDS = (25.0, 40.0, 100.0, 160.0)


def seen(
    high: Sequence[float], cells: bytes | None = None, low: Sequence[float] | None = None
) -> Overview:
    below = tuple(low) if low is not None else tuple(-one for one in high)
    return Overview(
        seconds_a_column=Decimal("0.2"),
        low=(below,),
        high=(tuple(high),),
        rms=(tuple(abs(one) / 2 for one in high),),
        bands_hz=BANDS,
        spectrogram=b"\xff" * len(high) * len(BANDS) if cells is None else cells,
    )


def kept(one: Overview) -> KeptOverview:
    made = coarsened(one)
    assert made is not None
    return made


def numbers(text: str) -> list[int]:
    return [int(one) for one in text.split(" ")]


def test_a_short_file_keeps_its_columns_in_ten_thousandths() -> None:
    made = kept(seen([0.25, 0.00004, 1.0], low=[-0.3, -0.00006, -1.0]))
    [course] = made.channels
    assert (course.low, course.high, course.rms) == (
        "-3000 -1 -10000",
        "2500 0 10000",
        "1250 0 5000",
    )
    assert made.seconds_a_column == Decimal("0.2")
    assert made.spectrogram.seconds_a_column == Decimal("0.2")


@pytest.mark.parametrize(
    ("columns", "joined"), [(600, 1), (601, 2), (1200, 2), (1201, 3), (2048, 4)]
)
def test_a_long_file_has_no_more_columns_and_keeps_every_peak(columns: int, joined: int) -> None:
    high = [0.1] * columns
    high[-1], high[0] = 0.9, 0.8
    made = kept(seen(high))
    course = numbers(made.channels[0].high)
    assert len(course) == math.ceil(columns / joined) <= MOST_COLUMNS
    assert made.seconds_a_column == Decimal("0.2") * joined
    assert (course[0], course[-1], set(course[1:-1])) == (8000, 9000, {1000})
    assert numbers(made.channels[0].low) == [-one for one in course]


def test_the_level_of_joined_columns_is_that_of_all_their_samples() -> None:
    """Root of the mean of the squares: 0.3 and 0.4 make the root of 0.125."""
    one = seen([0.6, 0.8] * 600)
    assert set(numbers(kept(one).channels[0].rms)) == {round(1e4 * math.sqrt(0.125))}


def test_samples_of_floats_beyond_full_scale_are_kept_as_far_as_five_digits_go() -> None:
    course = kept(seen([1.5, 40.0], low=[-1.5, -1e6])).channels[0]
    assert (course.high, course.low) == ("15000 99999", "-15000 -99999")


def test_of_two_bands_the_louder_is_kept_and_the_centre_between_them() -> None:
    cells = bytes([40, 30, 255, 90, 255, 255, 7, 254])
    shown = kept(seen([0.5, 0.5], cells)).spectrogram
    assert shown.levels == ("30 255", "90 7")
    # The middle of 25 and 40, and of 100 and 160, on a logarithmic scale.
    assert shown.bands_hz == "32 126"
    assert len(BANDS) // BANDS_JOINED == 2


def test_joined_cells_hold_the_mean_of_their_power() -> None:
    """One of two columns silent: half the power, 3.01 dB less; 20 and 30 dB: 22.60 dB below."""
    columns = 2 * MOST_CELLS_ACROSS
    halves = bytes([20, 20, 20, 20, 255, 255, 30, 30]) * (columns // 2)
    shown = kept(seen([0.5] * columns, halves)).spectrogram
    assert [set(numbers(line)) for line in shown.levels] == [{23}, {23}]
    assert len(numbers(shown.levels[0])) == MOST_CELLS_ACROSS
    assert shown.seconds_a_column == Decimal("0.4")


def test_a_file_without_a_sample_keeps_nothing() -> None:
    assert coarsened(seen([])) is None


def test_what_is_kept_is_small() -> None:
    """An hour and a half of two channels: at most 4 kB a line of samples, 1.2 kB a line of dB."""
    made = kept(seen([0.98765] * 2048, bytes([100]) * 2048 * len(BANDS)))
    assert len(made.channels[0].low) < 4200
    assert len(made.spectrogram.levels[0]) <= 1200
