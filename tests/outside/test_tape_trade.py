"""Tape arithmetic against published figures, and against the circuits that define the curves.

IEC 60094-1 defines the flux of a tape by the impedances of resistors and capacitors (cl. 15, from
memory), so the curves are worked out here once more as such circuits, by complex numbers.
"""

import math
from decimal import Decimal

import pytest

from tailsout.ground.pcm import Pcm
from tailsout.records.capture import Capture
from tailsout.records.dossier import Dossier, FileRecord
from tailsout.records.facts import ContainerFacts
from tailsout.records.reel import Reel, Region, Side, StockSection
from tailsout.records.transfer import Studio, Transfer
from tailsout.rules import speeds
from tailsout.tape import fluxivity, geometry, heads
from tailsout.tape.equalisation import CURVES, Curve, flux_db, mismatch_db
from tailsout.tape.speed import playing_seconds

TONES_HZ = [20.0 * 10 ** (step / 20) for step in range(61)]
OHM = 10_000.0


def circuit_db(one: Curve) -> list[float]:
    """Voltage across resistor and series capacitor (τ1), behind a resistor and a capacitor (τ2)."""
    levels = []
    for hertz in TONES_HZ:
        s = 2j * math.pi * hertz
        # A constant current through R and C in series: 1 + 1 ÷ (s·R·C) re the resistor alone.
        lift = 1.0 if one.t1_us is None else (OHM + 1 / (s * one.t1_us * 1e-6 / OHM)) / OHM
        shunt = 1 / (s * one.t2_us * 1e-6 / OHM)
        levels.append(20.0 * math.log10(abs(lift * shunt / (OHM + shunt))))
    return levels


@pytest.mark.parametrize("one", CURVES, ids=lambda one: f"{one.speed_ips} {one.standard}")
def test_every_curve_is_that_of_its_circuit(one: Curve) -> None:
    found = [flux_db(hertz, one.t1_us, one.t2_us) for hertz in TONES_HZ]
    assert found == pytest.approx(circuit_db(one), abs=1e-9)


def test_a_circuit_of_another_time_constant_would_be_seen() -> None:
    nab = next(one for one in CURVES if one.t2_us == 90)
    found = [flux_db(hertz, nab.t1_us, 100.0) for hertz in TONES_HZ]
    assert found != pytest.approx(circuit_db(nab), abs=0.1)


# IASA-TC 04, 2nd ed., 5.4.10, Table 1, without the curve of a single maker: time constants in µs.
# Those at 1 7/8 ips are from memory.
@pytest.mark.parametrize(
    ("ips", "constants"),
    [
        (30, {(None, 17.5), (None, 35)}),
        (15, {(None, 35), (3180, 50)}),
        (7.5, {(None, 70), (3180, 50), (None, 50), (None, 100)}),
        (3.75, {(3180, 90), (3180, 120), (None, 200), (None, 100), (3180, 140)}),
        (1.875, {(3180, 120), (1590, 120)}),
    ],
)
def test_the_time_constants_are_those_of_the_table(
    ips: float, constants: set[tuple[float | None, float]]
) -> None:
    known = [(one.t1_us, one.t2_us) for one in CURVES if one.speed_ips == ips]
    assert len(known) == len(constants)
    assert set(known) == constants


def test_old_curves_ended_when_the_table_says() -> None:
    ended = {(one.speed_ips, one.t2_us): one.until for one in CURVES if one.until is not None}
    assert ended == {
        (30, 35): 1968,
        (7.5, 100): 1968,
        (3.75, 200): 1961,
        (3.75, 140): 1968,
        (1.875, 120): 1971,
    }


# Which way a tape sounds on a machine of the other curve, as two published trade pages have it: at
# 15 ips dull and heavy in the bass, at 7½ bright.
@pytest.mark.parametrize(("iec_us", "treble"), [(35, -1), (70, 1)])
def test_a_nab_tape_on_an_iec_machine(iec_us: float, treble: int) -> None:
    nab, iec = (3180.0, 50.0), (None, iec_us)
    assert mismatch_db(31.5, nab, iec) > 5
    assert mismatch_db(10_000, nab, iec) * treble > 2


# McKnight, "Azimuth in a Magnetic Tape Recorder": ±300 µrad at 10 kHz, edge tracks of 2 mm on
# ¼-inch tape, so 4 mm apart.
@pytest.mark.parametrize(("ips", "degrees"), [(3.75, 45), (7.5, 22)])
def test_phase_of_a_published_azimuth_error(ips: float, degrees: float) -> None:
    late = heads.delay_us(300e-6 / heads.MINUTE, 4.0, ips)
    assert heads.phase_degrees(10_000, late) == pytest.approx(degrees, abs=1)
    assert heads.azimuth_minutes(late, 4.0, ips) * heads.MINUTE == pytest.approx(300e-6)


