import pytest

from tailsout.tape.fluxivity import at_full_scale, at_level, by_ring_head, level_db


# 20 lg(a ÷ b), derived; the usual references of trade tables.
@pytest.mark.parametrize(
    ("one", "reference", "db"),
    [
        (250, 185, 2.62),
        (320, 185, 4.76),
        (320, 250, 2.14),
        (200, 185, 0.68),
        (355, 185, 5.66),
        (370, 185, 6.02),
        (514, 185, 8.88),
        (514, 320, 4.12),
        (1040, 320, 10.24),
        (185, 185, 0),
    ],
)
def test_one_fluxivity_re_another(one: float, reference: float, db: float) -> None:
    assert level_db(one, reference) == pytest.approx(db, abs=0.006)


@pytest.mark.parametrize(
    ("reference", "fluxes"),
    [
        (185, (2932, 1850, 1470, 1167, 736)),
        (250, (3962, 2500, 1986, 1577, 995)),
        (320, (5072, 3200, 2542, 2019, 1274)),
    ],
)
def test_full_scale_as_flux(reference: float, fluxes: tuple[int, ...]) -> None:
    found = [at_full_scale(reference, level) for level in (-24, -20, -18, -16, -12)]
    assert found == pytest.approx(fluxes, abs=0.6)


def test_a_programme_peak_as_flux() -> None:
    assert at_level(250, -18, -3) == pytest.approx(1405.9, abs=0.1)


def test_the_din_transfer_against_the_ring_head() -> None:
    # JAES, "Tape flux measurement revisited": 320 reads 288 by AES7.
    assert by_ring_head(320) == pytest.approx(288)
    assert by_ring_head(514) == pytest.approx(463, abs=0.5)
    assert level_db(by_ring_head(320), 250) == pytest.approx(1.23, abs=0.006)
    assert level_db(by_ring_head(320), 185) == pytest.approx(3.84, abs=0.006)
    assert level_db(by_ring_head(320), 200) == pytest.approx(3.17, abs=0.006)


def test_no_flux() -> None:
    with pytest.raises(ValueError, match="a fluxivity of 0 nWb/m is impossible"):
        level_db(0, 185)
    with pytest.raises(ValueError, match="a fluxivity of -1 nWb/m is impossible"):
        at_full_scale(-1, 0)
