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


@pytest.mark.parametrize(
    ("path", "is_kept"),
    [
        ("images/box.jpg", True),
        ("documents/letters/1961.pdf", True),
        ("images", False),
        ("images/", False),
        ("captures/a.wav", False),
        ("notes/a.txt", False),
        ("images/.box.jpg", False),
        ("documents/.trash/a.pdf", False),
        ("images/Thumbs.db", False),
        ("images/THUMBS.DB", False),
    ],
)
def test_what_of_a_job_is_packed_as_it_is(path: str, *, is_kept: bool) -> None:
    assert naming.is_kept(path) == is_kept


def test_a_path_is_named_as_far_as_it_is_hidden() -> None:
    assert naming.hidden_part("images/.trash/a.jpg") == "images/.trash"
    assert naming.hidden_part("images/a.jpg") == ""


def test_the_first_version_goes_by_the_packages_own_name() -> None:
    assert [naming.version_name("TT-1", version) for version in (1, 2)] == ["TT-1", "TT-1.v2"]


@pytest.mark.parametrize(
    ("path", "is_captured"),
    [
        ("metadata/as-captured/side-a.bext", True),
        ("metadata/as-captured/side-b.bext", False),
        ("metadata/as-captured/side-a", False),
        ("metadata/side-a.bext", False),
    ],
)
def test_what_was_kept_of_a_capture_bears_its_stem(path: str, *, is_captured: bool) -> None:
    assert naming.is_captured_of(path, ["side-a"]) == is_captured
