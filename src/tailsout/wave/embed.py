"""A wave file copied through under a new header, its audio unchanged octet for octet.

First a plan, which is pure and can be looked at; then the copy, one pass over the source. The
new file is plain RIFF, or RF64 (EBU Tech 3306) exactly where 32-bit sizes would not do, and has
its `bext` (EBU Tech 3285) before the audio. Every chunk that is not replaced keeps octets and
order. Nothing is opened, renamed or flushed here: the copy reads one stream and calls `write`.
"""

import io
import itertools
import struct
from collections.abc import Callable, Collection, Iterator, Sequence
from dataclasses import dataclass
from typing import BinaryIO, cast

from tailsout.ground.digests import BLOCK_OCTETS
from tailsout.ground.errors import MaterialError, SurroundingsError, from_os_error
from tailsout.ground.pcm import Pcm
from tailsout.wave import ds64
from tailsout.wave.chunk import HEADER, shown
from tailsout.wave.ds64 import UNSTATED
from tailsout.wave.riff import Chunk, Layout
from tailsout.wave.walk import MAX_CHUNKS

_LIMIT = UNSTATED
"""A RIFF size or data size of this and above needs RF64."""

_FORM = struct.Struct("<4sI4s")
_ESSENTIAL = (b"fmt ", b"data")
_REPLACED = (b"bext", b"ds64")

_UNSAFE = frozenset(
    {
        "bad-chunk-id",
        "ds64-mismatch",
        "ds64-missing",
        "ds64-short",
        "ds64-table",
        "duplicate-data",
        "duplicate-fmt",
        "fmt-after-data",
        "fmt-coding",
        "fmt-short",
        "missing-pad",
        "never-finished",
        "no-data",
        "no-fmt",
        "not-wave",
        "size-wrapped",
        "too-many-chunks",
        "truncated",
    }
)
"""Damage that leaves it open where the audio lies, or what else would be lost."""

NewChunk = tuple[bytes, bytes]
"""Id and payload of a chunk to put in."""

_REMEDY = "The source is left as it is; ask for a whole file, or save it anew where it was made."


@dataclass(frozen=True, slots=True, kw_only=True)
class Span:
    """A stretch of a file."""

    offset: int
    octets: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Recipe:
    """How the new file is put together."""

    form: str
    """`RIFF` or `RF64`."""
    segments: tuple[bytes | Span, ...]
    """Octets to write and stretches of the source to copy, in order; no span is empty."""
    octets: int
    """Length of the new file."""
    essence: Span
    """The payload of `data` in the new file."""
    left_behind: tuple[str, ...]
    """What of the source is neither carried over nor replaced: one sentence each."""


def plan(
    layout: Layout,
    *,
    bext: bytes,
    without: Collection[Chunk] = (),
    before: Sequence[NewChunk] = (),
    behind: Sequence[NewChunk] = (),
) -> Recipe:
    """Say how to put the `bext` payload, and further chunks, into a copy of a file.

    Behind `bext` come the chunks `before` the audio, those of the source in their order, and those
    `behind` it. Of the source are left out its own `bext` and `ds64` and those in `without` (`fmt `
    and `data` stay in any case). A JUNK filler at the front gives way where `ds64` takes its place.
    Planning over the result in the same way gives the result again.

    Raises MaterialError where the audio cannot be located beyond doubt, where a chunk but `data`
    is too large, and where there are too many.
    """
    data, pcm = audio_of(layout)
    kept = [
        one
        for one in layout.chunks
        if one.id in _ESSENTIAL or not (one.id in _REPLACED or one in without)
    ]
    _refuse_outsize(kept, len(before) + len(behind))
    left_behind = [one.text for one in layout.damage if one.kind == "trailing-octets"]
    own = b"".join(_octets_of(one) for one in ((b"bext", bext), *before))
    tail = b"".join(_octets_of(one) for one in behind)
    others = len(own) + len(tail)
    if _riff_octets(others, kept) >= _LIMIT and _has_placeholder(layout, kept):
        left_behind.append(
            f"The JUNK filler of {kept[0].octets} octets at octet {kept[0].header_offset}: it "
            "held the place of ds64."
        )
        kept = kept[1:]
    form, head = form_head(
        _riff_octets(others, kept), data=data.octets, frames=data.octets // pcm.frame_octets
    )
    return _assemble(form, head + own, kept, tail, tuple(left_behind))


def form_head(riff_octets: int, *, data: int, frames: int) -> tuple[str, bytes]:
    """Return the name of the form and what begins it: `RF64` and its `ds64` exactly where needed.

    `riff_octets` is the size of the form without `ds64`, `data` that of the audio.
    """
    if riff_octets < _LIMIT:
        return "RIFF", _FORM.pack(b"RIFF", riff_octets, b"WAVE")
    riff_octets += HEADER.size + ds64.FIXED_OCTETS
    sizes = ds64.encode(riff=riff_octets, data=data, samples=frames)
    head = _FORM.pack(b"RF64", UNSTATED, b"WAVE") + HEADER.pack(b"ds64", len(sizes)) + sizes
    return "RF64", head


