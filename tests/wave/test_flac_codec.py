"""libsndfile's door: samples in this machine's order to packed octets and back."""

import io
import random
import sys
from typing import Any

import pytest

from tailsout.ground.errors import MaterialError, SurroundingsError
from tailsout.ground.pcm import Pcm
from tailsout.wave.flac import read_flac
from tailsout.wave.flac_codec import Decoder, Encoder, packed, places, unpacked

PCM = Pcm(is_float=False, sample_rate_hz=48_000, channels=2, container_bits=24, valid_bits=24)


def decoder(content: bytes) -> Decoder:
    stream = io.BytesIO(content)
    return Decoder(stream, read_flac(stream))


@pytest.mark.parametrize(("native", "octets"), [(2, 1), (2, 2), (4, 3)])
@pytest.mark.parametrize("order", ["little", "big"])
def test_the_topmost_octets_of_a_sample(native: int, octets: int, order: Any) -> None:
    for value in (0, 1, -1, 0x123456789A, -0x123456789A):
        top = value >> (40 - 8 * octets)
        whole = (top << 8 * (native - octets)).to_bytes(native, order, signed=True)
        found = bytes(whole[at] for at in places(native, octets, order))
        assert found == top.to_bytes(octets, "little", signed=True)


@pytest.mark.parametrize(("native", "octets"), [(2, 1), (2, 2), (4, 3)])
@pytest.mark.parametrize("order", ["little", "big"])
def test_packing_and_unpacking(
    monkeypatch: pytest.MonkeyPatch, native: int, octets: int, order: str
) -> None:
    monkeypatch.setattr(sys, "byteorder", order)
    narrow = random.Random(1).randbytes(12 * octets)
    wide = unpacked(memoryview(narrow), native, octets)

    assert len(wide) == 12 * native
    assert packed(wide, native, octets) == narrow


@pytest.mark.parametrize("bits", [8, 16, 24])
@pytest.mark.parametrize("channels", [1, 2, 8])
def test_frames_made_by_hand_are_decoded(flac: Any, bits: int, channels: int) -> None:
    source = decoder(flac.good(bits, channels))
    whole = flac.signed(bits, channels)

    assert source.next(20) == whole[: 20 * channels * bits // 8]
    assert source.next(100) == whole[20 * channels * bits // 8 :]
    assert source.next(100) == b""


def test_nothing_but_the_frames_reaches_the_library(flac: Any) -> None:
    # What libsndfile would stumble over or open: tags, other blocks, a length that is not stated.
    audio = flac.good()[48:]
    info = flac.info(frames=0, blocks=(0, 0), sizes=(9, 1))
    content = flac.tag(50) + flac.flac(
        flac.block(6, b"\xff" * 40), flac.block(4, b"\xff" * 9), audio=audio, info=info
    )
    assert decoder(content).next(100) == flac.signed()


@pytest.mark.parametrize(
    "spoil",
    [
        lambda _f, good: good[:60] + bytes([good[60] ^ 1]) + good[61:],  # E34: a CRC that fails
        lambda _f, good: good[:-4],
        lambda f, good: good[:48] + f.frame(0, f.tracks(24, 3)[0]),  # three channels for two
        lambda _f, good: good[:48] + b"\xff\xf8" + bytes(500),
        lambda _f, good: good[:48] + random.Random(1).randbytes(500),
    ],
)
def test_frames_that_are_damaged_are_refused(flac: Any, spoil: Any) -> None:
    with pytest.raises(MaterialError, match=r"The FLAC library says: .*\.$"):
        decoder(spoil(flac, flac.good())).next(32)


@pytest.mark.parametrize("bits", [4, 13, 28])
def test_other_widths_are_refused(flac: Any, bits: int) -> None:
    with pytest.raises(MaterialError):
        decoder(flac.good(bits))


def test_a_file_without_a_place_for_audio_is_refused(flac: Any) -> None:
    for content in (b"", flac.good()[:30], flac.good()[:47]):
        with pytest.raises(MaterialError):
            decoder(content)


def test_a_read_that_fails_inside_the_library(flac: Any, failing: Any) -> None:
    content = flac.good()
    layout = read_flac(io.BytesIO(content))
    outcomes: set[int | str] = set()
    for operations in range(12):
        try:
            outcomes.add(len(Decoder(failing(content, operations), layout).next(32)))
        except SurroundingsError as error:
            outcomes.add(error.sentence)
    assert outcomes == {192, "Reading a wave file failed: Input/output error."}


def test_an_interruption_inside_the_library_is_not_lost(flac: Any) -> None:
    class Interrupted(io.BytesIO):
        armed = False

        def read(self, size: int | None = -1, /) -> bytes:
            if self.armed:
                raise KeyboardInterrupt
            return super().read(size)

    stream = Interrupted(flac.good())
    layout = read_flac(stream)
    stream.armed = True
    with pytest.raises(KeyboardInterrupt):
        Decoder(stream, layout).next(1)


class Full(io.BytesIO):
    """A disk that takes so many octets."""

    def __init__(self, room: int) -> None:
        super().__init__()
        self.room = room

    def write(self, block: Any, /) -> int:
        self.room -= len(block)
        if self.room < 0:
            raise OSError(28, "No space left on device")
        return super().write(block)


def test_a_disk_that_is_full_stops_the_encoding() -> None:
    noise = random.Random(1).randbytes(6 * 20_000)
    for room in (0, 1, 20_000, 110_000):
        with pytest.raises(SurroundingsError, match="No space left"):
            write(Full(room), noise)


def write(target: Any, noise: bytes) -> bytes:
    encoder = Encoder(target, 10, PCM)
    encoder.take(noise)
    return encoder.finish()


def test_metadata_is_handed_over_and_frames_lie_behind_the_room_for_more() -> None:
    target, noise = io.BytesIO(), random.Random(1).randbytes(6 * 20_000)
    head = write(target, noise)
    written = target.getvalue()

    assert head[:4] == b"fLaC"
    assert not any(written[: len(head) + 10])
    assert written[len(head) + 10 :][:2] == b"\xff\xf8"
    assert decoder(head + written[len(head) + 10 :]).next(20_001) == noise


def test_what_the_encoder_does_not_take_is_refused() -> None:
    with pytest.raises(MaterialError):
        Encoder(
            io.BytesIO(),
            0,
            Pcm(is_float=False, sample_rate_hz=1, channels=9, container_bits=24, valid_bits=24),
        )
