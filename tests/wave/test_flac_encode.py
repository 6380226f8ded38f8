"""Wave files into FLAC and back, octet for octet; RFC 9639 (from memory) on the FLAC side."""

import hashlib
import io
import random
import struct
from collections.abc import Callable
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tailsout.ground.errors import MaterialError, SurroundingsError, TailsoutError
from tailsout.ground.pcm import Pcm
from tailsout.wave import flac_encode, fmt
from tailsout.wave.flac import read_flac
from tailsout.wave.flac_audio import restored
from tailsout.wave.flac_codec import Encoder
from tailsout.wave.flac_encode import encode
from tailsout.wave.riff import read_layout

Chunks = list[tuple[bytes, bytes]]
CHUNKS = st.lists(
    st.tuples(st.sampled_from([b"LIST", b"bext", b"odd ", b"axml"]), st.binary(max_size=9)),
    max_size=3,
    unique_by=lambda one: one[0],
)


def encoded(content: bytes) -> bytes:
    source, target, heard = io.BytesIO(content), io.BytesIO(), bytearray()
    layout = read_layout(source)
    passed: list[int] = []
    octets = encode(source, layout, target, essence=heard.extend, advance=passed.append)
    assert octets == len(target.getvalue())
    assert layout.data is not None
    assert heard == content[layout.data.offset :][: layout.data.octets]
    assert sum(passed) == layout.data.octets
    return target.getvalue()


def decoded(content: bytes) -> bytes:
    stream = io.BytesIO(content)
    layout = read_flac(stream)
    found = restored(stream, layout)
    assert found is not None
    whole = found.stream.read()
    assert (layout.damage, found.damage, found.essence.proof()) == ((), (), ())
    return whole or b""


def wave(
    maker: Any,
    pcm: Pcm,
    audio: bytes,
    before: Chunks | None = None,
    behind: Chunks | None = None,
) -> bytes:
    return bytes(
        maker.wave(
            *(maker.chunk(*one) for one in before or ()),
            maker.fmt(fmt.encode(pcm)),
            maker.data(audio),
            *(maker.chunk(*one) for one in behind or ()),
        )
    )


def pcm_of(bits: int, channels: int, valid: int = 0, rate: int = 48_000) -> Pcm:
    return Pcm(
        is_float=False,
        sample_rate_hz=rate,
        channels=channels,
        container_bits=bits,
        valid_bits=valid or bits,
    )


@given(
    bits=st.sampled_from([8, 16, 24]),
    channels=st.integers(1, 8),
    frames=st.integers(1, 60),
    around=st.tuples(CHUNKS, CHUNKS),
)
@settings(max_examples=60)
def test_any_wave_file_comes_back_octet_for_octet(
    maker: Any, bits: int, channels: int, frames: int, around: tuple[Chunks, Chunks]
) -> None:
    pcm = pcm_of(bits, channels)
    audio = random.Random(frames).randbytes(frames * pcm.frame_octets)
    before, behind = around
    content = wave(maker, pcm, audio, before, [one for one in behind if one[0] != b"bext"])
    assert decoded(encoded(content)) == content


def test_rf64_comes_back(maker: Any) -> None:
    assert decoded(encoded(maker.rf64())) == maker.rf64()


def test_fewer_valid_bits_come_back(maker: Any) -> None:
    content = wave(maker, pcm_of(24, 2, valid=20), bytes(range(240)))
    assert decoded(encoded(content)) == content


def test_a_pad_that_is_not_zero_comes_back_where_its_chunk_is_kept(maker: Any) -> None:
    content = maker.wave(maker.chunk(b"odd ", b"y", pad=b"\x07"), maker.fmt(), maker.data())
    assert decoded(encoded(content)) == content


