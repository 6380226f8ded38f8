"""A capture of a calibration tape read from disk, and what a session form takes of it."""

import tomllib
from decimal import Decimal
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import soundfile

from tailsout.ground.errors import MaterialError, UsageError
from tailsout.ground.progress import Silent
from tailsout.mapping import schemas
from tailsout.measure.line_up import ToneReading
from tailsout.records.machine import CalibrationTape
from tailsout.work import tones
from tailsout.work.tone_notes import notes_on

RATE = 48_000
FORM = """\
id = "ct-nab-7"
speed_ips = 7.5
certificate_on = 2025-11-02

[equalisation]
standard = "NAB"
t1_us = 3180
t2_us = 50

[[tones]]
frequency_hz = 1000
use = "reference level"
level_db = 0.0

[[tones]]
frequency_hz = 10000
use = "azimuth"
level_db = 0.0

[[tones]]
frequency_hz = 63
use = "response"
level_db = 0.0
tolerance_db = 1.0

[[tones]]
frequency_hz = 3150
use = "speed and flutter"
"""


def sound(*series: tuple[float, float], off: float = 1.0, late: float = 0.0) -> Any:
    """Tones of so many seconds, half a second apart; the second channel later and 0.5 dB lower."""
    parts = []
    for hz, seconds in series:
        time = np.arange(round(seconds * RATE)) / RATE
        left = 0.125 * np.sin(2 * np.pi * hz * off * time)
        right = 0.118 * np.sin(2 * np.pi * hz * off * (time - late * 1e-6))
        parts += [np.stack([left, right], axis=1), np.zeros((RATE // 2, 2))]
    return np.concatenate(parts)


WHOLE = ((1000.0, 1.3), (10_000.0, 1.3), (63.0, 1.3), (3150.0, 8.0))


@pytest.fixture
def studio(tmp_path: Path) -> Path:
    shelf = tmp_path / "studio" / tones.SHELF
    shelf.mkdir(parents=True)
    (shelf.parent / "studio.toml").write_text('name = "Saltpan Row"\n', "utf-8")
    (shelf / "any name.toml").write_text(FORM, "utf-8")
    return shelf.parent


@pytest.fixture
def tape(studio: Path) -> CalibrationTape:
    return tones.calibration_tape("ct-nab-7", studio)


def read(path: Path, samples: Any, tape: CalibrationTape | None) -> ToneReading:
    # As whole numbers: the library rounds fractions in one way for waves, in another for FLAC.
    whole = np.round(samples * 2**23).astype(np.int32) * 256
    soundfile.write(path, whole, RATE, subtype="PCM_24")
    before = path.read_bytes()
    _, found = tones.read_tones(path, tape, None, Silent())
    assert path.read_bytes() == before
    return found


def test_a_tape_is_found_by_its_id_or_its_file(studio: Path, tape: CalibrationTape) -> None:
    assert tape.id == "ct-nab-7"
    assert [one.frequency_hz for one in tape.tones] == [1000, 10_000, 63, 3150]
    file = studio / tones.SHELF / "any name.toml"
    assert tones.calibration_tape(str(file), None) == tape
    assert tones.studio_of(studio / "sessions" / "s1" / "left.wav") == studio.resolve()


@pytest.mark.parametrize(
    "named", ["ct-nab-15", "", "../studio", "any name.toml", "\x1b[2J", "a" * 999]
)
def test_a_tape_that_is_not_there(studio: Path, named: str) -> None:
    with pytest.raises(UsageError, match="There is no calibration tape") as error:
        tones.calibration_tape(named, studio)
    assert "the studio has ct-nab-7." in str(error.value)
    assert "\x1b" not in str(error.value)
    with pytest.raises(UsageError):
        tones.calibration_tape(named, None)


@pytest.mark.parametrize(
    ("form", "why"),
    [
        ("id = ", "TOML|value"),
        (FORM.replace("10000", '"ten"'), r"ct\.toml:16 tones\[2\]\.frequency_hz"),
        (FORM.replace("certificate_on", "certified"), "certified"),
    ],
)
def test_a_form_with_faults_says_where(tmp_path: Path, form: str, why: str) -> None:
    path = tmp_path / "ct.toml"
    path.write_text(form, "utf-8")
    with pytest.raises(MaterialError, match=why):
        tones.calibration_tape(str(path), None)


def test_another_tape_with_faults_is_no_hindrance(studio: Path, tape: CalibrationTape) -> None:
    (studio / tones.SHELF / "broken.toml").write_text("id = [", "utf-8")
    assert tones.calibration_tape("ct-nab-7", studio) == tape
    with pytest.raises(MaterialError, match=r"broken\.toml"):
        tones.calibration_tape("ct-nab-15", studio)


def test_wave_and_flac_read_the_same(tmp_path: Path, tape: CalibrationTape) -> None:
    samples = sound(*WHOLE, off=1.002, late=8.0)
    wave = read(tmp_path / "c.wav", samples, tape)
    assert read(tmp_path / "c.flac", samples, tape) == wave
    assert wave.facts.fit == "fits"


def test_readings_are_what_a_session_form_takes(tmp_path: Path, tape: CalibrationTape) -> None:
    facts = read(tmp_path / "c.wav", sound(*WHOLE, off=1.002, late=8.0), tape).facts
    text = "\n".join(tones.form_text(tones.readings(facts), "as_left"))
    form = tomllib.loads(f'[[settings]]\nid = "a"\n{text}', parse_float=Decimal)
    assert schemas.faults({"id": "s1", **form}, "session-0.1") == ()
    left = form["settings"][0]["as_left"]
    assert len(left) == 8
    assert left[0] == {"frequency_hz": 1000, "channel": 1, "level_db": Decimal("0.00")}
    assert left[3]["frequency_hz"] == 10_000
    assert left[3]["phase_deg"] == Decimal("28.9")
    assert left[6]["speed_error_percent"] == Decimal("0.2000")
    assert left[6]["flutter_percent"] == 0
    assert "flutter_percent" not in left[7]
    assert left[7]["speed_error_percent"] == Decimal("0.2000")


def test_tones_of_another_tape_give_no_readings(tmp_path: Path, tape: CalibrationTape) -> None:
    facts = read(tmp_path / "c.wav", sound((700.0, 1.3), (400.0, 1.3)), tape).facts
    assert facts.fit == "few tones match"
    assert tones.readings(facts) == ()


def test_a_channel_without_tones_gives_no_readings(tmp_path: Path) -> None:
    samples = sound((1000.0, 1.3))
    samples[:, 1] = 0.0
    found = tones.readings(read(tmp_path / "c.wav", samples, None).facts)
    assert [(one.channel, one.frequency_hz) for one in found] == [(1, Decimal("1000.0"))]


@pytest.mark.parametrize("content", [b"", b"Dear archive,\n"])
def test_what_holds_no_audio(tmp_path: Path, content: bytes) -> None:
    path = tmp_path / "c.wav"
    path.write_bytes(content)
    with pytest.raises(MaterialError, match="holds no audio that can be measured"):
        tones.read_tones(path, None, None, Silent())
    with pytest.raises(UsageError, match="There is no file"):
        tones.read_tones(tmp_path / "none.wav", None, None, Silent())


def test_notes_say_what_common_practice_asks(tmp_path: Path, tape: CalibrationTape) -> None:
    facts = read(tmp_path / "c.wav", sound(*WHOLE, off=1.003, late=40.0), tape).facts
    notes = list(notes_on(facts))
    for part in (
        "The speed is off by more than 0.2 % (NAB 1965, from memory).",
        "Channel 2 is -0.50 dB re channel 1; 0.2 dB are common practice.",
        "Tone 2, 10000 Hz, channel 2: 144.4° against channel 1; ±20°",
    ):
        assert any(part in note for note in notes), part
    assert not any("flutter" in note for note in notes)
    quiet = read(tmp_path / "d.wav", sound(*WHOLE)[:, :1], tape).facts
    assert list(notes_on(quiet)) == []


def test_notes_of_fringing_flutter_and_doubts(tmp_path: Path, tape: CalibrationTape) -> None:
    samples = sound(*WHOLE, late=3.0)
    samples[round(3.6 * RATE) : round(5.0 * RATE)] *= 1.2
    time = np.arange(round(8.0 * RATE)) / RATE
    swung = 0.125 * np.sin(
        2 * np.pi * 3150 * (time + 0.003 / (8 * np.pi) * np.sin(8 * np.pi * time))
    )
    samples[-time.size - RATE // 2 : -RATE // 2] = swung[:, np.newaxis]
    samples[:, 1] *= -1.0
    notes = list(notes_on(read(tmp_path / "c.wav", samples, tape).facts))
    for part in (
        "63 Hz, channel 1: +1.58 dB is consistent with fringing",
        "Weighted flutter is more than ±0.10 %",
        "Channel 2 is consistent with an inverted leg.",
    ):
        assert any(part in note for note in notes), part
    high = read(tmp_path / "d.wav", sound((10_000.0, 1.3), (15_000.0, 1.3), late=20.0), None).facts
    assert any("may be out by whole cycles" in note for note in notes_on(high))
    assert any("No reference tone was found" in note for note in notes_on(high))
