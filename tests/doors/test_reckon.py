"""`tailsout reckon`: each sum as typed on a bench, its answer, and what cannot be reckoned."""

import json
from collections.abc import Callable
from typing import Any

import pytest

from tailsout.mapping import schemas

Cli = Callable[..., Any]

# Handbook figures and derived ones; those of `tests/tape` say where each comes from.
SUMS = {
    "time --length 1200ft --speed 7½": [(32, "min")],
    "time --length 365.76m --speed 7.5": [(32, "min")],
    "time --length 1800ft --speed 3¾": [(96, "min")],
    "length --time 31:30 --speed 7.5": [(1181.2, "ft"), (360, "m")],
    "length --time 2:13:20 --speed 3¾": [(2500, "ft"), (762, "m")],
    "reel --outer 75 --hub 28.575 --thickness 52 --speed 7.5": [
        (290.5, "m"),
        (953, "ft"),
        (25.4, "min"),
        (893, "turns"),
        (0.942, "s"),
        (2.474, "s"),
    ],
    "thickness --outer 82.56 --hub 28.575 --length 1200ft": [(51.5, "µm")],
    "echo --radius 60 --thickness 52 --speed 7.5": [
        (1.9798, "s"),
        (1.9781, "s"),
        (1.715, "ms"),
        (583, "Hz"),
    ],
    "pitch --hum 49.2 --mains 50": [(0.984, "×"), (-27.92, "cents"), (101.626, "%")],
    "pitch --replay 7½ --recording 3¾": [(2, "×"), (1200, "cents"), (50, "%")],
    "curve inf/35 --at 10000 --at 1000": [(7.66, "dB"), (0.21, "dB")],
    "curve 3180/50 --at 50": [(-3.01, "dB")],
    "mismatch --tape 3180/50 --machine inf/35 --at 10000": [(-2.51, "dB"), (-0.19, "dB")],
    "wrong-speed --machine 3180/50 --replay 7.5 --recording 3¾ --tape 3180/90 --at 5000": [
        (6360, "µs"),
        (100, "µs"),
        (0.57, "dB"),
        (0.25, "dB"),
    ],
    "wrong-speed --machine inf/70 --replay 7.5 --recording 3¾": [(140, "µs")],
    "flux --of 250 --re 185": [(2.62, "dB")],
    "flux --of 320 --re 250 --din": [(288, "nWb/m"), (1.23, "dB")],
    "full-scale --reference 250 --reads -18 --peak -3": [(1985.8, "nWb/m"), (1405.9, "nWb/m")],
    "azimuth --spacing 4.3 --speed 7.5 --delay 10": [
        (1.523, "arc-minutes"),
        (36, "°"),
        (-0.44, "dB"),
    ],
    "azimuth --spacing 4.3 --speed 15 --minutes 1": [
        (1, "arc-minutes"),
        (11.8, "°"),
        (-0.05, "dB"),
    ],
    "loss --at 10000 --speed 7.5 --spacing 1 --gap 3 --coating 10": [
        (19.05, "µm"),
        (-2.86, "dB"),
        (-0.44, "dB"),
        (-10.69, "dB"),
    ],
    "track --track 1.0 --head 2.0": [(-6.02, "dB"), (-3.01, "dB")],
    "track --track 6.3 --head 2.1": [(0, "dB"), (-4.77, "dB")],
    "load --load 600 --source 600 --meter 7500": [(-6.021, "dB"), (-0.341, "dB")],
}


@pytest.mark.parametrize("typed", SUMS)
def test_each_sum(cli: Cli, typed: str) -> None:
    ran = cli("reckon", *typed.split(), "--json")
    assert (ran.code, ran.err) == (0, "")
    told = [json.loads(line) for line in ran.out.splitlines()]
    assert [(one["value"], one["unit"]) for one in told] == SUMS[typed]
    for one in told:
        assert schemas.faults(one, "reckon-0.1") == ()


def test_an_answer_that_its_schema_does_not_allow_would_be_seen() -> None:
    assert schemas.faults({"schema": schemas.urn("reckon-0.1"), "value": 1}, "reckon-0.1") != ()


def test_an_answer_is_told_with_formula_and_source(cli: Cli) -> None:
    ran = cli("reckon", "full-scale", "--reference", 250, "--reads", -18, "--peak", -1)
    assert ran.out == (
        "flux at 0 dBFS: 1985.8 nWb/m\n"
        "    = 250 × 10^((0 - (-18)) ÷ 20)\n"
        "    derived from geometry and units alone\n"
        "flux at the programme's peak: 1769.9 nWb/m\n"
        "    = 250 × 10^((-1 - (-18)) ÷ 20)\n"
        "    derived from geometry and units alone; more than most tapes hold: was the gain changed"
        " after the tone?\n"
    )