def copy(
    source: BinaryIO,
    recipe: Recipe,
    write: Callable[[bytes | memoryview], object],
    *,
    essence: Callable[[bytes | memoryview], object],
    advance: Callable[[int], None],
) -> None:
    """Put the new file together, in blocks of at most 1 MiB.

    `write` receives the new file in order, `essence` the payload of `data` before it is written,
    `advance` the octets of each block once written. Danger: two buffers take turns, so a block
    must be consumed before the call after next.

    Raises SurroundingsError if reading fails or the source ends early: it was changed meanwhile.
    What the callables raise passes through.
    """
    buffers = itertools.cycle([memoryview(bytearray(BLOCK_OCTETS)) for _ in range(2)])
    position = 0
    for segment in recipe.segments:
        is_essence = isinstance(segment, Span) and position == recipe.essence.offset
        for block in _blocks(source, segment, buffers):
            if is_essence:
                essence(block)
            write(block)
            advance(len(block))
            position += len(block)


def audio_of(layout: Layout) -> tuple[Chunk, Pcm]:
    """Return where the audio of a file lies and its format.

    Raises MaterialError where either is not beyond doubt.
    """
    for fault in layout.damage:
        if fault.kind in _UNSAFE:
            raise MaterialError(f"This file cannot be copied safely: {fault.text}", _REMEDY)
    if layout.data is None or layout.pcm is None:
        reasons = " ".join(one.text for one in layout.damage if one.kind == "fmt-inconsistent")
        raise MaterialError(f"This file cannot be copied safely: {reasons}", _REMEDY)
    return layout.data, layout.pcm


def _refuse_outsize(kept: Sequence[Chunk], new: int) -> None:
    """Refuse what the new file could not hold so that `walk` finds it again."""
    if len(kept) + len(_REPLACED) + new > MAX_CHUNKS:
        raise MaterialError(f"This file has {len(kept)} chunks, too many to add one.", _REMEDY)
    for chunk in kept:
        if chunk.id != b"data" and _even(chunk.octets) >= UNSTATED:
            raise MaterialError(
                f"The {shown(chunk.id)} chunk has {chunk.octets} octets; only audio may take "
                "more than 32 bits count.",
                "Leave that chunk out.",
            )


def _has_placeholder(layout: Layout, kept: Sequence[Chunk]) -> bool:
    """Say whether a filler holds the place of `ds64`: with RF64, ds64 has taken its own already."""
    first = kept[0]
    return layout.form == "RIFF" and first.id == b"JUNK" and first.octets >= ds64.FIXED_OCTETS


def _octets_of(new: NewChunk) -> bytes:
    chunk_id, payload = new
    pad = b"\0" * (len(payload) % 2)
    # The pad counts as payload, see `_stated_octets`.
    return HEADER.pack(chunk_id, len(payload) + len(pad)) + payload + pad


def _riff_octets(others: int, kept: Sequence[Chunk]) -> int:
    """Return the size of the RIFF form without `ds64`; `others` are the octets of new chunks."""
    return len(b"WAVE") + others + sum(HEADER.size + _even(one.octets) for one in kept)


def _assemble(
    form: str, head: bytes, kept: Sequence[Chunk], tail: bytes, left_behind: tuple[str, ...]
) -> Recipe:
    segments: list[bytes | Span] = []
    octets = len(head)
    essence = Span(offset=0, octets=0)
    pending = bytearray(head)
    for chunk in kept:
        pending += HEADER.pack(chunk.id, _stated_octets(form, chunk))
        octets += HEADER.size
        if chunk.id == b"data":
            essence = Span(offset=octets, octets=chunk.octets)
        if chunk.octets:
            segments += [bytes(pending), Span(offset=chunk.offset, octets=chunk.octets)]
            pending.clear()
        pending += b"\0" * (chunk.octets % 2)
        octets += _even(chunk.octets)
    pending += tail
    octets += len(tail)
    if pending:
        segments.append(bytes(pending))
    return Recipe(
        form=form,
        segments=tuple(segments),
        octets=octets,
        essence=essence,
        left_behind=left_behind,
    )


def _stated_octets(form: str, chunk: Chunk) -> int:
    if form == "RIFF":
        return chunk.octets
    # A widespread reader of RF64 does not skip the pad octet of a chunk but data, and then finds
    # no audio; counted as payload the octet does no harm.
    return UNSTATED if chunk.id == b"data" else _even(chunk.octets)


def _even(octets: int) -> int:
    return octets + octets % 2


def _blocks(
    source: BinaryIO, segment: bytes | Span, buffers: Iterator[memoryview]
) -> Iterator[bytes | memoryview]:
    if isinstance(segment, bytes):
        yield segment
        return
    # `BinaryIO` does not promise `readinto`, every binary file of the standard library has it.
    readable = cast("io.BufferedIOBase", source)
    left = segment.octets
    try:
        readable.seek(segment.offset)
        while left:
            buffer = next(buffers)
            taken = readable.readinto(buffer[: min(left, len(buffer))])
            if not taken:
                raise SurroundingsError(
                    f"The source ended {left} octets early: it was changed while it was read.",
                    "Make sure nothing writes to it, then run the same command again.",
                )
            left -= taken
            yield buffer[:taken]
    except OSError as error:
        raise from_os_error(error, "Reading the source") from error
