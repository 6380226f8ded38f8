"""FLAC files read as wave files: RFC 9639 (from memory) on one side, RIFF 1991 on the other."""

import io
import random
from typing import Any

import pytest

from tailsout.ground.damage import Damage
from tailsout.ground.errors import MaterialError, SurroundingsError, TailsoutError
from tailsout.wave.flac import read_flac
from tailsout.wave.flac_audio import Restored, counted, restored
from tailsout.wave.riff import read_layout


def opened(content: bytes, frames: int | None = None) -> Restored:
    stream = io.BytesIO(content)
    found = restored(stream, read_flac(stream), frames=frames)
    assert found is not None
    return found


def proof(content: bytes) -> list[str]:
    return [fault.kind for fault in opened(content).essence.proof()]


@pytest.mark.parametrize("bits", [8, 16, 24])
@pytest.mark.parametrize("channels", [1, 2, 8])
def test_a_file_without_chunks_is_a_plain_wave_file(flac: Any, bits: int, channels: int) -> None:
    found = opened(flac.good(bits, channels))
    layout = read_layout(found.stream)

    assert found.damage == layout.damage == ()
    assert [chunk.id for chunk in layout.chunks] == [b"fmt ", b"data"]
    assert layout.data is not None
    assert layout.pcm is not None
    assert (layout.pcm.valid_bits, layout.pcm.channels, layout.frames) == (bits, channels, 32)
    found.stream.seek(layout.data.offset)
    audio = found.stream.read()
    # RIFF 1991 chapter 3: samples of 8 bits are unsigned, FLAC's are signed.
    signed = bytes(one ^ 0x80 for one in audio) if bits == 8 else audio
    assert signed == flac.signed(bits, channels)
    assert found.essence.proof() == ()


def test_structure_is_seen_before_a_sample_is_decoded(flac: Any) -> None:
    found = opened(flac.good())
    read_layout(found.stream)
    assert found.essence.decoded_frames == 0


def test_an_odd_length_has_its_pad(flac: Any) -> None:
    tracks = [[1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13, 14, 15, 16, 17]]
    info = flac.info(channels=1, frames=17)
    content = flac.flac(audio=flac.frame(0, tracks), info=info)
    whole = opened(content).stream.read()

    assert whole is not None
    assert len(whole) % 2 == 0
    assert whole[-4:] == b"\x11\0\0\0"
    assert read_layout(io.BytesIO(whole)).damage == ()


def test_any_place_can_be_read_in_any_order(flac: Any) -> None:
    content = flac.good()
    whole = opened(content).stream.read()
    found, noise = opened(content), random.Random(3)
    assert whole is not None

    for _ in range(200):
        start, octets = noise.randrange(len(whole) + 5), noise.randrange(1, 60)
        found.stream.seek(start)
        block = found.stream.read(octets)
        assert block == whole[start : start + len(block)]
        assert block or start >= len(whole)
    assert found.essence.proof() == ()


def test_a_step_back_begins_again(flac: Any) -> None:
    essence = opened(flac.good()).essence
    assert essence.read_at(100, 92) == flac.signed()[100:192]
    assert essence.decoded_frames == 32
    assert essence.read_at(0, 1) == flac.signed()[:1]
    assert essence.decoded_frames == 16
    assert essence.proof() == ()


# What the samples prove


def changed(content: bytes, at: int, octet: int) -> bytes:
    return content[:at] + bytes([octet]) + content[at + 1 :]


def test_a_digest_that_differs_is_told_with_both(flac: Any) -> None:
    # E34.
    content = changed(flac.good(), 26, flac.md5()[0] ^ 1)
    [damage] = opened(content).essence.proof()

    assert damage.kind == "flac-md5-differs"
    assert flac.md5().hex() in damage.text
    assert content[26:42].hex() in damage.text


def test_a_digest_that_is_not_stated_proves_nothing(flac: Any) -> None:
    # E34: that it is not stated, the walk tells.
    content = flac.good()[:26] + bytes(16) + flac.good()[42:]
    assert proof(content) == []
    assert [f.kind for f in read_flac(io.BytesIO(content)).damage] == ["flac-md5-unstated"]


