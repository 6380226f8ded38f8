"""`tailsout tones`: what it prints, and the exit code of each end."""

import json
import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import soundfile

from tailsout.mapping import schemas

RATE = 48_000
FORM = """\
id = "ct-7"
speed_ips = 7.5
tones = [
  {frequency_hz = 1000, use = "reference level", level_db = 0.0},
  {frequency_hz = 10000, use = "azimuth", level_db = 0.0, tolerance_db = 0.5},
  {frequency_hz = 100, use = "response", level_db = 0.0, tolerance_db = 0.5},
]
"""

Cli = Callable[..., Any]


def capture(path: Path, *series: tuple[float, float]) -> Path:
    parts: list[Any] = []
    time = np.arange(round(1.3 * RATE)) / RATE
    for hz, db in series:
        tone = 0.125 * 10 ** (db / 20) * np.sin(2 * np.pi * hz * time)
        parts += [tone, np.zeros(RATE // 2)]
    both = np.stack([np.concatenate(parts)] * 2, axis=1)
    soundfile.write(path, both, RATE, subtype="PCM_24")
    return path


@pytest.fixture
def tape(tmp_path: Path) -> Path:
    path = tmp_path / "ct.toml"
    path.write_text(FORM, "utf-8")
    return path


@pytest.fixture
def good(tmp_path: Path) -> Path:
    return capture(tmp_path / "good.wav", (1000, 0.0), (10_000, -0.7), (100, 0.2))


def test_a_reading_for_people(cli: Cli, good: Path, tape: Path) -> None:
    told = cli("tones", good, "--against", tape, "--head-spacing", "4.3")
    assert told.code == 0
    assert told.err == ""
    assert "tones       3 found; 3 of the 3 of calibration tape ct-7" in told.out
    assert "channel 1   reference tone -18.06 dBFS" in told.out
    assert "+0.00 arc-minutes at 4.3 mm" in told.out
    row = next(line for line in told.out.splitlines() if line.startswith("     2  "))
    assert row.split() == [
        *("2", "0:01.800", "10000", "10000.0", "1"),
        *("-18.76", "-0.70", "-0.70", "NO", "-"),
    ]


def test_a_reading_for_programs(cli: Cli, good: Path, tape: Path) -> None:
    told = cli("tones", good, "--against", tape, "--json")
    assert told.code == 0
    (line,) = told.out.splitlines()
    said = json.loads(line)
    assert schemas.faults(said, "tones-0.1") == ()
    assert said["fit"] == "fits"
    assert said["tones"][1]["channels"][0]["is_within"] is False
    assert said["readings"][2] == {"channel": 1, "frequency_hz": 10_000, "level_db": -0.70}
    assert schemas.faults({**said, "tones": [{}]}, "tones-0.1")


@pytest.mark.parametrize("moment", ["as-found", "as-left"])
def test_lines_for_the_session_form(cli: Cli, good: Path, tape: Path, moment: str) -> None:
    told = cli("tones", good, "--against", tape, "--form", moment)
    assert told.code == 0
    form = tomllib.loads(f"[[settings]]\n{told.out}")
    assert len(form["settings"][0][moment.replace("-", "_")]) == 6


def test_the_reels_own_tones(cli: Cli, tmp_path: Path) -> None:
    told = cli("tones", capture(tmp_path / "reel.wav", (1000, 0.0), (60, -3.0)), "--on-reel")
    assert told.code == 0
    assert "2 found, the reel's own" in told.out
    assert " speed " not in told.out


@pytest.mark.parametrize(
    ("series", "why"),
    [
        ([(700, 0.0), (440, 0.0), (6000, 0.0)], "Few of these tones are the calibration tape's."),
        ([(500, 0.0), (5000, 0.0), (50, 0.0)], "These are the calibration tape's tones at another"),
        ([(1000, -90.0)], "No steady tone of a second or more was found."),
    ],
)
def test_a_wrong_tape_fails_and_prints_no_lines_for_a_form(
    cli: Cli, tmp_path: Path, tape: Path, series: list[tuple[float, float]], why: str
) -> None:
    path = capture(tmp_path / "wrong.wav", *series)
    told = cli("tones", path, "--against", tape)
    assert told.code == 1
    assert why in told.err
    assert "  speed  " not in told.out
    form = cli("tones", path, "--against", tape, "--form", "as-left")
    assert (form.code, form.out.strip()) == (1, "")
    said = json.loads(cli("tones", path, "--against", tape, "--json").out)
    assert schemas.faults(said, "tones-0.1") == ()
    assert "readings" not in said


def test_missing_and_unknown_tones_are_told(cli: Cli, tmp_path: Path, tape: Path) -> None:
    path = capture(tmp_path / "c.wav", (1000, 0.0), (333, 0.0), (100, 0.0))
    told = cli("tones", path, "--against", tape)
    assert told.code == 0
    assert "missing     10000 Hz of the certificate" in told.out
    assert "* not among the tones of the certificate" in told.out
    assert "  *  2 " in told.out


@pytest.mark.parametrize(
    ("arguments", "code", "why"),
    [
        ([], 2, "--against, or say --on-reel"),
        (["--against", "ct-7", "--on-reel"], 2, "one of them"),
        (["--against", "ct-7"], 2, "There is no calibration tape ct-7."),
        (["--on-reel", "--json", "--form", "as-left"], 2, "not for both"),
        (["--on-reel", "--head-spacing", "0"], 2, "'0' is not a number from 0.1 to 100."),
        (["--on-reel", "--head-spacing", "4.3.1"], 2, "'4.3.1' is not a number; write 52 or -0.5."),
        (["--on-reel", "--form", "as-is"], 2, "as-is"),
    ],
)
def test_command_lines_that_are_off(
    cli: Cli, good: Path, arguments: list[str], code: int, why: str
) -> None:
    told = cli("tones", good, *arguments)
    assert told.code == code
    assert why in told.err


def test_a_form_with_faults_and_a_file_without_audio(cli: Cli, good: Path, tape: Path) -> None:
    tape.write_text(FORM.replace("7.5", "-1"), "utf-8")
    told = cli("tones", good, "--against", tape, "--json")
    assert told.code == 1
    said = json.loads(told.out)
    assert schemas.faults(said, "tones-0.1") == ()
    assert "ct.toml:2 speed_ips" in said["error"]
    good.write_bytes(b"RIFF")
    assert cli("tones", good, "--on-reel").code == 1
    assert cli("tones", good.with_name("none.wav"), "--on-reel").code == 2


def test_a_damaged_capture_is_read_as_far_as_it_goes(cli: Cli, good: Path, tape: Path) -> None:
    good.write_bytes(good.read_bytes()[:-RATE])
    told = cli("tones", good, "--against", tape)
    assert told.code == 1
    assert "3 of the 3" in told.out
    assert "damage:" in told.err


def test_help_loads_no_numbers(process: Cli) -> None:
    look = "import sys; from tailsout.doors.cli import run; run(['tones', '-h'])"
    told = process(code=f"{look}; print('numpy' in sys.modules)")
    assert told.out.rstrip().endswith("False")
