"""The one door to libsndfile: FLAC frames to samples and back, a block at a time.

The library sees none of a file's metadata: it is handed a bare file of a STREAMINFO made here and
the frames. Loading it takes time (it brings numpy along), so who may do without imports this late.
"""

import io
import sys
from typing import Any, BinaryIO

import soundfile

from tailsout.ground.errors import MaterialError, from_os_error
from tailsout.ground.pcm import Pcm
from tailsout.ground.units import printable
from tailsout.wave import streaminfo
from tailsout.wave.chunk import octets_of, read_at
from tailsout.wave.flac import HEADER_OCTETS, MARK, FlacLayout

_SUBTYPES = {8: "PCM_S8", 16: "PCM_16", 24: "PCM_24"}

_LAST = 0x80
# The library reads by what frames say; these figures only have to let every frame pass.
_ANY_BLOCKS = bytes.fromhex("0010 FFFF 000000 000000")


class _Straight(soundfile.SoundFile):  # type: ignore[misc]  # the library has no types to check
    """Reads and writes from start to end: else the library seeks after every block."""

    def seekable(self) -> bool:
        return False


class _Through:
    """What libsndfile calls back; an error must not pass through C, so it waits here."""

    def __init__(self) -> None:
        self.position = 0
        self.octets = 0
        self.error: BaseException | None = None

    def tell(self) -> int:
        return self.position

    def seek(self, offset: int, whence: int = io.SEEK_SET) -> int:
        base = {io.SEEK_SET: 0, io.SEEK_CUR: self.position, io.SEEK_END: self.octets}[whence]
        self.position = base + offset
        return self.position

    def raise_what_waited(self) -> None:
        error, self.error = self.error, None
        if isinstance(error, OSError):
            raise from_os_error(error, "Reading or writing a FLAC file") from error
        if error is not None:
            raise error


class _Bare(_Through):
    """A FLAC file of nothing but STREAMINFO and frames."""

    def __init__(self, stream: BinaryIO, start: int, info: bytes) -> None:
        super().__init__()
        self._stream = stream
        self._start = start
        self._head = MARK + bytes([_LAST]) + len(info).to_bytes(3, "big") + info
        self.octets = len(self._head) + octets_of(stream) - start

    def readinto(self, buffer: Any) -> int:  # noqa: ANN401  whatever the library hands in
        try:
            at = self.position - len(self._head)
            if at < 0:
                block = self._head[at:][: len(buffer)]
            else:
                block = read_at(self._stream, self._start + at, len(buffer))
            buffer[: len(block)] = block
        except BaseException as error:  # noqa: BLE001  raised again outside the library
            self.error = error
            return 0
        self.position += len(block)
        return len(block)


class Decoder:
    """The samples of one FLAC file, once, from the first to the last."""

    def __init__(self, stream: BinaryIO, layout: FlacLayout) -> None:
        """Begin. Raises MaterialError where the library cannot, SurroundingsError as reading."""
        info = layout.info
        if info is None or layout.audio_offset is None or info.bits not in streaminfo.FRAME_BITS:
            raise MaterialError("This FLAC file cannot be decoded here.")
        self._octets = (info.bits + 7) // 8
        # The library reads 8, 16 and 24 bits only by STREAMINFO, and any by a frame's own header.
        bits = min(8 * self._octets, max(streaminfo.BITS))
        packed = (info.sample_rate_hz << 8 | info.channels - 1 << 5 | bits - 1) << 36
        packed |= streaminfo.MAX_FRAMES
        bare = _ANY_BLOCKS + packed.to_bytes(8, "big") + bytes(16)
        self._bare = _Bare(stream, layout.audio_offset, bare)
        self._native, self._type = _native(info.bits)
        self._channels = info.channels
        try:
            self._file = _Straight(self._bare)
        except soundfile.SoundFileError as error:
            self._bare.raise_what_waited()
            raise MaterialError(_told(error)) from error
        self._bare.raise_what_waited()

    def next(self, frames: int) -> bytes:
        """Return the next samples, so many a channel or what there is; empty at the end.

        They are interleaved, signed, little-endian, left-justified in whole octets. Raises
        MaterialError where the frames are damaged, SurroundingsError as reading does.
        """
        block = bytearray(frames * self._channels * self._native)
        try:
            count = self._file.buffer_read_into(block, self._type)
        except soundfile.SoundFileError as error:
            self._bare.raise_what_waited()
            raise MaterialError(_told(error)) from error
        self._bare.raise_what_waited()
        del block[count * self._channels * self._native :]
        return packed(block, self._native, self._octets)