def test_a_damaged_frame_is_told_with_its_sample(flac: Any) -> None:
    # E34: the CRC of the second frame does not fit.
    content = changed(flac.good(), len(flac.good()) - 1, 0)
    found = opened(content)
    [damage] = found.essence.proof()

    assert (damage.kind, damage.offset) == ("flac-frame", 48)
    assert damage.text.startswith("After 16 samples the audio cannot be decoded: ")
    assert found.essence.decoded_frames == 16
    assert found.essence.fault == damage
    with pytest.raises(MaterialError, match="After 16 samples"):
        found.essence.read_at(100, 1)


def test_audio_that_ends_early_is_told(flac: Any) -> None:
    content = flac.flac(audio=flac.frame(0, flac.tracks()[0]), info=flac.info(frames=32))
    [damage] = opened(content).essence.proof()
    assert (damage.kind, damage.text) == (
        "flac-ends-early",
        "The audio ends after 16 of 32 samples.",
    )


def test_audio_that_goes_on_is_told(flac: Any) -> None:
    content = flac.flac(audio=flac.good()[48:], info=flac.info(frames=16))
    assert proof(content) == ["flac-length"]
    # What follows and is not a frame is none of its samples.
    alone = flac.flac(audio=flac.frame(0, flac.tracks()[0]), info=flac.info(frames=16))
    assert proof(alone + b"TAG" + bytes(125)) == []


def test_a_file_is_measured_as_far_as_it_goes(flac: Any) -> None:
    content = changed(flac.good(), len(flac.good()) - 1, 0)
    found = opened(content, frames=16)
    layout = read_layout(found.stream)

    assert (layout.damage, layout.frames) == ((), 16)
    found.stream.seek(44)
    assert found.stream.read() == flac.signed()[:96]


