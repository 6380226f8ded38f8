"""The `levl` chunk: EBU Tech 3285 supplement 3, the peak envelope that editors draw.

The layout is from memory. Only what describes the envelope is read, not the envelope.
"""

import struct
from dataclasses import dataclass

from tailsout.ground.damage import Damage
from tailsout.ground.units import counted
from tailsout.wave import fixed_text

_HEAD = struct.Struct("<8I28s60x")
HEAD_OCTETS = _HEAD.size
"""Octets of a `levl` payload that are read."""
_UNKNOWN = 0xFFFF_FFFF
_FORMATS = {1: 8, 2: 16}
_POINTS = (1, 2)


@dataclass(frozen=True, slots=True, kw_only=True)
class Levl:
    """What describes the envelope."""

    version: int
    bits: int
    """Of one point, 8 or 16, unsigned; 0 if not known."""
    points_per_value: int
    """1: the larger of both signs; 2: positive and negative."""
    block_frames: int
    """Sample frames that make one value."""
    channels: int
    peak_frames: int
    """How many values there are in each channel."""
    peak_of_peaks: int | None
    """Sample frame of the highest peak; None if marked unknown."""
    peaks_at: int
    """Octets from the chunk's id to the first point."""
    made: str
    """`YYYY:MM:DD:hh:mm:ss:uuu`, as found."""


def decode(payload: bytes, *, offset: int = 0) -> tuple[Levl | None, tuple[Damage, ...]]:
    """Read the head of a `levl` payload that lies at `offset`; None where it is too short."""
    if len(payload) < HEAD_OCTETS:
        text = f"The levl chunk has {counted(len(payload), 'octet')}, its head needs {HEAD_OCTETS}."
        return None, (Damage(kind="levl-short", offset=offset, text=text),)
    version, form, points, block, channels, frames, peak, peaks_at, raw = _HEAD.unpack_from(payload)
    made, is_ascii = fixed_text.read(raw)
    damage = []
    if form not in _FORMATS or points not in _POINTS:
        text = (
            f"The levl chunk is of format {form} with {points} points a value; 1 and 2 are known."
        )
        damage.append(Damage(kind="levl-format", offset=offset + 4, text=text))
    if not is_ascii:
        text = "The date in the levl chunk is not written in ASCII."
        damage.append(Damage(kind="levl-text", offset=offset + 32, text=text))
    levl = Levl(
        version=version,
        bits=_FORMATS.get(form, 0),
        points_per_value=points,
        block_frames=block,
        channels=channels,
        peak_frames=frames,
        peak_of_peaks=None if peak == _UNKNOWN else peak,
        peaks_at=peaks_at,
        made=made,
    )
    return levl, tuple(damage)
