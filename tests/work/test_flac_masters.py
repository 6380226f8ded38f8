"""FLAC masters (RFC 9639), made where a recipient wants them: the wave master, compressed."""

import errno
import hashlib
import io
import json
import os
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any, BinaryIO

import pytest
import soundfile

from tailsout.bag.disk import Disk
from tailsout.ground.errors import SurroundingsError
from tailsout.ground.findings import Verdict
from tailsout.ground.pcm import Pcm
from tailsout.ground.progress import Silent
from tailsout.wave import bext, foreign
from tailsout.wave.riff import read_chunk, read_layout
from tailsout.work.audio import audio_in
from tailsout.work.check import check
from tailsout.work.close_out import Outcome, close
from tailsout.work.show import show


def wishing(bench: Any, wish: str = '"FLAC"', content: bytes | None = None) -> None:
    (bench.studio / "recipients/archive.toml").write_text(
        f'id = "archive"\nmaster_format = {wish}\n'
    )
    own = bench.own_bext()
    wave = bench.wave(own=own, after=[(b"zzz ", b"odd")]) if content is None else content
    bench.fill(wave, top='recipient = "archive"')


def closed(bench: Any, around: Callable[..., Any], **changed: Any) -> Outcome:
    before = bench.sources()
    outcome = close(bench.job, bench.out, around(**changed))
    assert {k: v for k, v in bench.sources().items() if "/logbook" not in k} == before
    return outcome


def audio_files(bench: Any) -> list[str]:
    return sorted(path.name for path in (bench.package / "data/audio").iterdir())


def test_the_wave_master_can_be_had_again_from_it(bench: Any, around: Callable[..., Any]) -> None:
    wishing(bench, '"WAV"')
    closed(bench, around)
    wave = (bench.package / "data/audio/a.wav").read_bytes()
    bench.package.rename(bench.root / "kept")
    bench.receipt.unlink()

    wishing(bench)
    assert closed(bench, around).judgement.verdict is Verdict.PASS
    assert audio_files(bench) == ["a.flac", "a.json"]
    with (bench.package / "data/audio/a.flac").open("rb") as stream:
        audio = audio_in(stream, "a.flac")
        audio.stream.seek(0)
        restored = bytearray()
        while block := audio.stream.read(1 << 16):
            restored += block
        layout = read_layout(audio.stream)
        payload = read_chunk(audio.stream, layout.named(b"bext")[0], 10_000)
        assert audio.proof() == ()
    ours, damage = bext.decode(payload)
    theirs, _ = bext.decode(wave[20 : 20 + 10_000])
    assert damage == ()
    assert ours is not None
    assert theirs is not None
    assert ours.originator == "Saltpan Row"
    assert bytes(restored) == wave


def test_other_programs_find_the_samples(bench: Any, around: Callable[..., Any]) -> None:
    wishing(bench)
    closed(bench, around)
    place = bench.package / "data/audio/a.flac"
    with soundfile.SoundFile(place) as file:
        assert (file.format, file.subtype, file.samplerate) == ("FLAC", "PCM_24", 48_000)
        heard = file.buffer_read(dtype="int32")
    samples = bench.samples(bench.pcm, bench.frames)
    assert bytes(heard)[1::4] == samples[0::3]
    assert bytes(heard)[3::4] == samples[2::3]
    told = json.loads(place.with_suffix(".json").read_text())["this_file"]
    assert told["path"] == "data/audio/a.flac"
    assert told["octets"] == place.stat().st_size
    assert told["sha256"] == hashlib.sha256(place.read_bytes()).hexdigest()
    assert told["measured"]["essence_sha256"] == hashlib.sha256(samples).hexdigest()


def test_the_package_is_judged_like_any(
    bench: Any, around: Callable[..., Any], bagit: Any, reseal: Callable[[Path], None]
) -> None:
    wishing(bench)
    closed(bench, around)
    assert check(bench.package, Silent()).judgement.verdict is Verdict.PASS
    assert bagit.Bag(str(bench.package)).is_valid()
    readme = (bench.package / "metadata/README.txt").read_text()
    assert "data/audio/a.flac\n" in readme
    assert "RFC 9639" in readme
    assert "FLAC" in show(bench.package, Silent()).page.decode()

    place = bench.package / "data/audio/a.flac"
    content = bytearray(place.read_bytes())
    content[-200] ^= 1
    place.write_bytes(content)
    reseal(bench.package)
    found = check(bench.package, Silent()).judgement
    assert found.verdict is Verdict.FAIL


def test_the_same_wish_makes_the_same_octets(bench: Any, around: Callable[..., Any]) -> None:
    made = []
    for _ in range(2):
        wishing(bench)
        closed(bench, around)
        made.append(bench.tree(bench.package))
        bench.package.rename(bench.root / f"kept{len(made)}")
        bench.receipt.unlink()
    assert made[0] == made[1]


