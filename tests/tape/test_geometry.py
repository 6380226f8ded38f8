import math
from collections.abc import Callable

import pytest

from tailsout.tape import geometry
from tailsout.tape.geometry import HUB_RADII_MM as HUBS

# Reel, feet, µm; outer radius, turns, turn at 7½ ips from hub to outside (derived from the hubs
# and thicknesses of the module).
PACKS = [
    ("5 inch, small hub", 600, 52, 59.34, 714, 0.733, 1.957),
    ("5 inch, small hub", 900, 35, 59.58, 1067, 0.733, 1.965),
    ("5 inch, small hub", 1200, 26, 59.34, 1427, 0.733, 1.957),
    ("7 inch, small hub", 1200, 52, 82.89, 1045, 0.942, 2.734),
    ("7 inch, small hub", 1800, 35, 83.24, 1562, 0.942, 2.745),
    ("7 inch, small hub", 3600, 18, 84.28, 3095, 0.942, 2.780),
    ("10½ inch", 2400, 52, 123.99, 1285, 1.885, 4.090),
    ("10½ inch", 2500, 52, 126.01, 1324, 1.885, 4.156),
    ("10½ inch", 4800, 26, 123.99, 2571, 1.885, 4.090),
]


@pytest.mark.parametrize("pack", PACKS)
def test_packs(pack: tuple[str, float, float, float, float, float, float]) -> None:
    hub, feet, um, outer, count, inner_turn, outer_turn = pack
    length = feet * geometry.MM_PER_FOOT
    radius = geometry.outer_radius_mm(length, HUBS[hub], um)
    assert radius == pytest.approx(outer, abs=0.011)
    assert geometry.turns(radius, HUBS[hub], um) == pytest.approx(count, abs=0.6)
    assert geometry.turn_seconds(HUBS[hub], 7.5) == pytest.approx(inner_turn, abs=0.0006)
    assert geometry.turn_seconds(radius, 7.5) == pytest.approx(outer_turn, abs=0.0006)
    assert geometry.length_mm(radius, HUBS[hub], um) == pytest.approx(length)
    assert geometry.thickness_um(radius, HUBS[hub], length) == pytest.approx(um)


@pytest.mark.parametrize(
    ("hub", "outer", "um", "feet"),
    [
        ("7 inch, small hub", 75, 52, 953.1),
        ("10½ inch", 110, 52, 1751.0),
        ("5 inch, small hub", 50, 35, 590.8),
    ],
)
def test_lengths_of_part_full_reels(hub: str, outer: float, um: float, feet: float) -> None:
    assert geometry.length_mm(outer, HUBS[hub], um) / geometry.MM_PER_FOOT == pytest.approx(
        feet, abs=0.6
    )


def test_how_sure_a_length_is() -> None:
    for hub, outer, share in (("7 inch, small hub", 75, 0.050), ("10½ inch", 110, 0.047)):
        length = geometry.length_mm(outer, HUBS[hub], 52)
        spread = geometry.length_spread_mm(outer, HUBS[hub], 52)
        # The shares are of whole steps, one side: a little less than the first order.
        assert spread / length == pytest.approx(share, abs=0.0012)


def test_a_reel_as_it_empties() -> None:
    minutes = {0: (82.89, 2.734), 8: (73.19, 2.414), 16: (62.00, 2.045), 24: (48.27, 1.592)}
    for minute, (radius, turn) in minutes.items():
        played = minute * 60 * geometry.speed_mm_s(7.5)
        found = geometry.radius_after_mm(82.89, played, 52)
        assert found == pytest.approx(radius, abs=0.02)
        assert geometry.turn_seconds(found, 7.5) == pytest.approx(turn, abs=0.001)


def test_thickness_from_a_pack() -> None:
    assert geometry.thickness_um(82.56, 28.575, 1200 * 304.8) == pytest.approx(51.53, abs=0.02)


def test_tension_from_full_to_empty() -> None:
    assert geometry.tension_ratio(59.34, 22.225) == pytest.approx(2.67, abs=0.01)
    assert geometry.tension_ratio(57.15, 22.225) == pytest.approx(2.571, abs=0.001)


@pytest.mark.parametrize(
    ("feet", "stock"), [(1181, 1200), (1785, 1800), (2434, 2400), (2520, 2400), (2521, 2500)]
)
def test_the_length_that_was_sold(feet: float, stock: int) -> None:
    assert geometry.nearest_stock_ft(feet) == stock


def test_more_than_any_reel_held() -> None:
    assert geometry.nearest_stock_ft(5041) is None


@pytest.mark.parametrize(
    ("hub", "feet", "um", "semitones"),
    [(16, 150, 35, 9.48), (22.2, 300, 35, 9.70), (16, 225, 26, 10.11)],
)
def test_drift_of_a_machine_without_capstan(
    hub: float, feet: float, um: float, semitones: float
) -> None:
    found = geometry.rim_drive_drift_semitones(hub, feet * 304.8, um)
    assert found == pytest.approx(semitones, abs=0.01)


@pytest.mark.parametrize(
    "wrong",
    [
        lambda: geometry.length_mm(20, 30, 52),
        lambda: geometry.length_mm(30, 0, 52),
        lambda: geometry.length_mm(30, 20, 0),
        lambda: geometry.thickness_um(30, 20, 0),
        lambda: geometry.outer_radius_mm(-1, 20, 52),
        lambda: geometry.turn_seconds(0, 7.5),
        lambda: geometry.turn_seconds(30, 0),
        lambda: geometry.radius_after_mm(30, -1, 52),
        lambda: geometry.radius_after_mm(30, 1e6, 52),
        lambda: geometry.nearest_stock_ft(0),
    ],
)
def test_what_cannot_be(wrong: Callable[[], object]) -> None:
    with pytest.raises(ValueError, match=r"is impossible|there is no pack|cannot have left"):
        wrong()


def test_one_turn_more_is_one_thickness() -> None:
    before = geometry.length_mm(50, 20, 52)
    turn = geometry.length_mm(50.052, 20, 52) - before
    assert turn == pytest.approx(2 * math.pi * 50.026, rel=1e-6)


@pytest.mark.parametrize(
    ("inches", "thickness_um", "feet"),
    [
        # Lengths that tape was sold in, by the handbooks of its makers; from memory.
        (5.0, 52.0, 600),
        (5.0, 35.0, 900),
        (7.0, 52.0, 1200),
        (7.0, 35.0, 1800),
        (7.0, 26.0, 2400),
        (7.0, 18.0, 3600),
        (10.5, 52.0, 2500),
        (10.5, 35.0, 3600),
    ],
)
def test_a_full_reel_holds_what_it_was_sold_with(
    inches: float, thickness_um: float, feet: int
) -> None:
    mm = geometry.full_length_mm(inches, thickness_um)
    assert mm is not None
    # "At most" must not fall short of a reel as it was sold; makers put some per cent more on it.
    assert feet <= mm / geometry.MM_PER_FOOT <= feet * 1.06


def test_a_reel_of_a_size_not_known_holds_nobody_knows_what() -> None:
    assert geometry.full_length_mm(6.0, 52.0) is None
    with pytest.raises(ValueError, match="thickness"):
        geometry.full_length_mm(7.0, 0.0)
