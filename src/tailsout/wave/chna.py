"""The `chna` chunk: which track carries which element of an audio definition model.

ITU-R BS.2088-1, from memory and checked against another reader:

    u16 tracks · u16 UIDs · rows of {u16 track, 12 UID, 14 track format, 11 pack format, 1 zero}

Read only: a transfer that carries one keeps it as it stands.
"""

import struct
from dataclasses import dataclass

from tailsout.ground.damage import Damage
from tailsout.ground.units import counted
from tailsout.wave import fixed_text

_HEAD = struct.Struct("<HH")
_ROW = struct.Struct("<H12s14s11sx")
MAX_OCTETS = _HEAD.size + 0xFFFF * _ROW.size
"""Most octets of a `chna` payload that are worth reading."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One track's element."""

    track: int
    """1-based; 0 marks a row that is not used."""
    uid: str
    """Audio track UID, as `ATU_00000001`."""
    track_format: str
    """Audio track format, as `AT_00010001_01`."""
    pack_format: str
    """Audio pack format, as `AP_00010002`; may be empty."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Chna:
    """The table."""

    tracks: int
    """As stated."""
    rows: tuple[Row, ...]


def decode(payload: bytes, *, offset: int = 0) -> tuple[Chna | None, tuple[Damage, ...]]:
    """Read a `chna` payload that lies at `offset` in the file; None where it is too short.

    Of rows that are stated and not there, those that are there are read.
    """
    if len(payload) < _HEAD.size:
        text = f"The chna chunk has {counted(len(payload), 'octet')}, it needs {_HEAD.size}."
        return None, (Damage(kind="chna-short", offset=offset, text=text),)
    tracks, stated = _HEAD.unpack_from(payload)
    damage = []
    count = min(stated, (len(payload) - _HEAD.size) // _ROW.size)
    if count < stated:
        text = f"The chna chunk states {stated} rows and holds {count}."
        damage.append(Damage(kind="chna-rows", offset=offset + 2, text=text))
    rows = []
    for number in range(count):
        at = _HEAD.size + number * _ROW.size
        track, *raw = _ROW.unpack_from(payload, at)
        texts = [fixed_text.read(one) for one in raw]
        if not all(is_ascii for _, is_ascii in texts):
            text = f"Row {number + 1} of the chna chunk is not written in ASCII."
            damage.append(Damage(kind="chna-text", offset=offset + at, text=text))
        uid, track_format, pack_format = (one for one, _ in texts)
        rows.append(Row(track=track, uid=uid, track_format=track_format, pack_format=pack_format))
    named = len({row.track for row in rows} - {0})
    if named != tracks and count == stated:
        text = f"The chna chunk states {counted(tracks, 'track')} and its rows name {named}."
        damage.append(Damage(kind="chna-tracks", offset=offset, text=text))
    return Chna(tracks=tracks, rows=tuple(rows)), tuple(damage)
