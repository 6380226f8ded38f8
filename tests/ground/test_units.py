from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tailsout.ground.errors import MaterialError
from tailsout.ground.units import (
    clock_time,
    counted,
    plain,
    printable,
    samples_at,
    size,
    speed,
    times,
)


@pytest.mark.parametrize(
    ("text", "rate", "samples"),
    [
        ("0:00", 48_000, 0),
        ("12:34.5", 48_000, 36_216_000),
        ("12:34.5", 96_000, 72_432_000),
        ("1:02:03", 96_000, 357_408_000),
        ("62:03", 96_000, 357_408_000),
        ("00:00:00.000001", 48_000, 0),
        ("0:0.00001", 96_000, 1),
        ("0:59.999999", 44_100, 2_646_000),
        ("999:59:59", 48_000, 172_799_952_000),
    ],
)
def test_a_time_becomes_the_nearest_sample(text: str, rate: int, samples: int) -> None:
    assert samples_at(text, rate) == samples


@pytest.mark.parametrize(
    "text",
    [
        "",
        "12",
        "12.5",
        "0:60",
        "1:-1",
        "-1:00",
        "1:2:3:4",
        "1:00,5",
        "٣:00",
        "1_0:00",
        " 1:00",
        "1:00\n",
        "1:00.1234567",
        "1000:00",
    ],
)
def test_what_is_no_time_is_said_so(text: str) -> None:
    with pytest.raises(MaterialError, match="is not a time"):
        samples_at(text, 48_000)


@given(st.integers(0, 10**11), st.sampled_from([44_100, 48_000, 96_000, 192_000]))
def test_a_clock_time_read_back_is_within_a_millisecond(samples: int, rate: int) -> None:
    shown = samples_at(clock_time(samples, rate), rate)
    assert abs(samples - shown) <= rate // 1000 + 1


@pytest.mark.parametrize(
    ("samples", "text"),
    [
        (0, "0:00.000"),
        (47_999, "0:00.999"),
        (48_000 * 61, "1:01.000"),
        (48_000 * 3600 - 1, "59:59.999"),
        (48_000 * 3661 + 24, "1:01:01.000"),
    ],
)
def test_a_clock_time_is_cut_not_rounded(samples: int, text: str) -> None:
    assert clock_time(samples, 48_000) == text


@pytest.mark.parametrize(
    ("octets", "text"),
    [
        (0, "0 octets"),
        (999, "999 octets"),
        (1000, "1.00 kB"),
        (2_073_600_044, "2.07 GB"),
        (5_400_000, "5.40 MB"),
        (10**12, "1.00 TB"),
    ],
)
def test_sizes_are_decimal(octets: int, text: str) -> None:
    assert size(octets) == text


@pytest.mark.parametrize(
    ("ips", "text"),
    [
        ("7.5", "7.5 ips (19.05 cm/s)"),
        ("7.50", "7.5 ips (19.05 cm/s)"),
        ("15", "15 ips (38.1 cm/s)"),
        ("3.75", "3.75 ips (9.525 cm/s)"),
        ("1.875", "1.875 ips (4.7625 cm/s)"),
        ("30", "30 ips (76.2 cm/s)"),
    ],
)
def test_speeds_are_exact_both_ways(ips: str, text: str) -> None:
    # An inch is 2.54 cm exactly (international yard and pound agreement, 1959).
    assert speed(Decimal(ips)) == text


@pytest.mark.parametrize(
    ("number", "text"),
    [("3180", "3180"), ("50.0", "50"), ("1E+2", "100"), ("0.10", "0.1"), ("-3.50", "-3.5")],
)
def test_plain_numbers(number: str, text: str) -> None:
    assert plain(Decimal(number)) == text


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("7½ ips – Müller", "7½ ips – Müller"),
        ("\x1b[2J", "\\x1b[2J"),
        ("a\x9bb", "a\\x9bb"),
        ("\r\n\t\x00\x07", "\\x0d\\x0a\\x09\\x00\\x07"),
        ("\u202egnp.exe", "\\u202egnp.exe"),
        ("a\u200bb\u2028", "a\\u200bb\\u2028"),
        ("\udc80", "\\udc80"),
        ("\U000e0041", "\\U000e0041"),
    ],
)
def test_text_from_strangers_is_made_printable(text: str, shown: str) -> None:
    assert printable(text) == shown


def test_long_text_is_cut_and_says_so() -> None:
    assert printable("a" * 2001) == "a" * 2000 + "…(1 more)"
    assert printable("abcdef", 4) == "abcd…(2 more)"
    assert printable("abcd", 4) == "abcd"


@given(st.text())
def test_nothing_printable_can_command_a_terminal(text: str) -> None:
    assert printable(text, 10_000).isprintable()


@pytest.mark.parametrize(
    ("number", "shown"), [(0, "0 files"), (1, "1 file"), (2, "2 files"), (1000, "1000 files")]
)
def test_one_is_counted_as_one(number: int, shown: str) -> None:
    assert counted(number, "file") == shown


def test_a_plural_that_is_none_in_s() -> None:
    assert [counted(n, "entry", "entries") for n in (1, 2)] == ["1 entry", "2 entries"]


def test_how_often() -> None:
    assert [times(n) for n in (1, 2, 30)] == ["once", "2 times", "30 times"]
