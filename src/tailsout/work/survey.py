"""Looks into one wave file: its structure, its bext chunk, nothing of its samples."""

from dataclasses import dataclass, replace
from typing import BinaryIO

from tailsout.mapping.embedded import container_of, embedded_of
from tailsout.records.dossier import FileRecord
from tailsout.wave import bext
from tailsout.wave.bext import Bext
from tailsout.wave.riff import Layout, read_chunk, read_layout

BEXT_CAP = (1 << 20) + 602
"""Octets of a bext chunk that are read: a mebibyte of history is no history."""


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
    chunk = next(iter(layout.named(b"bext")), None)
    raw = read_chunk(stream, chunk, BEXT_CAP) if chunk else b""
    found, damage = bext.decode(raw, offset=chunk.offset) if chunk else (None, ())
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
