"""What is encoded can be decoded to as many samples; Ogg pages are renumbered soundly."""

import io
from typing import Any

import numpy as np
import pytest
import soundfile

from tailsout.ground.errors import SurroundingsError
from tailsout.measure.access import encoding
from tailsout.measure.access.encoding import Encoder, crc, frames_in, renumber

FRAMES = 12_345


def encoded(copy_format: Any, rate: int, channels: int = 2, kilobits: int | None = None) -> bytes:
    noise = np.random.default_rng(2).normal(0, 0.05, (FRAMES, channels))
    target = io.BytesIO()
    bits = 16 if copy_format in {"WAV", "FLAC"} else None
    one = Encoder(
        target,
        copy_format,
        rate_hz=rate,
        channels=channels,
        bits=bits,
        kilobits_per_second=kilobits,
    )
    one.take((noise * 2**31).astype(np.int32) if bits else noise)
    one.finish()
    return target.getvalue()


@pytest.mark.parametrize(
    ("copy_format", "rate", "kilobits"),
    [("WAV", 96_000, None), ("FLAC", 44_100, None)]
    + [("MP3", rate, kbit) for rate in (32_000, 44_100, 48_000) for kbit in (96, 256)]
    + [("Opus", rate, kbit) for rate in (8_000, 16_000, 48_000) for kbit in (64, 128)],
)
def test_as_many_samples_come_out_as_went_in(
    copy_format: str, rate: int, kilobits: int | None
) -> None:
    content = encoded(copy_format, rate, kilobits=kilobits)
    assert frames_in(io.BytesIO(content)) == FRAMES
    assert soundfile.info(io.BytesIO(content)).samplerate == rate


@pytest.mark.parametrize("kilobits", [96, 128, 160, 192, 224, 256, 320])
def test_mp3_has_the_rate_asked_for(kilobits: int) -> None:
    content = encoded("MP3", 44_100, kilobits=kilobits)
    # ISO/IEC 11172-3, 2.4.2.3, from memory: layer III, bitrate_index in the third octet.
    table = (0, 32, 40, 48, 56, 64, 80, 96, 112, 128, 160, 192, 224, 256, 320)
    assert content[0] == 0xFF
    later = content.index(content[:2], 300)
    assert table[content[later + 2] >> 4] == kilobits


@pytest.mark.parametrize("channels", [1, 2])
@pytest.mark.parametrize("kilobits", [64, 128, 192])
def test_opus_comes_near_the_rate_asked_for(channels: int, kilobits: int) -> None:
    octets = len(encoded("Opus", 48_000, channels, kilobits))
    assert octets * 8 / 1000 / (FRAMES / 48_000) == pytest.approx(kilobits, rel=0.55)


def test_the_checksum_is_that_of_the_library() -> None:
    page = bytearray(encoded("Opus", 48_000, kilobits=128)[: 27 + 1 + 19])
    stated = int.from_bytes(page[22:26], "little")
    page[22:26] = bytes(4)
    assert crc(bytes(page)) == stated


def test_two_streams_renumbered_are_the_same_octets() -> None:
    made = []
    for _ in range(2):
        stream = io.BytesIO(encoded("Opus", 48_000, kilobits=128))
        renumber(stream, 0x5EA51DE)
        made.append(stream.getvalue())
        assert frames_in(stream) == FRAMES
    assert made[0] == made[1]
    assert made[0][14:18] == (0x5EA51DE).to_bytes(4, "little")


def test_what_is_no_ogg_is_not_renumbered() -> None:
    with pytest.raises(SurroundingsError, match="no Ogg pages"):
        renumber(io.BytesIO(b"x" * 40), 1)


def test_what_cannot_be_decoded_is_told() -> None:
    with pytest.raises(SurroundingsError, match="cannot be read back"):
        frames_in(io.BytesIO(b"x" * 1000))


class Full(io.BytesIO):
    def write(self, _octets: Any) -> int:
        raise OSError(28, "No space left on device")


def test_a_full_disk_is_told_as_one() -> None:
    with pytest.raises(SurroundingsError, match="Writing an access copy"):
        Encoder(Full(), "WAV", rate_hz=48_000, channels=1, bits=16, kilobits_per_second=None)


def test_the_versions_are_told() -> None:
    assert soundfile.__libsndfile_version__ in encoding.SOFTWARE
