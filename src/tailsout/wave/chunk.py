"""Where a chunk of a wave file lies, and how its octets are read. RIFF 1991 chapter 2."""

import struct
from dataclasses import dataclass
from typing import BinaryIO

from tailsout.ground.errors import from_os_error
from tailsout.ground.units import printable

HEADER = struct.Struct("<4sI")
"""Id and 32-bit size of a chunk."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Chunk:
    """Where one chunk lies; all figures in octets."""

    id: bytes
    """Four octets as they stand: case and trailing spaces count."""
    header_offset: int
    offset: int
    """Of the payload."""
    octets: int
    """Of the payload as declared, in 64 bits where `ds64` states them; may exceed the file."""
    pad: int
    """1 where a pad octet follows, else 0."""


def shown(chunk_id: bytes) -> str:
    """Write a chunk id for people, safe to print."""
    return printable(chunk_id.decode("latin-1")).rstrip(" ") or repr(chunk_id)


def is_id(octets: bytes) -> bool:
    """Say whether these are four printable ASCII characters, as an id must be."""
    return len(octets) == 4 and all(0x20 <= octet <= 0x7E for octet in octets)


def octets_of(stream: BinaryIO) -> int:
    """Return the length of a seekable stream. Raises SurroundingsError."""
    try:
        return stream.seek(0, 2)
    except OSError as error:
        raise from_os_error(error, "Reading a wave file") from error


def read_at(stream: BinaryIO, offset: int, octets: int) -> bytes:
    """Read `octets` at `offset`, fewer only where the stream ends. Raises SurroundingsError.

    Danger: a buffered stream allocates what is asked for, so `octets` must never be a declared
    size.
    """
    taken = bytearray()
    try:
        stream.seek(offset)
        while len(taken) < octets and (block := stream.read(octets - len(taken))):
            taken += block
    except OSError as error:
        raise from_os_error(error, "Reading a wave file") from error
    return bytes(taken)