class _Target(_Through):
    """Takes what the encoder writes: its metadata into memory, its frames into the file."""

    def __init__(self, target: BinaryIO, reserved: int) -> None:
        super().__init__()
        self._target = target
        self._reserved = reserved
        self.head = bytearray()
        self._is_open = True

    def write(self, block: bytes) -> int:
        try:
            self._take(block)
        except BaseException as error:  # noqa: BLE001  raised again outside the library
            self.error = error
            return 0
        self.position += len(block)
        self.octets = max(self.octets, self.position)
        return len(block)

    def _take(self, block: bytes) -> None:
        # The encoder goes back to its metadata when all is written, to nothing else.
        end = len(self.head) if not self._is_open else self.position + len(block)
        into_head = block[: max(end - self.position, 0)]
        self.head[self.position : self.position + len(into_head)] = into_head
        if self._is_open:
            self._is_open = not _is_whole(self.head)
            if not self._is_open:
                self._target.seek(len(self.head) + self._reserved)
        self._target.write(block[len(into_head) :])


class Encoder:
    """One FLAC file in the making: frames are written as they come, metadata is handed over."""

    def __init__(self, target: BinaryIO, reserved: int, pcm: Pcm) -> None:
        """Begin. `reserved` octets are left free behind the encoder's own metadata.

        Raises MaterialError for what the library does not take.
        """
        self._target = _Target(target, reserved)
        self._native, self._type = _native(pcm.container_bits)
        self._octets = pcm.container_bits // 8
        try:
            self._file = _Straight(
                self._target,
                "w",
                samplerate=pcm.sample_rate_hz,
                channels=pcm.channels,
                format="FLAC",
                subtype=_SUBTYPES[pcm.container_bits],
            )
        except soundfile.SoundFileError as error:
            raise MaterialError(_told(error)) from error

    def take(self, block: bytes | memoryview) -> None:
        """Encode whole frames, laid out as `Decoder.next` gives them.

        Raises MaterialError if the library refuses, SurroundingsError if writing fails.
        """
        try:
            self._file.buffer_write(unpacked(block, self._native, self._octets), self._type)
        except (soundfile.SoundFileError, AssertionError) as error:
            self._target.raise_what_waited()
            raise MaterialError(_told(error)) from error
        self._target.raise_what_waited()

    def finish(self) -> bytes:
        """Write what is left and return the metadata, from `fLaC` to the first frame.

        Raises as `take`.
        """
        try:
            self._file.close()
        except soundfile.SoundFileError as error:
            self._target.raise_what_waited()
            raise MaterialError(_told(error)) from error
        self._target.raise_what_waited()
        return bytes(self._target.head)


def packed(block: bytes | bytearray, native: int, octets: int) -> bytes:
    """Turn samples of `native` octets, left-justified, into `octets` each, little-endian."""
    if native == octets and sys.byteorder == "little":
        return bytes(block)
    narrow = bytearray(len(block) // native * octets)
    for place, of in enumerate(places(native, octets, sys.byteorder)):
        narrow[place::octets] = block[of::native]
    return bytes(narrow)


def unpacked(block: bytes | memoryview, native: int, octets: int) -> bytes:
    """Turn samples of `octets` each, little-endian, into `native`, left-justified."""
    # A slice with a step is much slower of a memoryview.
    narrow = bytes(block)
    if native == octets and sys.byteorder == "little":
        return narrow
    wide = bytearray(len(narrow) // octets * native)
    for place, of in enumerate(places(native, octets, sys.byteorder)):
        wide[of::native] = narrow[place::octets]
    return bytes(wide)


def places(native: int, octets: int, byte_order: str) -> range:
    """Say where in a sample of this machine its topmost octets lie, the least of them first."""
    if byte_order == "little":
        return range(native - octets, native)
    return range(octets - 1, -1, -1)


def _native(bits: int) -> tuple[int, str]:
    """Octets and name of the type that the library hands over for so many bits."""
    return (2, "int16") if bits <= 16 else (4, "int32")


def _is_whole(head: bytearray) -> bool:
    """Tell whether metadata ends with its last block."""
    at = len(MARK)
    while at + HEADER_OCTETS <= len(head):
        is_last = head[at] & _LAST
        at += HEADER_OCTETS + int.from_bytes(head[at + 1 : at + HEADER_OCTETS], "big")
        if is_last:
            return at <= len(head)
    return False


def _told(error: Exception) -> str:
    why = getattr(error, "error_string", "") or "it was not taken"
    return f"The FLAC library says: {printable(str(why), 200).rstrip('.')}."
