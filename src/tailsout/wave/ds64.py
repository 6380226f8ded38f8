"""The `ds64` chunk: the true sizes of a wave file past 4 GiB.

EBU Tech 3306 (RF64) and ITU-R BS.2088-1 (BW64) lay it out alike:

    u64 riffSize · u64 dataSize · u64 sampleCount · u32 tableLength · rows of {id, u64 size}

A row of the table holds the size of a chunk other than `data` that 32 bits cannot count. Octets
behind the last row are room for more rows and say nothing.
"""

import struct
from collections.abc import Sequence
from dataclasses import dataclass

from tailsout.ground.damage import Damage
from tailsout.ground.errors import MaterialError
from tailsout.ground.units import counted

UNSTATED = 0xFFFF_FFFF
"""What a 32-bit size holds where `ds64` has the true one."""

MAX_ROWS = 10_000
"""Most table rows that are read or written."""

Row = tuple[bytes, int]
"""Id of a chunk, and the octets of its payload."""

_FIXED = struct.Struct("<QQQI")
_ROW = struct.Struct("<4sQ")
FIXED_OCTETS = _FIXED.size
MAX_OCTETS = FIXED_OCTETS + MAX_ROWS * _ROW.size
"""Most octets of a `ds64` payload that are worth reading."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Sizes:
    """The 64-bit sizes, in octets, and frames."""

    riff: int
    data: int
    samples: int
    """Sample frames; BW64 leaves the field without meaning."""
    table: tuple[Row, ...]
    """Sizes of other chunks. Of two rows with one id, the first is the first such chunk's."""


def decode(payload: bytes, *, offset: int = 0) -> tuple[Sizes | None, tuple[Damage, ...]]:
    """Read a `ds64` payload that lies at `offset` in the file; None where it is too short."""
    if len(payload) < FIXED_OCTETS:
        text = (
            f"The ds64 chunk has {counted(len(payload), 'octet')}, it needs {FIXED_OCTETS}; the "
            "walk goes on with the 32-bit sizes."
        )
        return None, (Damage(kind="ds64-short", offset=offset, text=text),)
    riff, data, samples, rows = _FIXED.unpack_from(payload)
    room = (len(payload) - FIXED_OCTETS) // _ROW.size
    if rows > room:
        text = (
            f"The ds64 table states {rows} rows where {room} can be read; none is read, the walk "
            "goes on."
        )
        damage = (Damage(kind="ds64-table", offset=offset + FIXED_OCTETS - 4, text=text),)
        return Sizes(riff=riff, data=data, samples=samples, table=()), damage
    end = FIXED_OCTETS + rows * _ROW.size
    table = tuple(_ROW.iter_unpack(payload[FIXED_OCTETS:end]))
    return Sizes(riff=riff, data=data, samples=samples, table=table), ()


def encode(*, riff: int, data: int, samples: int, table: Sequence[Row] = ()) -> bytes:
    """Return a `ds64` payload: 28 octets, and twelve for each row of the table.

    Raises MaterialError for what the fields cannot hold, and for more rows than are read.
    """
    if len(table) > MAX_ROWS or any(len(chunk_id) != 4 for chunk_id, _ in table):
        raise MaterialError(f"A ds64 table takes {MAX_ROWS} rows at most, and ids of four octets.")
    try:
        fixed = _FIXED.pack(riff, data, samples, len(table))
        return fixed + b"".join(_ROW.pack(*row) for row in table)
    except struct.error as error:
        sentence = "A ds64 chunk cannot hold a size below 0 or of more than 64 bits."
        raise MaterialError(sentence) from error
