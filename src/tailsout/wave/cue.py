"""The `cue ` chunk: points in a wave file, by sample frame. RIFF 1991 chapter 3.

    u32 count · points of {u32 name, u32 position, chunk id, u32 start of chunk, u32 start of block,
    u32 sample offset}

With one plain `data` chunk the frame is the sample offset; the position in play order is the same
number, though many writers leave it 0. Labels of points are in `adtl`.
"""

import struct
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from tailsout.ground.damage import Damage
from tailsout.ground.errors import MaterialError
from tailsout.ground.units import counted
from tailsout.wave.chunk import shown

MAX_POINTS = 10_000
"""Most points that are read or written."""

MAX_FRAME = 0xFFFF_FFFF
"""The last frame that 32 bits can name."""

_COUNT_OCTETS = 4
_POINT = struct.Struct("<II4sIII")
_DATA = b"data"


@dataclass(frozen=True, slots=True, kw_only=True)
class Point:
    """One cue point."""

    number: int
    """Its name, by which labels refer to it; unique."""
    position: int
    """Frame in play order; often 0 although the sample offset is not."""
    chunk: bytes = _DATA
    """Id of the chunk that the offsets count in."""
    chunk_start: int = 0
    """Octets; 0 but where samples lie in several chunks."""
    block_start: int = 0
    """Octets; 0 for linear PCM."""
    sample_offset: int
    """Frame from the start of the block."""


def decode(
    payload: bytes, *, offset: int = 0, frames: int | None = None
) -> tuple[tuple[Point, ...], tuple[Damage, ...]]:
    """Read a `cue ` payload that lies at `offset` in the file.

    Points are kept in the order they stand in, doubtful ones too; `frames` is the file's length,
    where it is known.
    """
    if len(payload) < _COUNT_OCTETS:
        octets = counted(len(payload), "octet")
        text = f"The cue chunk has {octets}, its count alone needs {_COUNT_OCTETS}."
        return (), (Damage(kind="cue-short", offset=offset, text=text),)
    count = int.from_bytes(payload[:_COUNT_OCTETS], "little")
    room, rest = divmod(len(payload) - _COUNT_OCTETS, _POINT.size)
    damage = []
    if count != room or rest:
        text = (
            f"The cue chunk states {counted(count, 'point')}, its {len(payload)} octets hold "
            f"{room}; {min(count, room)} are read."
        )
        damage.append(Damage(kind="cue-count", offset=offset, text=text))
    wanted = min(count, room)
    if wanted > MAX_POINTS:
        text = f"The cue chunk has {wanted} points; only the first {MAX_POINTS} are read."
        damage.append(Damage(kind="cue-too-many", offset=offset, text=text))
        wanted = MAX_POINTS
    points = tuple(_point(payload, index) for index in range(wanted))
    damage += _faults(points, offset + _COUNT_OCTETS, frames)
    return points, tuple(damage)


def encode(points: Sequence[Point]) -> bytes:
    """Return the payload, points in the order given.

    Raises MaterialError for numbers that come twice or are not of 32 bits, for a chunk id that is
    not four octets, and for more points than are read.
    """
    if len(points) > MAX_POINTS:
        raise MaterialError(
            f"A cue chunk of {len(points)} points is not written, {MAX_POINTS} are the most.",
            "Leave some out.",
        )
    if len({point.number for point in points}) < len(points):
        raise MaterialError("Two cue points have the same number.")
    payload = len(points).to_bytes(_COUNT_OCTETS, "little")
    for point in points:
        figures = (point.number, point.position, point.chunk_start, point.block_start)
        fits = all(0 <= one <= MAX_FRAME for one in (*figures, point.sample_offset))
        if not fits or len(point.chunk) != 4:
            raise MaterialError(
                f"Cue point {point.number} at frame {point.sample_offset} does not fit: its "
                "figures have 32 bits, its chunk id four octets."
            )
        payload += _POINT.pack(
            point.number,
            point.position,
            point.chunk,
            point.chunk_start,
            point.block_start,
            point.sample_offset,
        )
    return payload


def _point(payload: bytes, index: int) -> Point:
    number, position, chunk, chunk_start, block_start, sample_offset = _POINT.unpack_from(
        payload, _COUNT_OCTETS + index * _POINT.size
    )
    return Point(
        number=number,
        position=position,
        chunk=chunk,
        chunk_start=chunk_start,
        block_start=block_start,
        sample_offset=sample_offset,
    )


def _faults(points: Sequence[Point], offset: int, frames: int | None) -> Iterator[Damage]:
    seen: set[int] = set()
    for index, point in enumerate(points):
        at = offset + index * _POINT.size
        name = f"Cue point {point.number}"
        if point.number in seen:
            text = f"{name} comes more than once; a number names one point."
            yield Damage(kind="cue-duplicate", offset=at, text=text)
        seen.add(point.number)
        if point.chunk != _DATA or point.chunk_start or point.block_start:
            text = (
                f"{name} counts in {shown(point.chunk)} from octets {point.chunk_start} and "
                f"{point.block_start}, not in data from 0; its sample offset is taken alone."
            )
            yield Damage(kind="cue-elsewhere", offset=at, text=text)
        if frames is not None and point.sample_offset > frames:
            text = f"{name} lies at frame {point.sample_offset}, the file has {frames}."
            yield Damage(kind="cue-past-end", offset=at, text=text)
