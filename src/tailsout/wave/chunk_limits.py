"""How much is read of the chunks beside the audio: what is small and whole, and of each id a few.

Nothing is allocated by a declared size. Where more stands in a file than is read, that is told, so
that a part is never taken for the whole.
"""

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import BinaryIO

from tailsout.ground.damage import Damage
from tailsout.wave.chunk import shown
from tailsout.wave.riff import Chunk, Layout, read_chunk

MAX_ALIKE = 10
"""Most chunks of one id that are read."""
MAX_OCTETS = 1 << 20
"""Most octets of a chunk of text or points that are read."""
MAX_FAULTS = 50
"""Most faults of one kind that are kept of a file."""


@dataclass(slots=True)
class Faults:
    """Faults of one file as they are met: the first of each kind, the others counted."""

    kept: list[Damage] = field(default_factory=list)
    left_out: dict[str, list[int]] = field(default_factory=dict)
    """By kind: how many more there were, and the offset of the first of them."""
    counts: Counter[str] = field(default_factory=Counter)

    def add(self, damage: Iterable[Damage]) -> None:
        """Take what was met in one place."""
        for one in damage:
            self.counts[one.kind] += 1
            if self.counts[one.kind] <= MAX_FAULTS:
                self.kept.append(one)
            else:
                self.left_out.setdefault(one.kind, [0, one.offset])[0] += 1

    def told(self) -> tuple[Damage, ...]:
        """Return what was kept, and one sentence for each kind that had more."""
        more = (
            Damage(kind=kind, offset=offset, text=_and_more(count))
            for kind, (count, offset) in self.left_out.items()
        )
        return (*self.kept, *more)


def _and_more(count: int) -> str:
    if count == 1:
        return "1 more fault of this kind follows."
    return f"{count} more faults of this kind follow."


def alike(layout: Layout, chunk_id: bytes) -> tuple[tuple[Chunk, ...], tuple[Damage, ...]]:
    """Return the first chunks of an id, as many as are read."""
    found = layout.named(chunk_id)
    if len(found) <= MAX_ALIKE:
        return found, ()
    text = f"There are {len(found)} {shown(chunk_id)} chunks, the first {MAX_ALIKE} are read."
    offset = found[MAX_ALIKE].header_offset
    return found[:MAX_ALIKE], (Damage(kind="chunk-too-many", offset=offset, text=text),)


def single(layout: Layout, chunk_id: bytes) -> tuple[Chunk | None, tuple[Damage, ...]]:
    """Return the first chunk of an id that should come once, and tell of any other."""
    found = layout.named(chunk_id)
    return next(iter(found), None), repeated(f"{shown(chunk_id)} chunk", found)


def repeated(name: str, found: Sequence[Chunk]) -> tuple[Damage, ...]:
    """Tell of all but the first of what should come once; `name` says what it is."""
    return tuple(
        Damage(
            kind="chunk-duplicate",
            offset=chunk.header_offset,
            text=f"There is another {name}; the first one is at octet {found[0].header_offset}.",
        )
        for chunk in found[1:]
    )


def is_whole(layout: Layout, chunk: Chunk) -> bool:
    """Say whether the file holds all of a chunk.

    Of one that it cuts short the walk has told, and a part would be taken for faulty in ways that
    it is not.
    """
    return chunk.offset + chunk.octets <= layout.file_octets


def head(
    stream: BinaryIO, layout: Layout, chunk: Chunk, cap: int
) -> tuple[bytes | None, tuple[Damage, ...]]:
    """Return the start of a whole chunk and tell if there is more; None if it is cut short.

    Raises SurroundingsError if reading fails.
    """
    if not is_whole(layout, chunk):
        return None, ()
    damage: tuple[Damage, ...] = ()
    if chunk.octets > cap:
        text = f"The {shown(chunk.id)} chunk has {chunk.octets} octets, up to {cap} are read."
        damage = (Damage(kind="chunk-oversize", offset=chunk.offset, text=text),)
    return read_chunk(stream, chunk, cap), damage


def whole(
    stream: BinaryIO, layout: Layout, chunk: Chunk
) -> tuple[bytes | None, tuple[Damage, ...]]:
    """Return a whole payload of at most `MAX_OCTETS`; None if it is cut short or, told, larger.

    Raises SurroundingsError if reading fails.
    """
    payload, damage = head(stream, layout, chunk, MAX_OCTETS)
    return None if damage else payload, damage
