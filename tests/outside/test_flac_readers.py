"""Our FLAC files before other people's readers, and our reader before other people's files."""

import hashlib
import io
import random
import shutil
import subprocess
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
import soundfile

from tailsout.ground.pcm import Pcm
from tailsout.wave import ds64, fmt
from tailsout.wave.assembled import head_of
from tailsout.wave.chunk import HEADER
from tailsout.wave.flac import FlacLayout, read_flac
from tailsout.wave.flac_audio import restored
from tailsout.wave.flac_encode import encode
from tailsout.wave.riff import read_layout

FRAMES = 5000


def pcm_of(bits: int, channels: int) -> Pcm:
    return Pcm(
        is_float=False,
        sample_rate_hz=96_000,
        channels=channels,
        container_bits=bits,
        valid_bits=bits,
    )


def audio_of(bits: int, channels: int) -> bytes:
    return random.Random(bits).randbytes(FRAMES * channels * bits // 8)


def ours(bits: int = 24, channels: int = 2) -> bytes:
    """A FLAC file made of a wave file with chunks before and behind its audio."""
    pcm, audio = pcm_of(bits, channels), audio_of(bits, channels)
    chunks = [
        (b"LIST", b"INFOx\0"),
        (b"fmt ", fmt.encode(pcm)),
        (b"data", audio),
        (b"odd ", b"yy"),
    ]
    body = b"WAVE" + b"".join(HEADER.pack(name, len(p)) + p for name, p in chunks)
    source, target = io.BytesIO(HEADER.pack(b"RIFF", len(body)) + body), io.BytesIO()
    encode(source, read_layout(source), target, essence=bytearray().extend, advance=lambda _: None)
    return target.getvalue()


def layout_of(content: bytes) -> FlacLayout:
    return read_flac(io.BytesIO(content))


@pytest.mark.parametrize(("bits", "subtype"), [(8, "PCM_S8"), (16, "PCM_16"), (24, "PCM_24")])
@pytest.mark.parametrize("channels", [1, 2, 8])
def test_libsndfile_reads_our_samples(bits: int, subtype: str, channels: int) -> None:
    with soundfile.SoundFile(io.BytesIO(ours(bits, channels))) as file:
        assert (file.samplerate, file.channels, file.frames) == (96_000, channels, FRAMES)
        assert (file.format, file.subtype) == ("FLAC", subtype)
        heard = bytes(file.buffer_read(dtype="int32"))
    audio, octets = audio_of(bits, channels), bits // 8
    for place in range(octets):
        wanted = audio[place::octets]
        if bits == 8:
            wanted = bytes(one ^ 0x80 for one in wanted)
        assert heard[4 - octets + place :: 4] == wanted


@pytest.mark.parametrize("level", [0.0, 0.5, 1.0])
def test_we_read_what_libsndfile_wrote(tmp_path: Path, level: float) -> None:
    audio = audio_of(16, 2)
    path = tmp_path / "theirs.flac"
    with soundfile.SoundFile(
        path, "w", samplerate=44_100, channels=2, subtype="PCM_16", compression_level=level
    ) as file:
        file.title = "Reel 7"
        file.buffer_write(audio, dtype="int16")
    with path.open("rb") as stream:
        layout = read_flac(stream)
        found = restored(stream, layout)
        assert found is not None
        whole = found.stream.read()
        assert found.essence.proof() == layout.damage == ()
    assert layout.comments == (("title", "Reel 7"),)
    pcm = Pcm(is_float=False, sample_rate_hz=44_100, channels=2, container_bits=16, valid_bits=16)
    assert whole == head_of(pcm, len(audio)) + audio
    assert layout.md5 == hashlib.md5(audio, usedforsecurity=False).hexdigest()


@pytest.mark.oracles
def test_mutagen_finds_the_same_blocks(tmp_path: Path) -> None:
    path = tmp_path / "ours.flac"
    path.write_bytes(ours())
    layout = layout_of(path.read_bytes())
    file = pytest.importorskip("mutagen.flac").FLAC(path)

    found = [(block.code, len(block.write())) for block in file.metadata_blocks]
    assert found == [(block.type, block.octets) for block in layout.blocks]
    assert (file.info.sample_rate, file.info.channels, file.info.bits_per_sample) == (96_000, 2, 24)
    assert (file.info.total_samples, f"{file.info.md5_signature:032x}") == (FRAMES, layout.md5)
    assert file.tags.vendor == layout.vendor


@pytest.mark.oracles
def test_we_find_the_blocks_that_mutagen_wrote(tmp_path: Path) -> None:
    path = tmp_path / "theirs.flac"
    path.write_bytes(ours())
    module = pytest.importorskip("mutagen.flac")
    file = module.FLAC(path)
    file["title"] = ["Reel 7", "Skerrow Light"]
    picture = module.Picture()
    picture.data = bytes(3000)
    file.add_picture(picture)
    file.save(padding=lambda _info: 123)
    layout = layout_of(path.read_bytes())

    assert layout.damage == ()
    assert layout.comments == (("title", "Reel 7"), ("title", "Skerrow Light"))
    # Chunks that were kept stay, so that the wave file comes back all the same.
    assert [block.name for block in layout.blocks].count("APPLICATION") == 5
    assert ("PICTURE", 3032) in [(block.name, block.octets) for block in layout.blocks]
    assert ("PADDING", 123) in [(block.name, block.octets) for block in layout.blocks]
    before, after = (
        restored(io.BytesIO(content), layout_of(content)) for content in (ours(), path.read_bytes())
    )
    assert before is not None
    assert after is not None
    assert before.stream.read() == after.stream.read()


@pytest.mark.oracles
@pytest.mark.parametrize("bits", [16, 24])
def test_ffmpeg_hears_the_same_samples(tmp_path: Path, bits: int) -> None:
    path = tmp_path / "ours.flac"
    path.write_bytes(ours(bits))
    heard = bytearray()
    av: Any = pytest.importorskip("av")
    with av.open(str(path)) as container:
        for frame in container.decode(audio=0):
            plane = bytes(frame.planes[0])
            heard += plane[: frame.samples * 2 * (2 if bits == 16 else 4)]
    audio, octets, native = audio_of(bits, 2), bits // 8, 2 if bits == 16 else 4
    for place in range(octets):
        assert heard[native - octets + place :: native] == audio[place::octets]


# The reference encoder, which keeps wave chunks by the convention that `wave.foreign` follows.


@pytest.fixture
def reference(tmp_path: Path) -> Callable[..., bytes]:
    """Run the reference encoder or decoder over some octets."""
    program = shutil.which("flac")
    if program is None:
        pytest.skip("needs the Debian package flac")

    def run(content: bytes, *options: str) -> bytes:
        source, target = tmp_path / "from", tmp_path / "to"
        source.write_bytes(content)
        into = [] if "--test" in options else ["-o", str(target)]
        done = subprocess.run(
            [program, "--silent", "--force", *options, *into, str(source)],
            capture_output=True,
            check=False,
        )
        assert done.returncode == 0, done.stderr
        return target.read_bytes() if into else b""

    return run


def wave_of(pcm: Pcm, *, rf64: bool = False) -> bytes:
    """Chunks before and behind, one of odd size; bits that do not count are 0."""
    audio = bytearray(random.Random(pcm.valid_bits).randbytes(999 * pcm.frame_octets))
    octets = pcm.container_bits // 8
    for at in range(0, len(audio), octets):
        audio[at] &= 0x100 - (1 << pcm.container_bits - pcm.valid_bits)
    chunks = [
        (b"LIST", b"INFOx"),
        (b"fmt ", fmt.encode(pcm)),
        (b"data", bytes(audio)),
        (b"odd ", b"y"),
    ]
    body = b""
    for name, payload in chunks:
        stated = 0xFFFF_FFFF if rf64 and name == b"data" else len(payload)
        body += HEADER.pack(name, stated) + payload + bytes(len(payload) % 2)
    if not rf64:
        return HEADER.pack(b"RIFF", 4 + len(body)) + b"WAVE" + body
    sizes = ds64.encode(riff=4 + 36 + len(body), data=len(audio), samples=999)
    return HEADER.pack(b"RF64", 0xFFFF_FFFF) + b"WAVE" + HEADER.pack(b"ds64", 28) + sizes + body


def compressed(content: bytes) -> bytes:
    source, target = io.BytesIO(content), io.BytesIO()
    encode(source, read_layout(source), target, essence=bytearray().extend, advance=lambda _: None)
    return target.getvalue()


def kept_in(content: bytes) -> list[bytes]:
    return [
        content[block.offset : block.offset + block.octets]
        for block in layout_of(content).blocks
        if block.application == b"riff"
    ]


@pytest.mark.apt
@pytest.mark.parametrize("channels", [1, 2])
@pytest.mark.parametrize("bits", [8, 16, 20, 24, 32])
@pytest.mark.parametrize("rf64", [False, True])
def test_the_reference_encoders_files_come_back(
    reference: Callable[..., bytes], channels: int, bits: int, *, rf64: bool
) -> None:
    pcm = replace(pcm_of((bits + 7) // 8 * 8, channels), valid_bits=bits)
    content = wave_of(pcm, rf64=rf64)
    theirs = reference(content, "--keep-foreign-metadata")
    stream = io.BytesIO(theirs)
    found = restored(stream, layout_of(theirs))

    assert found is not None
    assert found.stream.read() == content
    assert (found.damage, found.essence.proof()) == ((), ())
    if bits != 32:  # which libsndfile does not write
        assert kept_in(compressed(content)) == kept_in(theirs)


@pytest.mark.apt
@pytest.mark.parametrize("channels", [1, 2, 8])
@pytest.mark.parametrize("bits", [8, 16, 24])
def test_the_reference_decoder_finds_our_files_whole(
    reference: Callable[..., bytes], channels: int, bits: int
) -> None:
    reference(ours(bits, channels), "--test", "--warnings-as-errors")


@pytest.mark.apt
@pytest.mark.parametrize("mask", [None, 3])
@pytest.mark.parametrize("bits", [8, 16, 24])
def test_the_reference_decoder_puts_our_chunks_back(
    reference: Callable[..., bytes], bits: int, mask: int | None
) -> None:
    content = wave_of(replace(pcm_of(bits, 2), channel_mask=mask))
    back = reference(compressed(content), "--decode", "--keep-foreign-metadata")
    # Its own file is the measure: it writes the fmt chunk anew, extensible where there are 24 bits
    # and else plain, of its own file too.
    own = reference(
        reference(content, "--keep-foreign-metadata"), "--decode", "--keep-foreign-metadata"
    )
    assert back == own
    assert (back == content) is ((bits == 24) == (mask is not None))
