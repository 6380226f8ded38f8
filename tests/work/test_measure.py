"""One file measured: what its samples are, and one sentence where there are none."""

import hashlib
import os
from pathlib import Path
from typing import Any

import pytest

from tailsout.ground.errors import MaterialError, SurroundingsError, TailsoutError, UsageError
from tailsout.ground.progress import Silent
from tailsout.work.measure import measure_file


def test_header_and_samples(bench: Any) -> None:
    capture = bench.fill()
    before = bench.sources()
    seen, measured = measure_file(capture, Silent())
    assert bench.sources() == before
    assert seen.layout.pcm == bench.pcm
    assert measured.capture_sha256 == hashlib.sha256(capture.read_bytes()).hexdigest()
    audio = bench.samples(bench.pcm, bench.frames)
    assert measured.facts.essence_sha256 == hashlib.sha256(audio).hexdigest()
    assert measured.facts.frames == bench.frames


def test_zero_frames_have_no_levels(bench: Any) -> None:
    _, measured = measure_file(bench.fill(bench.wave(frames=0)), Silent())
    assert measured.facts.frames == 0
    assert measured.facts.integrated_lufs is None


def test_what_a_cut_file_still_holds_is_measured(bench: Any) -> None:
    seen, measured = measure_file(bench.fill(bench.wave()[:-3000]), Silent())
    assert measured.facts.frames == bench.frames - 1000
    assert [d.kind for d in seen.record.container.damage] == ["truncated"]


@pytest.mark.parametrize(
    ("content", "why"),
    [
        (b"", "not a RIFF, RF64 or BW64 wave file"),
        (b"Dear archive,\n", "not a RIFF, RF64 or BW64 wave file"),
        (b"fLaC" + bytes(60), "not a RIFF, RF64 or BW64 wave file"),
    ],
)
def test_what_holds_no_audio(bench: Any, content: bytes, why: str) -> None:
    path = bench.fill(content)
    with pytest.raises(MaterialError, match="holds no audio that can be measured") as error:
        measure_file(path, Silent())
    assert error.value.sentence.startswith(str(path))
    assert why in error.value.sentence


@pytest.mark.parametrize(
    ("name", "error"),
    [("nothing", UsageError), (".", UsageError), ("x" * 300, SurroundingsError)],
)
def test_no_file(tmp_path: Path, name: str, error: type[TailsoutError]) -> None:
    with pytest.raises(error):
        measure_file(tmp_path / name, Silent())


def test_a_file_that_grows_while_it_is_measured(bench: Any, acting: Any) -> None:
    path = bench.fill()

    def grow() -> None:
        with path.open("ab") as stream:
            stream.write(b"more")

    with pytest.raises(SurroundingsError, match="changed its length while it was read"):
        measure_file(path, acting("Measuring", grow))
    os.utime(path)
    assert measure_file(path, Silent())[0].layout.damage != ()


def test_what_is_no_plain_file_is_not_said_to_be_missing(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe.wav")
    for there in (tmp_path, tmp_path / "pipe.wav"):
        with pytest.raises(UsageError, match="is not a file that can be read through"):
            measure_file(there, Silent())
    with pytest.raises(UsageError, match="There is no file"):
        measure_file(tmp_path / "gone.wav", Silent())
