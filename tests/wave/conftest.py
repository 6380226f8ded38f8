"""Small wave files from octet templates, and streams that fail or dribble."""

import errno
import io
from collections.abc import Callable
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
    """Hands out at most three octets at a time."""

    def read(self, size: int | None = -1, /) -> bytes:
        return super().read(3 if size is None or size < 0 else min(3, size))

    def readinto(self, buffer: Any, /) -> int:
        return super().readinto(memoryview(buffer)[:3])


@pytest.fixture(scope="session")
def maker() -> WaveMaker:
    return WaveMaker()


@pytest.fixture(scope="session")
def failing() -> Callable[[bytes, int], io.BytesIO]:
    return Failing


@pytest.fixture(scope="session")
def dribbling() -> Callable[[bytes], io.BytesIO]:
    return Dribbling
