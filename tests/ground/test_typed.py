"""What people type for a number or a day is read where one thing alone can be meant."""

from decimal import Decimal

import pytest

from tailsout.ground import typed


@pytest.mark.parametrize(
    ("text", "number"),
    [("7,5", "7.5"), ("7½", "7.5"), ("7 1/2", "7.5"), ("15/16", "0.9375"), ("1e3", "1000")],
)
def test_a_number_is_read_however_it_is_spelled(text: str, number: str) -> None:
    assert typed.number(text) == Decimal(number)


@pytest.mark.parametrize(
    "text", ["1,204", "7,5/8", "1/0", "nan", "1e13", "1e-999999999", "0e-999999999", "9" * 41]
)
def test_what_may_be_two_numbers_or_fills_a_page_is_none(text: str) -> None:
    assert typed.number(text) is None


@pytest.mark.parametrize(
    ("text", "when"),
    [
        ("3.4.2026", "2026-04-03"),
        ("2026-04-03", "2026-04-03"),
        ("3. 4. 2026, 9:05", "2026-04-03T09:05"),
    ],
)
def test_a_day_is_read_with_the_day_before_the_month(text: str, when: str) -> None:
    assert typed.when(text) == when


@pytest.mark.parametrize(
    "text", ["3/4/2026", "31.2.2026", "2026W11", "2026-W11-5", f"3.4.2026{' ' * 30}9:05:00 or so"]
)
def test_what_is_no_one_day_is_empty(text: str) -> None:
    assert typed.when(text) == ""
