from decimal import Decimal

import pytest

from tailsout.measure.levels import decibels, hundredths


@pytest.mark.parametrize(
    ("value", "expected"),
    [
        (0.125, "0.13"),
        (-0.125, "-0.13"),
        (-0.001, "0.00"),
        (-23.004, "-23.00"),
        (7.0, "7.00"),
    ],
)
def test_rounds_half_away_from_zero(value: float, expected: str) -> None:
    assert str(hundredths(value)) == expected


def test_decibels() -> None:
    assert decibels(1.0) == Decimal("0.00")
    assert decibels(0.5) == Decimal("-6.02")
    assert decibels(0.0) is None
