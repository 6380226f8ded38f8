"""Which parts a swing could come from; sizes are common practice."""

import pytest

from tailsout.measure.turning import parts_at, rim_mm


@pytest.mark.parametrize(
    ("rate", "speed", "parts"),
    [
        (12.13, 7.5, ("capstan",)),
        (2.0, 7.5, ("roller",)),
        (0.5, 7.5, ("reel",)),
        (1.2, 7.5, ("roller", "reel")),
        (3.6, 7.5, ("capstan", "roller")),
        (0.1, 7.5, ()),
        (50.0, 15.0, ("capstan", "mains")),
        (100.3, None, ("mains",)),
        (102.0, None, ()),
        (0.5, None, ()),
    ],
)
def test_parts(rate: float, speed: float | None, parts: tuple[str, ...]) -> None:
    assert parts_at(rate, speed) == parts


def test_a_part_of_that_size_turns_so_often() -> None:
    """v = 190.5 mm/s; a rim of 20 mm is 62.83 mm around."""
    assert rim_mm(190.5 / 62.832, 7.5) == pytest.approx(20.0, abs=0.001)
    with pytest.raises(ValueError, match="speed"):
        rim_mm(1.0, 0.0)
