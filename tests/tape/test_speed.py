from decimal import Decimal

import pytest

from tailsout.tape.speed import playing_seconds, tape_feet


@pytest.mark.parametrize(
    ("feet", "ips", "minutes"),
    [
        ("1200", "15", "16"),
        ("1200", "7.5", "32"),
        ("1200", "3.75", "64"),
        ("2500", "30", "16.66666666666666666666666667"),
        ("0", "15", "0"),
    ],
)
def test_a_length_plays_as_long_as_the_handbooks_say(feet: str, ips: str, minutes: str) -> None:
    # Handbook arithmetic: feet times 12 inches, through the speed.
    assert playing_seconds(Decimal(feet), Decimal(ips)) / 60 == Decimal(minutes)


@pytest.mark.parametrize(
    ("seconds", "ips", "feet"), [("960", "15", "1200"), ("1920", "7.5", "1200"), ("0", "15", "0")]
)
def test_a_time_takes_its_length_of_tape(seconds: str, ips: str, feet: str) -> None:
    assert tape_feet(Decimal(seconds), Decimal(ips)) == Decimal(feet)


@pytest.mark.parametrize("ips", ["0", "-7.5"])
def test_no_speed_is_an_error(ips: str) -> None:
    with pytest.raises(ValueError, match="ips is none"):
        playing_seconds(Decimal(1200), Decimal(ips))
    with pytest.raises(ValueError, match="ips is none"):
        tape_feet(Decimal(60), Decimal(ips))
