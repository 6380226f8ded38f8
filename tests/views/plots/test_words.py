"""Words of a plot."""

import pytest

from tailsout.views.plots.words import clock, hertz, in_hertz, short, signed


@pytest.mark.parametrize(
    ("text", "most", "shown"),
    [
        ("side a", 6, "side a"),
        ("side a", 5, "side…"),
        ("side abc", 7, "side a…"),
        ("two\nlines", 20, "two lines"),
        ("  wide   blanks ", 20, "wide blanks"),
        ("灯台灯台", 8, "灯台灯台"),
        ("灯台灯台", 7, "灯台灯…"),
        ("\x1b[2J", 20, "\\x1b[2J"),
        ("", 5, ""),
        ("a" * 10_000_000, 5, "aaaa…"),
        (" " * 10_000_000, 5, "…"),
    ],
)
def test_text_is_cut_to_columns(text: str, most: int, shown: str) -> None:
    assert short(text, most) == shown


@pytest.mark.parametrize(
    ("seconds", "shown"),
    [(0.0, "0:00"), (59.99, "0:59"), (60, "1:00"), (3599, "59:59"), (3600, "1:00:00")],
)
def test_a_place_in_a_recording(seconds: float, shown: str) -> None:
    assert clock(seconds) == shown


@pytest.mark.parametrize(
    ("frequency", "dial", "whole"),
    [
        (31.5, "31.5", "31.5 Hz"),
        (1000, "1 k", "1 kHz"),
        (12500, "12.5 k", "12.5 kHz"),
        (0.25, "0.25", "0.25 Hz"),
        (100, "100", "100 Hz"),
    ],
)
def test_a_frequency(frequency: float, dial: str, whole: str) -> None:
    assert (hertz(frequency), in_hertz(frequency)) == (dial, whole)


@pytest.mark.parametrize(
    ("number", "digits", "shown"),
    [(1.25, 1, "+1.2"), (-0.04, 1, "0.0"), (0.0, 2, "0.00"), (-3, 0, "−3"), (10, 0, "+10")],
)
def test_a_signed_number(number: float, digits: int, shown: str) -> None:
    assert signed(number, digits) == shown
