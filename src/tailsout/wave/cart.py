"""The `cart` chunk: AES46, what a radio station's play-out says of an item.

The layout is from memory: fields of fixed length, 2048 octets in all, then free text. Read only: a
transfer that carries one keeps it as it stands.
"""

import struct
from dataclasses import dataclass, fields

from tailsout.ground.damage import Damage
from tailsout.ground.units import counted
from tailsout.wave import fixed_text

_FIXED = struct.Struct("<4s64s64s64s64s64s64s64s10s8s10s8s64s64s64sI64s276x1024s")
FIXED_OCTETS = _FIXED.size
"""2048: a `cart` is never shorter."""
MAX_OCTETS = FIXED_OCTETS + (64 << 10)
"""Most octets of a `cart` payload that are worth reading."""
_TIMER = struct.Struct("<4sI")


@dataclass(frozen=True, slots=True, kw_only=True)
class Timer:
    """One moment within the item."""

    usage: str
    """Four characters, as `SEGs` for the start of a segue."""
    frame: int
    """Sample frame."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Cart:
    """The chunk's fields, text as found."""

    version: str
    title: str
    artist: str
    cut_id: str
    client_id: str
    category: str
    classification: str
    out_cue: str
    start_date: str
    start_time: str
    end_date: str
    end_time: str
    producer: str
    """Program that wrote it."""
    producer_version: str
    user: str
    level_reference: int
    """Sample value that is taken as 0 dB."""
    timers: tuple[Timer, ...]
    """Those that are set, in their order."""
    url: str
    tag_text: str


def decode(payload: bytes, *, offset: int = 0) -> tuple[Cart | None, tuple[Damage, ...]]:
    """Read a `cart` payload that lies at `offset` in the file; None where it is too short."""
    if len(payload) < FIXED_OCTETS:
        text = f"The cart chunk has {counted(len(payload), 'octet')}, it needs {FIXED_OCTETS}."
        return None, (Damage(kind="cart-short", offset=offset, text=text),)
    *raw, level, timers, url = _FIXED.unpack_from(payload)
    found = [fixed_text.read(one) for one in (*raw, url, payload[FIXED_OCTETS:MAX_OCTETS])]
    damage: tuple[Damage, ...] = ()
    if not all(is_ascii for _, is_ascii in found):
        text = "The cart chunk has characters outside ASCII."
        damage = (Damage(kind="cart-text", offset=offset, text=text),)
    names = (field.name for field in fields(Cart) if field.type is str)
    texts = {name: text for name, (text, _) in zip(names, found, strict=True)}
    return Cart(**texts, level_reference=level, timers=_timers(timers)), damage


def _timers(raw: bytes) -> tuple[Timer, ...]:
    return tuple(
        Timer(usage=fixed_text.read(usage)[0], frame=frame)
        for usage, frame in _TIMER.iter_unpack(raw)
        if usage.strip(b"\0 ")
    )
