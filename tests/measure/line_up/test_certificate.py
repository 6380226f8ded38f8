"""Found tones are matched to the certificate's, or to nothing."""

import pytest

from tailsout.measure.certificate import MOST_SPEED_ERROR, Match, match

SERIES = (
    *(1000.0, 10_000, 1000, 31.5, 40, 63, 125, 250, 500, 1000, 2000),
    *(4000, 6300, 8000, 10_000, 12_500, 16_000, 18_000, 20_000, 1000),
)
REACH = 21_600.0


def matched(found: tuple[float, ...], listed: tuple[float, ...] = SERIES) -> Match:
    return match(found, listed, reach_hz=REACH)


@pytest.mark.parametrize("speed", [0.0, 0.0027, -0.03, 0.039])
def test_all_tones_at_a_speed(speed: float) -> None:
    # Each tone a little off by itself, as wow and short low tones make it.
    found = tuple(hz * (1 + speed) * (1.004 if at % 2 else 0.997) for at, hz in enumerate(SERIES))
    assert matched(found) == Match(fit="fits", pairs=tuple((at, at) for at in range(len(SERIES))))


def test_repeated_reference_tones_are_told_apart_by_order() -> None:
    without = (*SERIES[:2], *SERIES[3:])
    found = matched(without)
    assert found.fit == "fits"
    assert found.pairs[:3] == ((0, 0), (1, 1), (2, 3))
    assert found.pairs[-1] == (len(without) - 1, len(SERIES) - 1)


def test_tones_that_the_tape_does_not_have_are_passed_over() -> None:
    found = matched((50.0, *SERIES[:6], 50.0, *SERIES[6:], 333.0))
    assert found.fit == "fits"
    assert len(found.pairs) == len(SERIES)
    assert 0 not in {at for at, _ in found.pairs}


def test_a_certificate_that_lists_few_of_the_tones() -> None:
    found = matched(SERIES, (1000.0, 10_000, 125, 1000, 10_000))
    assert found.fit == "fits"
    assert [listed for _, listed in found.pairs] == [0, 1, 2, 3, 4]


def test_a_capture_of_a_part_of_the_tape() -> None:
    found = matched(SERIES[5:11])
    assert found.fit == "fits"
    assert found.pairs == tuple((at, at + 5) for at in range(6))


def test_tones_beyond_the_sample_rate_need_not_be_found() -> None:
    listed = (1000.0, 8000, 10_000, 12_500, 16_000)
    assert match(listed[:1], listed, reach_hz=3600).fit == "fits"


@pytest.mark.parametrize(
    "found",
    [
        (700.0, 15_000, 400, 333, 90, 70, 7500, 5000),
        (1000.0, 10_000, 100),
        (1000.0,),
        tuple(reversed(SERIES)),
        tuple(hz * 1.3 for hz in SERIES),
        tuple(hz * (1 + MOST_SPEED_ERROR + 0.005) for hz in SERIES),
    ],
)
def test_another_tape(found: tuple[float, ...]) -> None:
    assert matched(found) == Match(fit="few tones match")


@pytest.mark.parametrize("ratio", [0.25, 0.5, 2.0, 4.0])
def test_the_tape_at_another_speed(ratio: float) -> None:
    found = tuple(hz * ratio * 1.002 for hz in SERIES)
    assert matched(found) == Match(fit="another speed")


def test_a_flutter_tape_of_3000_is_none_of_3150() -> None:
    assert matched((3000.0,), (3150.0,)).fit == "few tones match"
    assert matched((3141.0,), (3150.0,)) == Match(fit="fits", pairs=((0, 0),))


def test_no_tones() -> None:
    assert matched(()) == Match(fit="no tones")


def test_five_hundred_tones_against_two_hundred() -> None:
    listed = tuple(100.0 * 1.02**at for at in range(200))
    found = tuple(one for hz in listed for one in (hz, hz * 1.009))
    assert len(matched(found, listed).pairs) == 200