def test_many_blocks_of_audio(maker: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(flac_encode, "BLOCK_OCTETS", 100_000)
    audio = random.Random(5).randbytes(24 * 12_345)
    content = wave(maker, pcm_of(24, 8), audio)
    assert decoded(encoded(content)) == content


def test_the_digest_is_that_of_the_signed_samples(maker: Any) -> None:
    # RFC 9639 §8.2: of 8-bit samples too.
    for bits in (8, 16, 24):
        audio = random.Random(1).randbytes(12 * bits)
        signed = bytes(one ^ 0x80 for one in audio) if bits == 8 else audio
        content = encoded(wave(maker, pcm_of(bits, 2), audio))
        assert content[26:42] == hashlib.md5(signed, usedforsecurity=False).digest()


def test_the_same_source_gives_the_same_octets(maker: Any) -> None:
    content = wave(maker, pcm_of(24, 2), random.Random(1).randbytes(6 * 9000), [(b"LIST", b"x")])
    assert encoded(content) == encoded(content)


def test_blocks_stand_in_the_order_of_the_chunks(maker: Any) -> None:
    content = encoded(wave(maker, pcm_of(24, 1), bytes(30), [(b"bext", b"b")], [(b"LIST", b"l")]))
    layout = read_flac(io.BytesIO(content))

    assert [block.name for block in layout.blocks[:2]] == ["STREAMINFO", "VORBIS_COMMENT"]
    kept = [content[block.offset :][:8] for block in layout.blocks[2:]]
    assert kept == [b"riffRIFF", b"riffbext", b"rifffmt ", b"riffdata", b"riffLIST"]
    # It names the encoder, no time and no place.
    assert layout.vendor.startswith("reference libFLAC ")
    assert layout.comments == ()


FLOAT = Pcm(is_float=True, sample_rate_hz=48_000, channels=1, container_bits=32, valid_bits=32)

REFUSED: dict[str, tuple[Callable[[Any], bytes], str]] = {
    "32 bits": (lambda m: wave(m, pcm_of(32, 1), bytes(8)), "32-bit PCM"),
    "float": (
        lambda m: m.wave(m.fmt(fmt.encode(FLOAT)), m.data(bytes(8))),
        "32-bit float",
    ),
    "nine channels": (lambda m: wave(m, pcm_of(8, 9), bytes(18)), "9 channels"),
    "too fast": (lambda m: wave(m, pcm_of(8, 1, rate=655_360), bytes(8)), "a rate of 655360 Hz"),
    "too odd": (lambda m: wave(m, pcm_of(8, 1, rate=96_001), bytes(8)), "a rate of 96001 Hz"),
    "no sample": (lambda m: wave(m, pcm_of(8, 1), b""), "0 samples"),
    "half a frame": (lambda m: wave(m, pcm_of(16, 1), bytes(9)), "4 samples and 1 octet"),
}


@pytest.mark.parametrize("name", REFUSED)
def test_what_flac_does_not_hold_is_kept_as_wav(maker: Any, name: str) -> None:
    make, reason = REFUSED[name]
    with pytest.raises(MaterialError, match=reason) as caught:
        encoded(make(maker))
    assert caught.value.remedy == "Keep it as WAV."


@pytest.mark.parametrize("rate", [1, 65_535, 192_000, 352_800, 384_000, 655_350])
def test_rates_at_the_edge(maker: Any, rate: int) -> None:
    content = wave(maker, pcm_of(16, 1, rate=rate), bytes(range(200)))
    assert decoded(encoded(content)) == content


def test_samples_that_the_encoder_saw_otherwise_are_told(
    maker: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    class Forgetful(Encoder):
        def take(self, block: bytes | memoryview) -> None:
            super().take(bytes([block[0] ^ 1]) + bytes(block[1:]))

    monkeypatch.setattr(flac_encode, "Encoder", Forgetful)
    with pytest.raises(SurroundingsError, match="other samples than it was handed"):
        encoded(maker.good())


def test_a_source_or_a_disk_that_fails_stops_the_work(maker: Any, failing: Any) -> None:
    content = wave(maker, pcm_of(24, 2), random.Random(1).randbytes(6 * 50), [(b"LIST", b"x")])
    layout = read_layout(io.BytesIO(content))

    def outcome(source: Any, target: Any) -> object:
        try:
            return encode(
                source, layout, target, essence=bytearray().extend, advance=lambda _: None
            )
        except TailsoutError as error:
            return type(error)

    whole = len(encoded(content))
    reading = {outcome(failing(content, n), io.BytesIO()) for n in range(30)}
    assert reading == {SurroundingsError, whole}
    writing = {outcome(io.BytesIO(content), Stubborn(n)) for n in range(30)}
    assert writing == {SurroundingsError, whole}


def ignored(_: object) -> None:
    """Take what nobody asks for."""


class Stubborn(io.BytesIO):
    """A disk that takes a number of writes."""

    def __init__(self, good_writes: int) -> None:
        super().__init__()
        self.left = good_writes

    def write(self, block: Any, /) -> int:
        self.left -= 1
        if self.left < 0:
            raise OSError(28, "No space left on device")
        return super().write(block)


def test_a_picture_of_the_file(maker: Any) -> None:
    """Octets by hand up to the first frame: RFC 9639 §8, from memory."""
    content = encoded(maker.good())
    vendor = read_flac(io.BytesIO(content)).vendor.encode()
    comment = struct.pack("<I", len(vendor)) + vendor + bytes(4)
    head = b"fLaC\0\0\0\x22" + content[8:42] + b"\4" + len(comment).to_bytes(3, "big") + comment
    head += b"\2\0\0\x10riffRIFF" + struct.pack("<I", 60) + b"WAVE"
    head += b"\2\0\0\x1crifffmt \x10\0\0\0" + maker.FMT
    head += b"\x82\0\0\x0criffdata\x18\0\0\0"
    assert content.startswith(head + b"\xff\xf8")
