from decimal import Decimal

import pytest

from tailsout.tape.speed import cents, error_percent, mains_of, playing_seconds, tape_feet


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
    with pytest.raises(ValueError, match="ips is impossible"):
        playing_seconds(Decimal(1200), Decimal(ips))
    with pytest.raises(ValueError, match="ips is impossible"):
        tape_feet(Decimal(60), Decimal(ips))


# 1200 · lg2 k, derived.
@pytest.mark.parametrize(
    ("ratio", "wanted"),
    [
        (1.001, 1.731),
        (1.002, 3.459),
        (1.003, 5.186),
        (1.005, 8.635),
        (1.01, 17.226),
        (1.03, 51.173),
        (50 / 60, -315.64),
        (2, 1200),
        (77 / 76.2, 18.08),
        (49.2 / 50, -27.92),
        (58.9 / 60, -32.03),
    ],
)
def test_pitch(ratio: float, wanted: float) -> None:
    assert cents(ratio) == pytest.approx(wanted, abs=0.006)


def test_a_tone_tells_the_speed() -> None:
    assert error_percent(3159.45, 3150) == pytest.approx(0.3)


@pytest.mark.parametrize(
    ("hum", "mains"),
    [(49.2, 50), (51, 50), (58.9, 60), (60.6, 60), (55, None), (46, None), (75, None)],
)
def test_which_mains_a_hum_may_come_from(hum: float, mains: float | None) -> None:
    assert mains_of(hum) == mains


def test_no_pitch() -> None:
    with pytest.raises(ValueError, match="a speed ratio of 0 is impossible"):
        cents(0)
    with pytest.raises(ValueError, match="must be above 0"):
        error_percent(0, 50)