@pytest.mark.parametrize(
    ("pcm", "why"),
    [
        (Pcm(is_float=True, sample_rate_hz=48_000, channels=1, container_bits=32, valid_bits=32),
         "32-bit float"),
        (Pcm(is_float=False, sample_rate_hz=48_000, channels=9, container_bits=16, valid_bits=16),
         "9 channels"),
    ],
)  # fmt: skip
def test_what_flac_does_not_hold_stays_wave(
    bench: Any, around: Callable[..., Any], pcm: Pcm, why: str
) -> None:
    wishing(bench, content=bench.wave(pcm))
    outcome = closed(bench, around)
    assert outcome.judgement.verdict is Verdict.PASS
    assert audio_files(bench) == ["a.json", "a.wav"]
    (told,) = [f for f in outcome.judgement.findings if f.code == "master-not-flac"]
    assert why in told.text


def test_a_chunk_that_no_block_keeps_leaves_the_master_wave(
    bench: Any, around: Callable[..., Any], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(foreign, "_LARGEST", 3000)
    for octets, made in ((2992, "a.flac"), (2993, "a.wav")):
        wishing(bench, content=bench.wave(own=bench.own_bext(), after=[(b"zzz ", bytes(octets))]))
        outcome = closed(bench, around)
        assert made in audio_files(bench)
        told = [f.text for f in outcome.judgement.findings if f.code == "master-not-flac"]
        assert [text for text in told if "zzz" not in text] == []
        assert len(told) == (made == "a.wav")
        readme = (bench.package / "metadata/README.txt").read_text()
        assert f"data/audio/{made}\n" in readme
        bench.package.rename(bench.root / made)
        bench.receipt.unlink()


def test_a_plan_says_the_name_and_writes_nothing(bench: Any, around: Callable[..., Any]) -> None:
    wishing(bench)
    outcome = close(bench.job, bench.out, around(), only_plan=True)
    assert outcome.plan is not None
    assert outcome.plan.payload[0].path == "data/audio/a.flac"
    assert not bench.out.exists()


def test_mono_files_and_flac_go_together(bench: Any, around: Callable[..., Any]) -> None:
    (bench.studio / "recipients/archive.toml").write_text(
        'id = "archive"\nmaster_format = "FLAC"\ninterleave = true\nmarks = ["cue"]\n'
    )
    for number in (1, 2):
        bench.put(f"captures/{number}.wav", bench.wave())
    bench.form({"a": "captures/1.wav"}, top='recipient = "archive"')
    with (bench.job / "job.toml").open("a") as form:
        form.write('mono_files = ["captures/1.wav", "captures/2.wav"]\n')
    assert closed(bench, around).judgement.verdict is Verdict.PASS
    assert audio_files(bench) == ["1.flac", "1.json"]
    with (bench.package / "data/audio/1.flac").open("rb") as stream:
        layout = read_layout(audio_in(stream, "1.flac").stream)
    assert layout.pcm == replace(bench.pcm, channels=2)


class Full(Disk):
    """Whose scratch file takes nothing, or cannot be made."""

    def __init__(self, *, at_once: bool) -> None:
        super().__init__()
        self.at_once = at_once

    def scratch(self, folder: Path) -> BinaryIO:
        if self.at_once:
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
        return Path("/dev/full").open("r+b", buffering=0)


@pytest.mark.parametrize("at_once", [True, False])
def test_a_disk_that_is_full_leaves_nothing(
    bench: Any, around: Callable[..., Any], at_once: bool
) -> None:
    if not Path("/dev/full").exists():
        pytest.skip("needs a device that is always full")
    wishing(bench)
    with pytest.raises(SurroundingsError, match="No space left"):
        close(bench.job, bench.out, around(disk=Full(at_once=at_once)))
    assert not bench.out.exists()


class Hole(io.FileIO):
    """Takes the frames; the disk is full when the room left before them is filled."""

    def write(self, block: Any, /) -> int:
        if self.tell() < 100:
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
        return super().write(block)


class FullAtLast(Disk):
    def __init__(self, place: Path) -> None:
        super().__init__()
        self.place = place

    def scratch(self, folder: Path) -> BinaryIO:
        return io.BufferedRandom(Hole(str(self.place), "w+"))


def test_a_disk_that_fills_at_last_is_told_once(
    bench: Any, around: Callable[..., Any], tmp_path: Path
) -> None:
    wishing(bench)
    with pytest.raises(SurroundingsError, match="Writing a FLAC file failed: No space left"):
        close(bench.job, bench.out, around(disk=FullAtLast(tmp_path / "scratch")))
    assert not bench.out.exists()


class Altering(Silent):
    """Acts before the samples are read the second time."""

    def __init__(self, act: Callable[[], object]) -> None:
        self.act = act

    def begin(self, doing: str, octets: int) -> None:
        if doing.startswith("Compressing"):
            self.act()


def test_samples_that_read_otherwise_when_compressed_are_told(
    bench: Any, around: Callable[..., Any]
) -> None:
    wishing(bench)
    capture = bench.job / "captures/a.wav"
    status = capture.stat()

    def alter() -> None:
        content = bytearray(capture.read_bytes())
        content[-2000] ^= 1
        capture.write_bytes(content)
        os.utime(capture, ns=(status.st_atime_ns, status.st_mtime_ns))

    with pytest.raises(SurroundingsError, match="read differently the second time"):
        close(bench.job, bench.out, around(progress=Altering(alter)))
    assert not bench.out.exists()
