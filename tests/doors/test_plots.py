"""`--plots DIR`: pictures as new files, and nothing else changed."""

import math
import os
import struct
import wave
import xml.etree.ElementTree as ET
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

import pytest

# Loaded and compiled while tests are gathered, so that none of them waits for it.
import tailsout.views.plots.spectrogram
import tailsout.work.measure
import tailsout.work.tones  # noqa: F401

Cli = Callable[..., Any]
RATE = 8_000
LOADED = """
import sys
from tailsout.doors.cli import run
code = run(sys.argv[1:])
print("matplotlib" in sys.modules, file=sys.stderr)
sys.exit(code)
"""


def tones(path: Path, frequencies: tuple[float, ...] = (1000, 500, 3000)) -> Path:
    """Five seconds of each, with half a second of silence before it; channel 2 a little late."""
    frames = bytearray()
    for frequency in frequencies:
        frames += bytes(4 * RATE // 2)
        for at in range(5 * RATE):
            turns = 2 * math.pi * frequency * at / RATE
            pair = (math.sin(turns), math.sin(turns - 6e-6 * 2 * math.pi * frequency))
            frames += struct.pack("<hh", *(round(8000 * one) for one in pair))
    with wave.open(str(path), "wb") as out:
        out.setnchannels(2)
        out.setsampwidth(2)
        out.setframerate(RATE)
        out.writeframes(bytes(frames))
    return path


@pytest.fixture(scope="module")
def capture(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tones(tmp_path_factory.mktemp("plots") / "left as found.wav")


def contents(folder: Path) -> Mapping[str, bytes]:
    return {one.name: one.read_bytes() for one in sorted(folder.iterdir())}


def test_measure_writes_waveform_and_spectrogram(cli: Cli, capture: Path, tmp_path: Path) -> None:
    folder = tmp_path / "new"
    ran = cli("measure", capture, "--plots", folder)
    assert (ran.code, ran.err) == (0, "")
    found = contents(folder)
    assert list(found) == ["left as found-spectrogram.svg", "left as found-waveform.svg"]
    for name, octets in found.items():
        assert str(folder / name) in ran.out
        assert "left as found.wav" in (ET.fromstring(octets)[0].text or "")  # noqa: S314  our own


def test_tones_writes_four(cli: Cli, capture: Path, tmp_path: Path) -> None:
    ran = cli("tones", capture, "--on-reel", "--plots", tmp_path)
    assert (ran.code, ran.err) == (0, "")
    found = contents(tmp_path)
    assert [name.removeprefix("left as found-") for name in found] == [
        "azimuth.svg",
        "flutter-spectrum.svg",
        "flutter.svg",
        "response.svg",
    ]
    assert b"channel 2 against 1: +6.0" in found["left as found-azimuth.svg"]
    assert b"1 kHz" in found["left as found-response.svg"]


@pytest.mark.parametrize("command", ["measure", "tones"])
def test_what_is_there_is_never_written_over(
    cli: Cli, capture: Path, tmp_path: Path, command: str
) -> None:
    more = ("--on-reel",) if command == "tones" else ()
    assert cli(command, capture, *more, "--plots", tmp_path).code == 0
    before = contents(tmp_path)
    ran = cli(command, capture, *more, "--plots", tmp_path)
    assert (ran.code, ran.out) == (3, "")
    assert ran.err.startswith("tailsout: left as found-")
    assert " already. Name another folder." in ran.err
    assert contents(tmp_path) == before


def test_two_files_of_one_name_do_not_mix(cli: Cli, capture: Path, tmp_path: Path) -> None:
    other = tmp_path / "other"
    other.mkdir()
    (other / capture.name).write_bytes(capture.read_bytes())
    ran = cli("measure", capture, other / capture.name, "--plots", tmp_path / "plots")
    assert ran.code == 3
    assert len(contents(tmp_path / "plots")) == 2


@pytest.mark.parametrize("place", ["file", "file/in", "no/such/place"])
def test_a_place_that_is_no_folder_is_refused(
    cli: Cli, capture: Path, tmp_path: Path, place: str
) -> None:
    (tmp_path / "file").write_bytes(b"mine")
    ran = cli("measure", capture, "--plots", tmp_path / place)
    assert (ran.code, ran.out) == (2, "")
    assert " is not a folder. " in ran.err
    assert contents(tmp_path) == {"file": b"mine"}


def test_a_dangling_link_is_not_followed(cli: Cli, capture: Path, tmp_path: Path) -> None:
    away = tmp_path / "away.svg"
    (tmp_path / "left as found-waveform.svg").symlink_to(away)
    assert cli("measure", capture, "--plots", tmp_path).code == 3
    assert not away.exists()


@pytest.mark.skipif(os.name != "posix", reason="permissions of POSIX")
def test_a_folder_that_cannot_be_written_is_told(
    cli: Cli, capture: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse(*_: object) -> None:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr("tailsout.bag.disk.Disk.create", refuse)
    ran = cli("measure", capture, "--plots", tmp_path)
    assert ran.code == 4
    assert "Permission" in ran.err
    assert contents(tmp_path) == {}


def test_programs_are_told_the_same_line(cli: Cli, capture: Path, tmp_path: Path) -> None:
    plain = cli("measure", "--json", capture)
    assert cli("measure", "--json", capture, "--plots", tmp_path).out == plain.out


def test_too_many_channels_are_said_not_to_be_drawn(cli: Cli, bench: Any, tmp_path: Path) -> None:
    path = tmp_path / "many.wav"
    with wave.open(str(path), "wb") as out:
        out.setnchannels(40)
        out.setsampwidth(2)
        out.setframerate(RATE)
        out.writeframes(bytes(80 * 400))
    ran = cli("measure", path, "--plots", tmp_path / "plots")
    assert (ran.code, ran.err) == (0, "")
    assert "  plot        none: so many channels are not drawn\n" in ran.out
    assert not (tmp_path / "plots").exists()


@pytest.mark.parametrize("asked", [False, True])
def test_only_who_asks_for_plots_waits_for_the_library(
    process: Cli, bench: Any, tmp_path: Path, asked: bool
) -> None:
    path = tmp_path / "short.wav"
    path.write_bytes(bench.wave(frames=480))
    more = ("--plots", tmp_path / "plots") if asked else ()
    # So short a file is measured sooner than the compiled kernels are loaded.
    ran = process("measure", path, *more, code=LOADED, NUMBA_DISABLE_JIT="1")
    assert (ran.code, ran.err) == (0, f"{asked}\n")