# Trade tables, and a maker's own labels: 250 is sold as "+3 dB" and 355 as "+6 dB" of 185 nWb/m.
@pytest.mark.parametrize(
    ("nwb_m", "db", "label"), [(250, 2.62, 3), (320, 4.76, None), (355, 5.66, 6)]
)
def test_fluxivities_re_185(nwb_m: float, db: float, label: int | None) -> None:
    level = fluxivity.level_db(nwb_m, 185)
    assert level == pytest.approx(db, abs=0.005)
    assert label is None or level == pytest.approx(label, abs=0.4)


# Handbook tables: a reel of one name holds one length of one thickness, and plays so long.
STOCK = [
    # reel, µm, feet, minutes of one pass at 3¾, 7½ and 15 ips
    ("5 inch, small hub", 52, 600, (32, 16, 8)),
    ("5 inch, small hub", 35, 900, (48, 24, 12)),
    ("5 inch, small hub", 26, 1200, (64, 32, 16)),
    ("7 inch, small hub", 52, 1200, (64, 32, 16)),
    ("7 inch, small hub", 35, 1800, (96, 48, 24)),
    ("7 inch, small hub", 26, 2400, (128, 64, 32)),
    ("7 inch, small hub", 18, 3600, (192, 96, 48)),
    ("10½ inch", 52, 2400, (128, 64, 32)),
    ("10½ inch", 52, 2500, (133.3, 66.7, 33.3)),
    ("10½ inch", 35, 3600, (192, 96, 48)),
    ("10½ inch", 26, 4800, (256, 128, 64)),
]
RIM_MM = {
    hub: float(hub.split()[0].replace("½", ".5")) * geometry.MM_PER_INCH / 2
    for hub in geometry.HUB_RADII_MM
}


@pytest.mark.parametrize(("hub", "um", "feet", "minutes"), STOCK)
def test_a_stock_length_fits_its_reel_and_plays_as_tabled(
    hub: str, um: float, feet: int, minutes: tuple[float, ...]
) -> None:
    for ips, expected in zip(("3.75", "7.5", "15"), minutes, strict=True):
        found = float(playing_seconds(Decimal(feet), Decimal(ips))) / 60
        assert found == pytest.approx(expected, abs=0.05)
    length = feet * geometry.MM_PER_FOOT
    outer = geometry.outer_radius_mm(length, geometry.HUB_RADII_MM[hub], um)
    # Makers leave some millimetres of the flange free: full, and not over the rim.
    assert 3.5 < RIM_MM[hub] - outer < 10
    # Half as much again fits no reel.
    assert geometry.outer_radius_mm(1.5 * length, geometry.HUB_RADII_MM[hub], um) > RIM_MM[hub]


def side_of(diameter: str, um: int, minutes: float, ips: str) -> Dossier:
    """A side of a reel that was captured for so long."""
    rate = 48_000
    frames = round(minutes * 60 * rate)
    region = Region(
        id="A1", kind="programme", capture="a", start=0, end=frames, speed_ips=Decimal(ips)
    )
    reel = Reel(
        diameter_in=Decimal(diameter),
        stock=(StockSection(id="s1", thickness_um=Decimal(um)),),
        sides=(Side(id="A", regions=(region,)),),
    )
    pcm = Pcm(is_float=False, sample_rate_hz=rate, channels=1, container_bits=24, valid_bits=24)
    return Dossier(
        origin="closing",
        transfer=Transfer(
            job_id="0b7d6c1e-8a54-4f39-9c2b-27d0a3f6e518",
            package_id="SKL-0008",
            studio=Studio(),
            reel=reel,
            captures=(Capture(id="a", file="captures/a.wav"),),
        ),
        files=(
            FileRecord(
                path="captures/a.wav",
                octets=0,
                capture="a",
                container=ContainerFacts(form="RIFF", chunks=()),
                pcm=pcm,
                frames=frames,
            ),
        ),
    )


# The same tables: a capture as long as the reel plays is plausible, a few per cent more too (makers
# put more on a reel than the box says), and at twice the speed no reel holds so much.
@pytest.mark.parametrize(("hub", "um", "feet", "minutes"), STOCK)
def test_a_capture_as_long_as_tabled_is_plausible_and_one_of_another_speed_is_not(
    hub: str, um: int, feet: int, minutes: tuple[float, ...]
) -> None:
    [rule] = (one for one in speeds.RULES if one.name == "tape played against the reel")
    diameter = hub.split(maxsplit=1)[0].replace("½", ".5")
    for ips, tabled in zip(("3.75", "7.5", "15"), minutes, strict=True):
        assert list(rule.run(side_of(diameter, um, tabled, ips))) == [], (feet, ips)
        assert list(rule.run(side_of(diameter, um, tabled * 1.05, ips))) == []
        twice = str(Decimal(ips) * 2)
        [asked] = rule.run(side_of(diameter, um, tabled, twice))
        assert asked.code == "tape-longer-than-reel"
