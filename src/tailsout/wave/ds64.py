"""The `ds64` chunk: the true sizes of a wave file past 4 GiB.

EBU Tech 3306 (RF64) and ITU-R BS.2088-1 (BW64) lay it out alike:

    u64 riffSize · u64 dataSize · u64 sampleCount · u32 tableLength · rows of {id, u64 size}

The table holds sizes of chunks other than `data`; it is read, never written.
"""

import struct
from collections.abc import Mapping
from dataclasses import dataclass

from tailsout.ground.damage import Damage

UNSTATED = 0xFFFF_FFFF
"""What a 32-bit size holds where `ds64` has the true one."""

MAX_ROWS = 10_000
"""Most table rows that are read."""

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
    table: Mapping[bytes, int]
    """Sizes of other chunks by id."""


def decode(payload: bytes, *, offset: int = 0) -> tuple[Sizes | None, tuple[Damage, ...]]:
    """Read a `ds64` payload that lies at `offset` in the file; None where it is too short."""
    if len(payload) < FIXED_OCTETS:
        text = (
            f"The ds64 chunk has {len(payload)} octets, it needs {FIXED_OCTETS}; the walk goes on "
            "with the 32-bit sizes."
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
        return Sizes(riff=riff, data=data, samples=samples, table={}), damage
    end = FIXED_OCTETS + rows * _ROW.size
    table = dict(_ROW.iter_unpack(payload[FIXED_OCTETS:end]))
    return Sizes(riff=riff, data=data, samples=samples, table=table), ()


def encode(*, riff: int, data: int, samples: int) -> bytes:
    """Return a `ds64` payload without table rows: 28 octets."""
    return _FIXED.pack(riff, data, samples, 0)
