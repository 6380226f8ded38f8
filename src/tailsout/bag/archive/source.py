"""The octets of an archive in the order they come, packed or not, counted as they come.

A gzip file is unpacked member after member (RFC 1952 §2.2), an xz file stream after stream with
padding between them (The .xz File Format 1.2, ch. 2). Nothing is allocated by a stated size.
"""

import lzma
import zlib
from collections.abc import Callable, Iterator
from io import BufferedReader
from typing import Literal, Protocol

from tailsout.bag.archive.limits import Limits

BLOCK_OCTETS = 1 << 18
_INPUT_OCTETS = 1 << 16
_GZIP, _XZ = b"\x1f\x8b", b"\xfd7zXZ\0"
_XZ_PADDING = 4

Packing = Literal["gzip", "xz", "deflate"]


class StoppedError(Exception):
    """An archive cannot be read on: the word for it among the observations, and one sentence.

    It never leaves the room: the reader notes it.
    """

    def __init__(self, word: str, text: str) -> None:
        super().__init__(word, text)
        self.word, self.text = word, text


class Source(Protocol):
    """Octets that come in one order."""

    @property
    def position(self) -> int:
        """How many octets went by."""

    def some(self, most: int) -> bytes:
        """Return the next octets, at most so many; none at the end only. Raises StoppedError."""

    def skip(self, octets: int) -> int:
        """Pass over octets; return how many there were. Raises StoppedError."""


def take(source: Source, octets: int) -> bytes:
    """Return the next octets, fewer only if the source ends before. Raises StoppedError."""
    parts = []
    while octets > 0:
        part = source.some(octets)
        if not part:
            break
        parts.append(part)
        octets -= len(part)
    return b"".join(parts)


def stretch(source: Source, octets: int, passed: Callable[[int], None]) -> Iterator[bytes]:
    """Yield the next octets in blocks, fewer in all if the source ends. Raises StoppedError."""
    while octets > 0 and (block := source.some(min(octets, BLOCK_OCTETS))):
        passed(len(block))
        octets -= len(block)
        yield block


class Plain:
    """A file as it is, or a stretch of it from where it stands now."""

    def __init__(self, stream: BufferedReader, octets: int) -> None:
        self._stream, self._octets = stream, octets
        self.position = 0

    def some(self, most: int) -> bytes:
        """Return the next octets."""
        part = self._stream.read(max(0, min(most, self._octets - self.position)))
        self.position += len(part)
        return part

    def skip(self, octets: int) -> int:
        """Pass over octets without reading them."""
        step = min(octets, self._octets - self.position)
        self._stream.seek(step, 1)
        self.position += step
        return step


class _Decoder(Protocol):
    @property
    def eof(self) -> bool: ...

    @property
    def unused_data(self) -> bytes: ...

    @property
    def needs_input(self) -> bool: ...

    def decompress(self, data: bytes, max_length: int) -> bytes: ...


class _Inflating:
    """`zlib`, with the manners of `lzma`."""

    def __init__(self, window_bits: int) -> None:
        self._object = zlib.decompressobj(window_bits)
        self.needs_input = True

    @property
    def eof(self) -> bool:
        return self._object.eof

    @property
    def unused_data(self) -> bytes:
        return self._object.unused_data

    def decompress(self, data: bytes, max_length: int) -> bytes:
        found = self._object.decompress(self._object.unconsumed_tail + data, max_length)
        # Where all room was filled, more may be held back without any input left over.
        self.needs_input = not self._object.unconsumed_tail and len(found) < max_length
        return found


class Unpacked:
    """What a packed source holds; more than is fair for its size stops it."""

    def __init__(self, packed: Source, packing: Packing, limits: Limits) -> None:
        self._packed, self._packing, self._limits = packed, packing, limits
        self._decoder = self._new()
        self._left = b""
        self._is_over = False
        self._ready = b""
        self._at = self._made = 0
        self.position = 0
        self.has_tail = False
        """True once other octets were met after the packed ones."""

    def some(self, most: int) -> bytes:
        """Return the next octets."""
        if self._at == len(self._ready):
            self._ready, self._at = self._next(), 0
        part = self._ready[self._at : self._at + most]
        self._at += len(part)
        self.position += len(part)
        return part

    def skip(self, octets: int) -> int:
        """Pass over octets, which must be unpacked for it."""
        gone = 0
        while gone < octets:
            part = self.some(min(octets - gone, BLOCK_OCTETS))
            if not part:
                break
            gone += len(part)
        return gone

    def _new(self) -> _Decoder:
        if self._packing == "xz":
            return lzma.LZMADecompressor(lzma.FORMAT_XZ, memlimit=self._limits.xz_memory_octets)
        return _Inflating(zlib.MAX_WBITS + 16 if self._packing == "gzip" else -zlib.MAX_WBITS)

    def _next(self) -> bytes:
        """Unpack the next block; a decoder asked for less each time would copy what it holds."""
        while not self._is_over:
            if self._decoder.eof:
                self._go_on()
                continue
            data = self._input() if self._decoder.needs_input else b""
            if self._decoder.needs_input and not data:
                raise StoppedError("archive-damaged", "Its packed octets are cut short.")
            found = self._decode(data, BLOCK_OCTETS)
            if found:
                self._count(len(found))
                return found
        return b""

    def _input(self) -> bytes:
        data, self._left = self._left or self._packed.some(_INPUT_OCTETS), b""
        return data

    def _decode(self, data: bytes, most: int) -> bytes:
        try:
            return self._decoder.decompress(data, most)
        except (zlib.error, lzma.LZMAError, EOFError) as error:
            # The library has no other way to tell the one from the other.
            if "Memory usage limit" in str(error):
                text = f"Unpacking it takes more than {self._limits.xz_memory_octets} octets."
                raise StoppedError("archive-beyond-limits", text) from error
            text = f"Its packed octets are damaged near octet {self._packed.position}."
            raise StoppedError("archive-damaged", text) from error

    def _count(self, octets: int) -> None:
        self._made += octets
        limits, packed = self._limits, self._packed.position
        if self._made > limits.ratio_after and self._made > limits.ratio * packed:
            text = f"{packed} octets came to more than {limits.ratio} times as many."
            raise StoppedError("archive-beyond-limits", text)
        if self._made > limits.unpacked_octets:
            text = f"It came to more than {limits.unpacked_octets} octets."
            raise StoppedError("archive-beyond-limits", text)

    def _go_on(self) -> None:
        """At the end of a gzip member or xz stream: begin the next one, or end."""
        rest = self._decoder.unused_data
        if self._packing == "deflate":
            self._end(has_tail=bool(rest) or bool(self._packed.some(1)))
            return
        magic = _GZIP if self._packing == "gzip" else _XZ
        rest += take(self._packed, len(magic) - len(rest))
        while self._packing == "xz" and rest[:_XZ_PADDING] == bytes(_XZ_PADDING):
            rest = rest[_XZ_PADDING:]
            rest += take(self._packed, len(magic) - len(rest))
        if rest.startswith(magic):
            self._decoder, self._left = self._new(), rest
        else:
            self._end(has_tail=bool(rest))

    def _end(self, *, has_tail: bool) -> None:
        self._is_over, self.has_tail = True, has_tail
