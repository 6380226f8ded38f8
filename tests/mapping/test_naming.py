from dataclasses import replace

import pytest

from tailsout.mapping import naming
from tailsout.records.capture import Capture, Part


@pytest.mark.parametrize(
    ("file", "master", "beside"),
    [
        ("captures/side-a.wav", "data/audio/side-a.wav", "data/audio/side-a.json"),
        ("side-a.WAV", "data/audio/side-a.wav", "data/audio/side-a.json"),
        ("x/y/side.a.bwf", "data/audio/side.a.wav", "data/audio/side.a.json"),
    ],
)
def test_a_master_keeps_the_recorders_name(file: str, master: str, beside: str) -> None:
    assert f"data/audio/{naming.master_stem(file)}.wav" == master
    assert naming.sidecar_path(master) == beside


@pytest.mark.parametrize(
    ("path", "told"),
    [
        ("a.wav", True),
        ("a.WAV", True),
        ("a.bwf", True),
        ("a.rf64", True),
        ("a.wave", True),
        ("a.wav.txt", False),
        ("wav", False),
        ("a.flac", False),
    ],
)
def test_a_name_claims_wave_audio(path: str, told: bool) -> None:
    assert naming.is_wave(path) is told


def test_the_files_of_a_capture_in_order() -> None:
    one = Capture(id="a", file="captures/1.wav")
    assert naming.files_of(one) == ("captures/1.wav",)
    parts = (Part(file="captures/1.wav"), Part(file="captures/2.wav"))
    assert naming.files_of(replace(one, parts=parts)) == ("captures/1.wav", "captures/2.wav")
    assert naming.files_of(replace(one, mono_files=("x", "y"))) == ("x", "y")
