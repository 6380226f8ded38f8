import pytest

from tailsout.tape.equalisation import (
    CURVES,
    corner_hz,
    curves_at,
    effective_constants,
    flux_db,
    mismatch_db,
    named,
    shift_db,
)

NAB = (3180, 50)
TONES = (31.5, 50, 100, 1_000, 3_150, 5_000, 10_000, 16_000, 20_000)

# IEC 60094-1 cl. 15 (formula from memory); figures derived from it apart from this code.
MEDIUM_FLUX: dict[tuple[float | None, float], tuple[float, ...]] = {
    (None, 17.5): (0, 0, 0, -0.05, -0.49, -1.15, -3.44, -6.12, -7.66),
    (None, 35): (0, 0, 0, -0.21, -1.70, -3.44, -7.66, -11.26, -13.08),
    (3180, 50): (5.47, 3.01, 0.97, -0.40, -2.96, -5.40, -10.36, -14.19, -16.07),
    (None, 70): (0, 0, -0.01, -0.77, -4.65, -7.66, -13.08, -17.03, -18.94),
    (3180, 90): (5.47, 3.01, 0.96, -1.19, -6.20, -9.54, -15.18, -19.18, -21.10),
    (3180, 120): (5.47, 3.01, 0.95, -1.94, -8.22, -11.82, -17.62, -21.66, -23.59),
    (None, 100): (0, 0, -0.02, -1.45, -6.92, -10.36, -16.07, -20.09, -22.01),
}


@pytest.mark.parametrize("curve", MEDIUM_FLUX, ids=str)
def test_medium_flux(curve: tuple[float | None, float]) -> None:
    found = [flux_db(f, *curve) for f in TONES]
    assert found == pytest.approx(MEDIUM_FLUX[curve], abs=0.006)


# 1 ÷ (2πτ), derived.
@pytest.mark.parametrize(
    ("constant", "corner"),
    [
        (17.5, 9094.6),
        (35, 4547.3),
        (50, 3183.1),
        (70, 2273.6),
        (90, 1768.4),
        (100, 1591.5),
        (120, 1326.3),
        (140, 1136.8),
        (200, 795.8),
        (3180, 50.05),
    ],
)
def test_corners(constant: float, corner: float) -> None:
    assert corner_hz(constant) == pytest.approx(corner, abs=0.06)


# Derived from the curves of IASA-TC 04 5.4.10 Table 1; 0 dB at 1 kHz.
MISMATCH = [
    (NAB, (None, 35), (5.66, 3.21, 1.16, -1.76, -2.51, -2.74), -0.19),
    (NAB, (None, 70), (5.10, 2.65, 0.60, 1.89, 2.35, 2.47), 0.37),
    ((None, 100), NAB, (-4.43, -1.97, 0.06, -3.92, -4.66, -4.85), -1.05),
    ((None, 100), (None, 70), (0.68, 0.67, 0.67, -2.02, -2.31, -2.38), -0.68),
    ((3180, 140), (3180, 90), (1.28, 1.28, 1.26, -2.26, -2.48, -2.52), -1.28),
    ((None, 35), (None, 17.5), (0.15, 0.15, 0.15, -2.14, -4.07, -4.99), -0.15),
]


@pytest.mark.parametrize(("tape", "machine", "response", "raw"), MISMATCH)
def test_a_tape_of_one_curve_on_a_machine_of_another(
    tape: tuple[float | None, float],
    machine: tuple[float | None, float],
    response: tuple[float, ...],
    raw: float,
) -> None:
    tones = (31.5, 50, 100, 5_000, 10_000, 16_000)
    assert [mismatch_db(f, tape, machine) for f in tones] == pytest.approx(response, abs=0.011)
    assert [mismatch_db(f, machine, tape) for f in tones] == pytest.approx(
        [-one for one in response], abs=0.011
    )
    assert shift_db(1000, tape, machine) == pytest.approx(raw, abs=0.006)
    assert mismatch_db(1000, tape, machine) == 0


# τ·k, derived: replay curve, speed ratio, its effect, and the error against the wanted curve.
WRONG_SPEED = [
    (NAB, 2, (3180, 90), (6360, 100), (3.10, 1.80, 0.57, 0.64, 0.66)),
    ((None, 70), 2, (3180, 90), (None, 140), (4.18, 1.72, 2.25, 2.46, 2.51)),
    (NAB, 2, NAB, (6360, 100), (2.30, 1.00, 3.92, 4.67, 4.83)),
    (NAB, 0.5, NAB, (1590, 25), (-4.65, -3.65, -2.98, -4.63, -5.16)),
    (NAB, 4, (3180, 120), (12720, 200), (2.67, 0.59, 2.08, 2.22, 2.25)),
]


@pytest.mark.parametrize(("replayed", "ratio", "wanted", "effective", "error"), WRONG_SPEED)
def test_a_capture_at_another_speed(
    replayed: tuple[float | None, float],
    ratio: float,
    wanted: tuple[float | None, float],
    effective: tuple[float | None, float],
    error: tuple[float, ...],
) -> None:
    assert effective_constants(replayed, ratio) == effective
    tones = (31.5, 50, 5_000, 10_000, 15_000)
    assert [mismatch_db(f, wanted, effective) for f in tones] == pytest.approx(error, abs=0.011)


def test_the_curves_known_for_a_speed() -> None:
    assert {one.t2_us for one in curves_at(7.5)} == {50, 70, 100}
    nab = named(7.5, 3180, 50)
    assert nab is not None
    assert "NAB" in nab.standard
    assert named(7.5, 3180, 90) is None
    assert curves_at(0.9375) == ()
    assert all(one.source for one in CURVES)


@pytest.mark.parametrize(
    ("frequency", "t1", "t2"), [(0, None, 50), (-1, None, 50), (1, 0, 50), (1, None, 0)]
)
def test_what_is_no_curve(frequency: float, t1: float | None, t2: float) -> None:
    with pytest.raises(ValueError, match="is impossible"):
        flux_db(frequency, t1, t2)


def test_no_speed_ratio() -> None:
    with pytest.raises(ValueError, match="a speed ratio of 0 is impossible"):
        effective_constants(NAB, 0)
