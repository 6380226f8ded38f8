"""Samples into WAV, FLAC, MP3 and Opus by libsndfile, and how many come out of them again.

The octets depend on samples, settings and the library's version alone: the library draws a number
for every Ogg stream (RFC 3533 §6, bitstream_serial_number), which is replaced by one of ours.
"""

import io
import zlib
from collections.abc import Mapping
from typing import Any, BinaryIO

import numpy as np
import soundfile
from numpy.typing import NDArray

from tailsout.ground.errors import SurroundingsError, from_os_error
from tailsout.records.vocab import CopyFormat

SOFTWARE = f"soundfile {soundfile.__version__} (libsndfile {soundfile.__libsndfile_version__})"

_FORMATS: Mapping[CopyFormat, tuple[str, str]] = {
    "WAV": ("WAV", "PCM_"),
    "FLAC": ("FLAC", "PCM_"),
    "MP3": ("MP3", "MPEG_LAYER_III"),
    "Opus": ("OGG", "OPUS"),
}
_MOST_FRAMES = 1 << 16
# The CRC of Ogg takes the highest bit first, zlib's the lowest: RFC 3533 §6.
_TURNED = bytes(int(f"{octet:08b}"[::-1], 2) for octet in range(256))
_PAGE = b"OggS"
_PAGE_HEAD = 27


class _Kept:
    """A stream for the library; an error must not pass through C, so it waits here."""

    def __init__(self, stream: BinaryIO) -> None:
        self._stream = stream
        self.error: OSError | None = None

    def _try(self, act: Any, *given: Any) -> Any:  # noqa: ANN401  whatever the stream takes
        # When it has failed the library may call again, long after the stream was closed.
        if self.error is not None:
            return 0
        try:
            return act(*given)
        except OSError as error:
            self.error = error
            return 0

    def seek(self, offset: int, whence: int = io.SEEK_SET) -> int:
        return int(self._try(self._stream.seek, offset, whence))

    def tell(self) -> int:
        return int(self._try(self._stream.tell))

    def write(self, octets: Any) -> int:  # noqa: ANN401  what the library hands over
        return int(self._try(self._stream.write, octets))

    def read(self, octets: int) -> bytes:
        return self._try(self._stream.read, octets) or b""


class Encoder:
    """One file, written from its first sample to the last."""

    def __init__(
        self,
        target: BinaryIO,
        copy_format: CopyFormat,
        *,
        rate_hz: int,
        channels: int,
        bits: int | None,
        kilobits_per_second: int | None,
    ) -> None:
        """Begin in an empty seekable stream. Raises SurroundingsError if the library cannot."""
        self._kept = _Kept(target)
        form, subtype = _FORMATS[copy_format]
        more: dict[str, Any] = {}
        if bits is not None:
            subtype += str(bits)
        if kilobits_per_second is not None:
            more["compression_level"] = _level(copy_format, kilobits_per_second, channels)
        if copy_format == "MP3":
            more["bitrate_mode"] = "CONSTANT"
        self._file = self._asked(
            soundfile.SoundFile,
            self._kept,
            "w",
            samplerate=rate_hz,
            channels=channels,
            format=form,
            subtype=subtype,
            **more,
        )

    def take(self, samples: NDArray[Any]) -> None:
        """Write samples of shape (frames, channels): words of 32 bits, or floats."""
        for at in range(0, len(samples), _MOST_FRAMES):
            self._asked(self._file.write, samples[at : at + _MOST_FRAMES])

    def finish(self) -> None:
        """Write what is left. Raises SurroundingsError."""
        self._asked(self._file.close)

    def _asked(self, act: Any, *given: Any, **more: Any) -> Any:  # noqa: ANN401  the library's
        try:
            done = act(*given, **more)
        except soundfile.SoundFileError as error:
            self._raise_what_waited()
            raise SurroundingsError(
                f"An access copy could not be encoded: {error}",
                "Look whether the disk is full, and which version of libsndfile is installed.",
            ) from error
        self._raise_what_waited()
        return done

    def _raise_what_waited(self) -> None:
        if self._kept.error is not None:
            raise from_os_error(self._kept.error, "Writing an access copy") from self._kept.error


def _level(copy_format: CopyFormat, kilobits_per_second: int, channels: int) -> float:
    """Return by which figure from 0 to 1 the library makes so many kilobits (its source, 1.2)."""
    if copy_format == "MP3":
        return (320 - kilobits_per_second) / (320 - 32)
    return min(1.0, max(0.0, (256 - kilobits_per_second / channels) / (256 - 6)))


def frames_in(stream: BinaryIO) -> int:
    """Decode a file from its start and return its samples per channel. Raises SurroundingsError."""
    kept = _Kept(stream)
    kept.seek(0)
    try:
        with soundfile.SoundFile(kept) as file:
            block = np.zeros((_MOST_FRAMES, file.channels), np.float32)
            frames = 0
            while count := len(file.read(_MOST_FRAMES, out=block)):
                frames += count
    except soundfile.SoundFileError as error:
        raise SurroundingsError(f"An access copy cannot be read back: {error}") from error
    if kept.error is not None:
        raise from_os_error(kept.error, "Reading an access copy") from kept.error
    return frames


def renumber(stream: BinaryIO, serial: int) -> None:
    """Give every page of an Ogg stream this serial number. Raises SurroundingsError."""
    try:
        at = 0
        while True:
            stream.seek(at)
            head = stream.read(_PAGE_HEAD)
            if not head:
                return
            if len(head) < _PAGE_HEAD or not head.startswith(_PAGE):
                raise SurroundingsError("The encoder wrote no Ogg pages.")
            laces = stream.read(head[26])
            body = stream.read(sum(laces))
            page = bytearray(head + laces + body)
            page[14:18] = serial.to_bytes(4, "little")
            page[22:26] = bytes(4)
            page[22:26] = crc(bytes(page)).to_bytes(4, "little")
            stream.seek(at)
            stream.write(page)
            at += len(page)
    except OSError as error:
        raise from_os_error(error, "Writing an access copy") from error


def crc(page: bytes) -> int:
    """Return the checksum of an Ogg page, its own field being zero: RFC 3533 §6."""
    turned = zlib.crc32(page.translate(_TURNED), 0xFFFFFFFF) ^ 0xFFFFFFFF
    return int(f"{turned:032b}"[::-1], 2)
