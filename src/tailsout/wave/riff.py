"""A wave file at a glance: its chunks, its format, where its audio lies, what is wrong with it.

The walk itself is in `walk`; here the chunks are set against each other, as RIFF 1991 chapter 3
orders them: one `fmt `, then one `data`. A `bext` stands alone (EBU Tech 3285 §2.1). Whether a
fault matters is for others to judge: a `data` chunk without a frame, say, is no fault here.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import BinaryIO

from tailsout.ground.damage import Damage
from tailsout.ground.pcm import Pcm
from tailsout.wave import ds64, fmt
from tailsout.wave.chunk import HEADER, Chunk, octets_of, read_at, shown
from tailsout.wave.signature import HEAD_OCTETS, WAVE_FORMS, form_of
from tailsout.wave.walk import FIRST_CHUNK, walk

__all__ = ["Chunk", "Layout", "read_chunk", "read_layout", "walk"]

_FMT_CAP = 1024
_SINGLE = {b"fmt ": "duplicate-fmt", b"data": "duplicate-data", b"bext": "duplicate-bext"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Layout:
    """What a file is made of."""

    form: str
    """`RIFF`, `RF64`, `BW64`, or the name of what else the file is."""
    file_octets: int
    chunks: tuple[Chunk, ...]
    damage: tuple[Damage, ...]
    """In the order they were met: those of the walk, of the order of chunks, of the format."""
    pcm: Pcm | None
    """None where the first `fmt ` is missing or describes no PCM or float that is read."""
    data: Chunk | None
    """The first `data` chunk."""

    @property
    def data_octets(self) -> int:
        """Octets of audio that lie inside the file, be they declared right or not."""
        if self.data is None:
            return 0
        return min(self.data.octets, self.file_octets - self.data.offset)

    @property
    def frames(self) -> int:
        """Whole sample frames that lie inside the file; 0 where the format is not known."""
        return 0 if self.pcm is None else self.data_octets // self.pcm.frame_octets

    def named(self, chunk_id: bytes) -> tuple[Chunk, ...]:
        """Return the chunks of that id, in file order."""
        return tuple(chunk for chunk in self.chunks if chunk.id == chunk_id)


def read_layout(stream: BinaryIO) -> Layout:
    """Walk a seekable stream from its start and set its chunks against each other.

    Raises SurroundingsError if reading fails, and nothing over the content.
    """
    form = form_of(read_at(stream, 0, HEAD_OCTETS))
    found = tuple(walk(stream))
    chunks = tuple(item for item in found if isinstance(item, Chunk))
    damage = [item for item in found if isinstance(item, Damage)]
    data = next((chunk for chunk in chunks if chunk.id == b"data"), None)
    pcm = None
    if form in WAVE_FORMS:
        damage += _order_damage(chunks)
        pcm, faults = _format(stream, chunks)
        damage += faults
    if pcm is not None and data is not None and not _cut(damage):
        counted = _count(stream, chunks[0]) if form == "RF64" else 0
        if _counts_pad(stream, data, pcm, counted):
            text = "The ds64 chunk counts the pad octet into the audio; it is taken for a pad."
            damage.append(
                Damage(kind="ds64-pad-counted", offset=FIRST_CHUNK + HEADER.size + 8, text=text)
            )
            whole = replace(data, octets=data.octets - 1, pad=1)
            chunks = tuple(whole if chunk is data else chunk for chunk in chunks)
            data = whole
        damage += _frame_damage(data, pcm)
        damage += _count_damage(counted, data.octets // pcm.frame_octets)
    return Layout(
        form=form,
        file_octets=octets_of(stream),
        chunks=chunks,
        damage=tuple(damage),
        pcm=pcm,
        data=data,
    )


def read_chunk(stream: BinaryIO, chunk: Chunk, cap: int) -> bytes:
    """Return the payload of a small chunk: at most `cap` octets, and only those the file has.

    Who must know whether all of it came compares with `chunk.octets`. Raises SurroundingsError
    if reading fails.
    """
    present = max(0, octets_of(stream) - chunk.offset)
    return read_at(stream, chunk.offset, min(chunk.octets, cap, present))


def _order_damage(chunks: Sequence[Chunk]) -> Iterator[Damage]:
    first: dict[bytes, Chunk] = {}
    for chunk in chunks:
        if chunk.id in first and chunk.id in _SINGLE:
            text = (
                f"There is a second {shown(chunk.id)} chunk; the first one is at octet "
                f"{first[chunk.id].header_offset}."
            )
            yield Damage(kind=_SINGLE[chunk.id], offset=chunk.header_offset, text=text)
        first.setdefault(chunk.id, chunk)
    fmt_chunk, data = first.get(b"fmt "), first.get(b"data")
    if fmt_chunk is None:
        text = "No fmt chunk was found: how the samples lie is not stated."
        yield Damage(kind="no-fmt", offset=FIRST_CHUNK, text=text)
    if data is None:
        text = "No data chunk was found: there is no audio."
        yield Damage(kind="no-data", offset=FIRST_CHUNK, text=text)
    if fmt_chunk and data and data.header_offset < fmt_chunk.header_offset:
        text = "The fmt chunk stands behind the data chunk, it must come first."
        yield Damage(kind="fmt-after-data", offset=fmt_chunk.header_offset, text=text)


def _format(stream: BinaryIO, chunks: Sequence[Chunk]) -> tuple[Pcm | None, tuple[Damage, ...]]:
    chunk = next((chunk for chunk in chunks if chunk.id == b"fmt "), None)
    if chunk is None:
        return None, ()
    return fmt.decode(read_chunk(stream, chunk, _FMT_CAP), offset=chunk.offset)


def _cut(damage: Sequence[Damage]) -> bool:
    return any(fault.kind in {"truncated", "never-finished", "size-wrapped"} for fault in damage)


def _frame_damage(data: Chunk, pcm: Pcm) -> Iterator[Damage]:
    frames, rest = divmod(data.octets, pcm.frame_octets)
    if rest:
        text = (
            f"The data chunk holds {frames} frames of {pcm.frame_octets} octets and {rest} "
            "octets more; it must end on a whole frame."
        )
        yield Damage(kind="incomplete-frame", offset=data.offset + data.octets - rest, text=text)


def _count(stream: BinaryIO, first: Chunk) -> int:
    """Return the frames that `ds64` counts; 0 where it does not.

    In BW64 the field says nothing (ITU-R BS.2088-1).
    """
    if first.id != b"ds64":
        return 0
    sizes, _ = ds64.decode(read_chunk(stream, first, ds64.FIXED_OCTETS))
    return 0 if sizes is None else sizes.samples


def _counts_pad(stream: BinaryIO, data: Chunk, pcm: Pcm, counted: int) -> bool:
    """Say whether the size of `data` has its pad octet in it, as a widespread writer leaves it."""
    octets = counted * pcm.frame_octets
    return (
        counted > 0
        and octets % 2 == 1
        and data.octets == octets + 1
        and read_at(stream, data.offset + octets, 1) == b"\0"
    )


def _count_damage(counted: int, frames: int) -> Iterator[Damage]:
    # Where no `fact` chunk needs it, the count may be left unsaid.
    if counted not in {0, frames}:
        text = f"The ds64 chunk counts {counted} frames, the data chunk holds {frames}."
        offset = FIRST_CHUNK + HEADER.size + 16
        yield Damage(kind="ds64-samples", offset=offset, text=text)
