"""Sampling by attributes, against sums done by hand and published tables."""

from fractions import Fraction

import pytest

from tailsout.tape.sampling import chance_of_acceptance, most_faulty


def test_a_small_lot_by_hand() -> None:
    # Of 10, 2 are faulty, 3 are drawn: C(8,3) / C(10,3) = 56 / 120 hold none,
    # and 2 x C(8,2) / 120 = 56 / 120 hold one.
    assert chance_of_acceptance(lot=10, faulty=2, sample=3) == Fraction(56, 120)
    assert chance_of_acceptance(lot=10, faulty=2, sample=3, most=1) == Fraction(112, 120)
    assert chance_of_acceptance(lot=10, faulty=2, sample=3, most=2) == 1


def test_nothing_drawn_nothing_faulty_and_all_drawn() -> None:
    assert chance_of_acceptance(lot=10, faulty=5, sample=0) == 1
    assert chance_of_acceptance(lot=10, faulty=0, sample=5) == 1
    assert chance_of_acceptance(lot=10, faulty=1, sample=10) == 0
    assert chance_of_acceptance(lot=0, faulty=0, sample=0) == 1


@pytest.mark.parametrize(
    ("sample", "most", "percent", "accepted"),
    [
        # ISO 2859-1, operating characteristics of single plans, normal inspection (from memory):
        # quality in per cent nonconforming that is accepted in 95 and in 10 of 100 lots.
        (13, 0, 0.394, 0.95),  # code letter E, Ac 0
        (13, 0, 16.2, 0.10),
        (20, 0, 0.256, 0.95),  # F, Ac 0
        (20, 0, 10.9, 0.10),
        (50, 0, 0.103, 0.95),  # H, Ac 0
        (50, 0, 4.50, 0.10),
        (50, 1, 0.715, 0.95),  # H, Ac 1
        (50, 1, 7.56, 0.10),
        (50, 2, 1.66, 0.95),  # H, Ac 2
        (50, 2, 10.3, 0.10),
    ],
)
def test_published_tables(sample: int, most: int, percent: float, accepted: float) -> None:
    lot = 100_000
    faulty = round(lot * percent / 100)
    found = chance_of_acceptance(lot=lot, faulty=faulty, sample=sample, most=most)
    assert float(found) == pytest.approx(accepted, abs=0.003)


def test_the_rule_of_three() -> None:
    # None of n faulty: with 95 %, fewer than 3 in n are (common practice; ln 20 = 2.996).
    assert most_faulty(lot=1_000_000, sample=300) == pytest.approx(9936, abs=30)


@pytest.mark.parametrize(("lot", "sample"), [(10, 3), (100, 10), (57, 56), (5, 5), (3, 0)])
def test_what_may_still_be_faulty_is_the_last_that_is_not_excluded(lot: int, sample: int) -> None:
    most = most_faulty(lot=lot, sample=sample)
    assert chance_of_acceptance(lot=lot, faulty=most, sample=sample) > Fraction(5, 100)
    if most < lot - sample:
        assert chance_of_acceptance(lot=lot, faulty=most + 1, sample=sample) <= Fraction(5, 100)


@pytest.mark.parametrize(
    ("lot", "faulty", "sample", "most"), [(5, 6, 1, 0), (5, 1, 6, 0), (5, -1, 1, 0), (5, 1, 1, -1)]
)
def test_counts_that_are_none(lot: int, faulty: int, sample: int, most: int) -> None:
    with pytest.raises(ValueError, match="faulty"):
        chance_of_acceptance(lot=lot, faulty=faulty, sample=sample, most=most)