def test_a_length_in_metres_is_shown_in_feet_that_can_be_read(cli: Cli) -> None:
    ran = cli("reckon", "time", "--length", "366m", "--speed", "7.5", "--json")
    assert json.loads(ran.out)["formula"] == "1200.79 ft × 12 ÷ 7.5 ips ÷ 60"


def test_a_spread_stands_beside_its_figure(cli: Cli) -> None:
    typed = "reel --outer 75 --hub 28.575 --thickness 52 --speed 7.5"
    ran = cli("reckon", *typed.split())
    assert ran.out.startswith("length of tape: 290.5 ± 14.8 m\n")


@pytest.mark.parametrize(
    ("typed", "ips"),
    [
        ("7 1/2", 7.5),
        ("7-1/2", 7.5),
        ("15/16", 0.9375),
        ("½", 0.5),
        ("1⅞", 1.875),
        ("7,5", 7.5),
        ("15 ips", 15),
        ("19 cm/s", 7.5),
        ("4.76cm/s", 1.875),
        ("19 ips", 19),
    ],
)
def test_speeds_as_typed(cli: Cli, typed: str, ips: float) -> None:
    ran = cli("reckon", "time", "--length", "1ft", "--speed", typed, "--json")
    assert json.loads(ran.out)["formula"] == f"1 ft × 12 ÷ {ips:g} ips ÷ 60"


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ("time --length 1200 --speed 7.5", "'1200' is not a length; write 1200ft or 366m."),
        ("time --length 1.2.3ft --speed 7.5", "'1.2.3ft' is not a length; write 1200ft or 366m."),
        ("time --length 1200ft --speed fast", "'fast' is not a speed; write 7.5, 7½ or 7 1/2."),
        ("time --length 1200ft --speed 1/0", "'1/0' is not a speed; write 7.5, 7½ or 7 1/2."),
        ("time --length 1200ft --speed nan", "'nan' is not a speed; write 7.5, 7½ or 7 1/2."),
        (
            "time --length 1200ft --speed 19",
            "no machine runs at 19 ips: 19 cm/s is 7.5 ips; write 7.5.",
        ),
        (
            "time --length 1200ft --speed 0",
            "A tape speed of 0 ips is impossible. Check the values.",
        ),
        (
            "length --time soon --speed 7.5",
            "'soon' is not a time; write minutes:seconds, as 32:00.",
        ),
        ("length --time 0:00 --speed 7.5", "A length of 0.0 feet is impossible. Check the values."),
        ("curve 50", "'50' is not a curve; write 3180/50 or inf/35, in µs."),
        ("curve nab/50", "'nab/50' is not a curve; write 3180/50 or inf/35, in µs."),
        ("curve inf/0", "A time constant of 0.0 µs is impossible. Check the values."),
        ("curve inf/50 --at 0", "A frequency of 0.0 Hz is impossible. Check the values."),
        ("curve inf/50 --at inf", "'inf' is not a number; write 52 or -0.5."),
        (
            "reel --outer 20 --hub 30 --thickness 52 --speed 7.5",
            "There is no pack between radii of 30.0 and 20.0 mm. Check the values.",
        ),
        ("pitch --hum 49", "Give --replay and --recording, or --hum and --mains."),
        ("pitch --replay 7.5 --recording 0", "Give --replay and --recording, or"),
        (
            "pitch --replay 0 --recording 7.5",
            "A speed ratio of 0.0 is impossible. Check the values.",
        ),
        (
            "wrong-speed --machine inf/50 --replay 7.5 --recording 0",
            "A speed ratio of 0.0 is impossible.",
        ),
        ("azimuth --spacing 4 --speed 15", "Give one of them."),
        ("azimuth --spacing 4 --speed 15 --delay 1 --minutes 1", "Give one of them."),
        ("azimuth --spacing 0 --speed 15 --minutes 1", "A track spacing of 0.0 is impossible."),
        ("flux --of 0 --re 185", "A fluxivity of 0.0 nWb/m is impossible. Check the values."),
        ("load --load 0 --source 600", "0.0 Ω on a source of 600.0 Ω is not a load."),
        ("track --track 0 --head 1", "A track width of 0.0 is impossible. Check the values."),
        ("echo --radius 0 --thickness 52 --speed 7.5", "A radius of 0.0 mm is impossible."),
        ("sums", "No such command 'sums'."),
    ],
)
def test_what_cannot_be_reckoned(cli: Cli, typed: str, said: str) -> None:
    ran = cli("reckon", *typed.split())
    assert (ran.code, ran.out) == (2, "")
    assert said in ran.err
    assert "Traceback" not in ran.err
