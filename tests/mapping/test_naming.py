import pytest

from tailsout.mapping import naming
from tailsout.records.capture import Capture


@pytest.mark.parametrize(
    ("file", "master", "beside"),
    [
        ("captures/side-a.wav", "data/audio/side-a.wav", "data/audio/side-a.json"),
        ("side-a.WAV", "data/audio/side-a.wav", "data/audio/side-a.json"),
        ("x/y/side.a.bwf", "data/audio/side.a.wav", "data/audio/side.a.json"),
    ],
)
def test_a_master_keeps_the_recorders_name(file: str, master: str, beside: str) -> None:
    assert naming.master_path(Capture(id="a", file=file)) == master
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
