"""Looks into one wave file: its structure, its bext chunk, nothing of its samples."""

from dataclasses import dataclass, replace
from typing import BinaryIO

from tailsout.ground.damage import Damage
from tailsout.mapping.embedded import container_of, embedded_of
from tailsout.records.dossier import FileRecord
from tailsout.wave import bext
from tailsout.wave.bext import Bext
from tailsout.wave.riff import Layout, read_chunk, read_layout


@dataclass(frozen=True, slots=True, kw_only=True)
class Survey:
    """One file as its header shows it."""

    layout: Layout
    bext: Bext | None
    raw_bext: bytes
    """Payload of the chunk as it stands; empty if there is none."""
    record: FileRecord


def survey(stream: BinaryIO, path: str) -> Survey:
    """Look into an open file called `path`. Raises SurroundingsError if reading fails."""
    layout = read_layout(stream)
    raw, found, damage = _bext(stream, layout)
    container = container_of(layout)
    record = FileRecord(
        path=path,
        octets=layout.file_octets,
        container=replace(container, damage=(*container.damage, *damage)),
        pcm=layout.pcm,
        frames=layout.frames if layout.pcm and layout.data else None,
        embedded=embedded_of(found) if found else None,
    )
    return Survey(layout=layout, bext=found, raw_bext=raw, record=record)


def _bext(stream: BinaryIO, layout: Layout) -> tuple[bytes, Bext | None, tuple[Damage, ...]]:
    chunk = next(iter(layout.named(b"bext")), None)
    if chunk is None:
        return b"", None, ()
    raw = read_chunk(stream, chunk, bext.MAX_OCTETS)
    present = min(chunk.octets, layout.file_octets - chunk.offset)
    return raw, *bext.decode(raw, offset=chunk.offset, octets=present)
