"""Small wave and FLAC files from octet templates, and streams that fail or dribble."""

import errno
import hashlib
import io
import random
from collections.abc import Callable, Sequence
from typing import Any

import pytest


class WaveMaker:
    """Puts files together; every size can be made to lie."""

    FMT = bytes.fromhex(
        "0100"  # wFormatTag: PCM
        "0200"  # nChannels
        "80BB0000"  # nSamplesPerSec: 48000
        "00650400"  # nAvgBytesPerSec: 288000
        "0600"  # nBlockAlign
        "1800"  # wBitsPerSample: 24
    )
    AUDIO = bytes(range(24))
    """Four frames of `FMT`."""

    def chunk(
        self, chunk_id: bytes, payload: bytes, octets: int | None = None, pad: bytes = b"\0"
    ) -> bytes:
        stated = len(payload) if octets is None else octets
        tail = pad if len(payload) % 2 else b""
        return chunk_id + stated.to_bytes(4, "little") + payload + tail

    def wave(self, *chunks: bytes, form: bytes = b"RIFF", riff_octets: int | None = None) -> bytes:
        body = b"WAVE" + b"".join(chunks)
        stated = len(body) if riff_octets is None else riff_octets
        return form + stated.to_bytes(4, "little") + body

    def fmt(self, payload: bytes | None = None) -> bytes:
        return self.chunk(b"fmt ", self.FMT if payload is None else payload)

    def data(self, payload: bytes | None = None, **how: Any) -> bytes:
        return self.chunk(b"data", self.AUDIO if payload is None else payload, **how)

    def ds64(
        self, riff: int, data: int, samples: int = 4, rows: int | None = None, table: bytes = b""
    ) -> bytes:
        count = len(table) // 12 if rows is None else rows
        figures = (riff, data, samples)
        payload = b"".join(one.to_bytes(8, "little") for one in figures)
        return self.chunk(b"ds64", payload + count.to_bytes(4, "little") + table)

    def good(self) -> bytes:
        return self.wave(self.fmt(), self.data())

    def rf64(self, *, riff: int | None = None, data: int = 24, form: bytes = b"RF64") -> bytes:
        audio = self.data(octets=0xFFFFFFFF)
        octets = 4 + 36 + 24 + len(audio) if riff is None else riff
        return self.wave(
            self.ds64(octets, data), self.fmt(), audio, form=form, riff_octets=0xFFFFFFFF
        )