@pytest.mark.parametrize(("bits", "code"), [(12, 2), (20, 5), (32, 7)])
@pytest.mark.parametrize("channels", [1, 2])
def test_other_widths_are_decoded_where_the_frames_state_them(
    flac: Any, bits: int, code: int, channels: int
) -> None:
    # RFC 9639 §9.1.4, from memory; a wave file has them left-justified (RIFF 1991 chapter 3).
    found = opened(flac.good(bits, channels, code=code))
    layout = read_layout(found.stream)

    assert found.damage == ()
    assert layout.data is not None
    assert layout.pcm is not None
    assert (layout.pcm.valid_bits, layout.pcm.container_bits) == (bits, (bits + 7) // 8 * 8)
    found.stream.seek(layout.data.offset)
    shift, octets = layout.pcm.container_bits - bits, layout.pcm.container_bits // 8
    assert found.stream.read() == b"".join(
        (tracks[channel][at] << shift).to_bytes(octets, "little", signed=True)
        for tracks in flac.tracks(bits, channels)
        for at in range(16)
        for channel in range(channels)
    )
    # MD5 takes them right-justified.
    assert found.essence.proof() == ()


def test_widths_that_are_not_decoded_are_told(flac: Any) -> None:
    # The frames refer to STREAMINFO for it, and there the library knows no 20 bits.
    found = opened(flac.good(20))
    assert [fault.kind for fault in found.damage] == ["flac-bits"]
    layout = read_layout(found.stream)
    assert layout.pcm is not None
    assert layout.pcm.coding == "20-in-24-bit PCM"
    with pytest.raises(MaterialError):
        found.essence.read_at(0, 1)
    assert proof(flac.good(20)) == ["flac-bits"]


@pytest.mark.parametrize(
    "spoil",
    [
        lambda _f, good: good[:40],
        lambda _f, _good: b"",
        lambda f, _good: f.flac(info=f.info(frames=0), audio=b"\xff\xf8"),
        lambda f, _good: f.flac(info=f.info(rate=0), audio=b"\xff\xf8"),
    ],
)
def test_what_cannot_be_restored_is_none(flac: Any, spoil: Any) -> None:
    stream = io.BytesIO(spoil(flac, flac.good()))
    assert restored(stream, read_flac(stream)) is None


def test_samples_are_counted_where_no_length_is_stated(flac: Any) -> None:
    def count(content: bytes) -> tuple[int, list[str]]:
        stream = io.BytesIO(content)
        frames, damage = counted(stream, read_flac(stream))
        return frames, [fault.kind for fault in damage]

    audio = flac.good()[48:]
    unstated = flac.flac(audio=audio, info=flac.info(frames=0))
    assert count(unstated) == (32, [])
    assert count(changed(unstated, len(unstated) - 1, 0)) == (16, ["flac-frame"])
    assert count(b"") == (0, [])
    assert proof(flac.good()) == []
    assert opened(unstated, frames=32).essence.proof() == ()


def test_hours_of_silence_take_no_memory(flac: Any) -> None:
    # E35: one octet a channel and frame stands for 65,535 samples; only what is read is decoded.
    head = bytes.fromhex("FFF8 7010 00 FFFE")
    frame = head + bytes([flac._crc(head, 7, 8)]) + bytes(8)
    frame += flac._crc(frame, 0x8005, 16).to_bytes(2, "big")
    audio = b"".join(frame for _ in range(20))
    info = flac.info(frames=20 * 65_535, blocks=(65_535, 65_535))
    found = opened(flac.flac(audio=audio, info=info))

    assert read_layout(found.stream).frames == 20 * 65_535
    assert found.essence.proof() == ()


# Anything


def whole(content: bytes) -> list[Damage]:
    """Everything that is told of a file that is walked, restored and decoded."""
    stream = io.BytesIO(content)
    layout = read_flac(stream)
    found = restored(stream, layout)
    told = [*layout.damage]
    if found is not None:
        told += [*found.damage, *read_layout(found.stream).damage, *found.essence.proof()]
    return told


def kept(flac: Any) -> bytes:
    """A file with chunks around its audio."""
    chunks = [
        b"RIFF\xf4\0\0\0WAVE",
        b"fmt \x10\0\0\0" + bytes.fromhex("0100 0200 80BB0000 00650400 0600 1800"),
        b"data\xc0\0\0\0",
        b"odd \x01\0\0\0x\0",
    ]
    blocks = [flac.block(2, b"riff" + one) for one in chunks]
    info = flac.info(md5=flac.md5())
    return bytes(flac.flac(*blocks, audio=flac.good()[48:], info=info))


CUT = {"not-flac", "flac-truncated", "flac-no-audio", "flac-frame", "flac-ends-early"}


def test_a_file_cut_anywhere_is_told(flac: Any) -> None:
    content = kept(flac)
    assert [fault.kind for fault in whole(content)] == ["riff-size"]
    for octets in range(len(content)):
        cut = [fault.kind for fault in whole(content[:octets])]
        assert set(cut) & CUT, octets


def test_any_change_is_survived(flac: Any) -> None:
    noise = random.Random(11)
    good = kept(flac)
    for _ in range(1000):
        content = bytearray(good)
        for _ in range(noise.randrange(1, 3)):
            content[noise.randrange(len(content))] = noise.randrange(256)
        whole(bytes(content))


def test_any_change_of_a_sample_is_told(flac: Any) -> None:
    good = kept(flac)
    start = len(good) - 2 * len(flac.frame(0, flac.tracks()[0]))
    for at in range(start, len(good)):
        told = {fault.kind for fault in whole(changed(good, at, good[at] ^ 0x10))}
        assert told & {"flac-frame", "flac-md5-differs", "flac-no-audio", "flac-length"}, at


def test_a_read_that_fails_stops_the_work(flac: Any, failing: Any) -> None:
    content = kept(flac)
    outcomes: set[type[BaseException] | None] = set()
    for operations in range(200):
        stream = failing(content, operations)
        try:
            layout = read_flac(stream)
            found = restored(stream, layout)
            assert found is not None
            while found.stream.read(50):
                pass
            outcomes.add(None)
        except TailsoutError as error:
            outcomes.add(type(error))
    assert outcomes == {SurroundingsError, None}
