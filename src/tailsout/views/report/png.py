"""A picture of few shades as PNG (ISO/IEC 15948): the same octets from the same cells, anywhere.

Nothing is compressed: two compressors make two files of one picture, and a page that is proved by
digests must not depend on which one a system has. Sixteen shades take half an octet a cell.
"""

import struct
from collections.abc import Iterable, Sequence
from zlib import adler32, crc32

SHADES = 16
_INK = bytes((0x1B, 0x1A, 0x17))
_PALETTE, _DEPTH = 3, 4
_MOST_STORED = 0xFFFF
"""Octets of a stored block (RFC 1951 § 3.2.4)."""


def picture(rows: Sequence[Sequence[int]]) -> bytes:
    """Return a picture of rows of shades, from 0 (the bare paper, clear) to 15 (ink)."""
    clear = bytes(round(255 * shade / (SHADES - 1)) for shade in range(SHADES))
    size = struct.pack(">II", len(rows[0]), len(rows))
    lines = b"".join(b"\0" + _packed(row) for row in rows)
    chunks = (
        (b"IHDR", size + bytes((_DEPTH, _PALETTE, 0, 0, 0))),
        (b"PLTE", _INK * SHADES),
        (b"tRNS", clear),
        (b"IDAT", _stored(lines)),
        (b"IEND", b""),
    )
    return b"\x89PNG\r\n\x1a\n" + b"".join(_chunk(*one) for one in chunks)


def _packed(row: Iterable[int]) -> bytes:
    shades = list(row)
    shades += [0] * (len(shades) % 2)
    return bytes(left << 4 | right for left, right in zip(shades[::2], shades[1::2], strict=True))


def _stored(content: bytes) -> bytes:
    """Return a zlib stream (RFC 1950) of stored blocks."""
    blocks = []
    for at in range(0, len(content), _MOST_STORED):
        block = content[at : at + _MOST_STORED]
        is_last = at + _MOST_STORED >= len(content)
        blocks.append(struct.pack("<BHH", is_last, len(block), len(block) ^ 0xFFFF) + block)
    return b"\x78\x01" + b"".join(blocks) + struct.pack(">I", adler32(content))


def _chunk(name: bytes, payload: bytes) -> bytes:
    return (
        struct.pack(">I", len(payload)) + name + payload + struct.pack(">I", crc32(name + payload))
    )