class FlacMaker:
    """Puts FLAC files together without an encoder: every frame holds its samples as they are.

    Frames by RFC 9639 §9, from memory: sync, codes, number, size, CRC-8; the samples; CRC-16.
    """

    MARK = b"fLaC"

    def info(
        self,
        rate: int = 48_000,
        channels: int = 2,
        bits: int = 24,
        frames: int = 32,
        *,
        md5: bytes = bytes(16),
        blocks: tuple[int, int] = (16, 16),
        sizes: tuple[int, int] = (0, 0),
    ) -> bytes:
        """The payload of STREAMINFO."""
        figures = rate << 44 | (channels - 1) << 41 | (bits - 1) << 36 | frames
        return b"".join(
            (
                *(one.to_bytes(2, "big") for one in blocks),
                *(one.to_bytes(3, "big") for one in sizes),
                figures.to_bytes(8, "big"),
                md5,
            )
        )

    def block(
        self, sort: int, payload: bytes, *, last: bool = False, octets: int | None = None
    ) -> bytes:
        stated = len(payload) if octets is None else octets
        return bytes([sort | 0x80 * last]) + stated.to_bytes(3, "big") + payload

    def frame(
        self, number: int, tracks: Sequence[Sequence[int]], bits: int = 24, *, code: int = 0
    ) -> bytes:
        """One frame of the samples of each channel; their count stands in the header.

        `code` states the bits there; 0 refers to STREAMINFO.
        """
        head = bytes([0xFF, 0xF8, 0x70, (len(tracks) - 1) << 4 | code << 1, number])
        head += (len(tracks[0]) - 1).to_bytes(2, "big")
        head += bytes([self._crc(head, 0x07, 8)])
        body = ""
        for track in tracks:
            body += "00000010"
            body += "".join(f"{sample & ((1 << bits) - 1):0{bits}b}" for sample in track)
        body += "0" * (-len(body) % 8)
        frame = head + int(body, 2).to_bytes(len(body) // 8, "big")
        return frame + self._crc(frame, 0x8005, 16).to_bytes(2, "big")

    def flac(self, *blocks: bytes, audio: bytes = b"", info: bytes | None = None) -> bytes:
        """A file of STREAMINFO, the blocks and, marked as last, some padding; then the audio."""
        first = self.block(0, self.info() if info is None else info)
        return self.MARK + first + b"".join(blocks) + self.block(1, bytes(2), last=True) + audio

    def good(self, bits: int = 24, channels: int = 2, *, code: int = 0) -> bytes:
        """Two frames of sixteen samples a channel."""
        frames = (
            self.frame(number, tracks, bits, code=code)
            for number, tracks in enumerate(self.tracks(bits, channels))
        )
        return self.flac(
            audio=b"".join(frames),
            info=self.info(bits=bits, channels=channels, md5=self.md5(bits, channels)),
        )

    def tracks(self, bits: int = 24, channels: int = 2) -> list[list[list[int]]]:
        """The samples of `good`: by frame, by channel."""
        noise, half = random.Random(bits + channels), 1 << bits - 1
        return [
            [[noise.randrange(-half, half) for _ in range(16)] for _ in range(channels)]
            for _ in range(2)
        ]

    def signed(self, bits: int = 24, channels: int = 2) -> bytes:
        """The same as MD5 takes them: interleaved, signed, little-endian."""
        return b"".join(
            tracks[channel][at].to_bytes((bits + 7) // 8, "little", signed=True)
            for tracks in self.tracks(bits, channels)
            for at in range(16)
            for channel in range(channels)
        )

    def md5(self, bits: int = 24, channels: int = 2) -> bytes:
        return hashlib.md5(self.signed(bits, channels), usedforsecurity=False).digest()

    def tag(self, octets: int, flags: int = 0) -> bytes:
        """An ID3v2 tag in front; `octets` behind its header of ten."""
        size = bytes(octets >> shift & 0x7F for shift in (21, 14, 7, 0))
        return b"ID3\x04\0" + bytes([flags]) + size + bytes(octets)

    def _crc(self, octets: bytes, polynomial: int, bits: int) -> int:
        value, top = 0, 1 << bits - 1
        for octet in octets:
            value ^= octet << bits - 8
            for _ in range(8):
                value = value << 1 ^ polynomial * bool(value & top)
                value &= (1 << bits) - 1
        return value


class Failing(io.BytesIO):
    """Fails with an I/O error on the n-th operation and after."""

    def __init__(self, content: bytes, good_operations: int) -> None:
        super().__init__(content)
        self.left = good_operations

    def _count(self) -> None:
        self.left -= 1
        if self.left < 0:
            raise OSError(errno.EIO, "Input/output error")

    def read(self, size: int | None = -1, /) -> bytes:
        self._count()
        return super().read(size)

    def readinto(self, buffer: Any, /) -> int:
        self._count()
        return super().readinto(buffer)

    def seek(self, offset: int, whence: int = 0, /) -> int:
        self._count()
        return super().seek(offset, whence)


class Dribbling(io.BytesIO):
    """Hands out a few octets at a time."""

    def __init__(self, content: bytes, at_most: int = 3) -> None:
        super().__init__(content)
        self.at_most = at_most

    def read(self, size: int | None = -1, /) -> bytes:
        return super().read(self.at_most if size is None or size < 0 else min(self.at_most, size))

    def readinto(self, buffer: Any, /) -> int:
        return super().readinto(memoryview(buffer)[: self.at_most])


@pytest.fixture(scope="session")
def maker() -> WaveMaker:
    return WaveMaker()


@pytest.fixture(scope="session")
def flac() -> FlacMaker:
    return FlacMaker()


@pytest.fixture(scope="session")
def failing() -> Callable[[bytes, int], io.BytesIO]:
    return Failing


@pytest.fixture(scope="session")
def dribbling() -> Callable[..., io.BytesIO]:
    return Dribbling
