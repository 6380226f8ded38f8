import pytest

from tailsout.tape.bandwidth import implausible_above_hz


# Common practice, no source; what is held here is the shape.
def test_it_grows_with_speed() -> None:
    edges = [
        implausible_above_hz(speed) for speed in (0.5, 0.9375, 1.875, 3.75, 5, 7.5, 15, 30, 60)
    ]
    assert edges == sorted(edges)
    assert implausible_above_hz(3.75) == 15_000
    assert implausible_above_hz(5) == pytest.approx(17_500)
    assert implausible_above_hz(60) == implausible_above_hz(30)
    assert implausible_above_hz(0.46875) == pytest.approx(3_125)


def test_no_speed() -> None:
    with pytest.raises(ValueError, match="a tape speed of 0 ips is impossible"):
        implausible_above_hz(0)
