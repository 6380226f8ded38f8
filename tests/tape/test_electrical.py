import pytest

from tailsout.tape import electrical


# 20 lg(RL ÷ (RL + Zo)), derived.
@pytest.mark.parametrize(
    ("source", "load", "db"),
    [
        (50, 600, -0.695),
        (200, 600, -2.499),
        (600, 600, -6.021),
        (600, 10_000, -0.506),
        (2_000, 10_000, -1.584),
        (2_000, 50_000, -0.341),
        (0, 600, 0),
    ],
)
def test_what_a_load_takes_off(source: float, load: float, db: float) -> None:
    assert electrical.load_db(load, source) == pytest.approx(db, abs=0.0006)


def test_a_meter_across_a_line() -> None:
    assert electrical.bridged_db(7_500, 600, 600) == pytest.approx(-0.341, abs=0.002)


def test_units() -> None:
    assert electrical.volts_of_dbu(4) == pytest.approx(1.2277, abs=0.0001)
    assert electrical.dbu_of_dbv(-10) == pytest.approx(-7.78, abs=0.006)
    assert 4 - electrical.dbu_of_dbv(-10) == pytest.approx(11.78, abs=0.006)


def test_no_load() -> None:
    with pytest.raises(ValueError, match="0 Ω on a source of 600 Ω is not a load"):
        electrical.load_db(0, 600)
    with pytest.raises(ValueError, match="600 Ω on a source of -1 Ω is not a load"):
        electrical.load_db(600, -1)
    with pytest.raises(ValueError, match="a meter of 0 Ω is impossible"):
        electrical.bridged_db(0, 600, 600)
