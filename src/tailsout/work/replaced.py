"""What of a capture its master does not carry any more: kept octet for octet beside it."""

from collections.abc import Iterator
from typing import BinaryIO

from tailsout.ground.errors import MaterialError
from tailsout.mapping import naming
from tailsout.mapping.chunks import Embedding, OwnChunks
from tailsout.wave.bext import Bext
from tailsout.wave.chunk import read_at, shown
from tailsout.wave.riff import Chunk, Layout, read_chunk
from tailsout.work import captures
from tailsout.work.captures import LookedInto, Taken

MAX_AROUND_OCTETS = 8 << 20
"""Most octets before or behind the samples of one file that are kept: they are held in memory."""


def own_chunks(stream: BinaryIO, layout: Layout, bext: Bext | None) -> OwnChunks:
    """Read those chunks of a capture that may give way to ours; its `bext` was read before.

    Raises MaterialError for one that is too large to be kept, SurroundingsError if reading fails.
    """
    found: dict[str, list[tuple[Chunk, bytes]]] = {"INFO": [], "cue": [], "adtl": []}
    for chunk in layout.chunks:
        kind = "cue" if chunk.id == b"cue " else ""
        if chunk.id == b"LIST":
            kind = read_chunk(stream, chunk, 4).decode("latin-1")
        if kind in found:
            if chunk.octets > MAX_AROUND_OCTETS:
                raise MaterialError(
                    f"The {shown(chunk.id)} chunk at octet {chunk.header_offset} has "
                    f"{chunk.octets} octets, more than {MAX_AROUND_OCTETS >> 20} MiB, which could "
                    "not be kept beside the master.",
                    "Look into that chunk with a wave editor; no recorder writes so much.",
                )
            found[kind].append((chunk, read_chunk(stream, chunk, chunk.octets)))
    return OwnChunks(
        bext=bext,
        info=tuple(found["INFO"]),
        cue=tuple(found["cue"]),
        adtl=tuple(found["adtl"]),
        ids=frozenset(chunk.id for chunk in layout.chunks),
    )


def kept(one: Taken, embedding: Embedding) -> Iterator[tuple[str, bytes]]:
    """Yield the name and the octets of each thing that gives way in a master.

    Of several files read as one, that is all of each but its samples; of FLAC, all its metadata,
    the recorder's own chunks among it. Raises MaterialError if that is too much, SurroundingsError
    if a file cannot be read.
    """
    for file in one.files:
        stem = naming.master_stem(file.survey.record.path)
        if file.survey.flac is not None:
            metadata = ("flac-metadata", 0, file.survey.flac.audio_offset or 0)
            yield from _kept(file, stem, (metadata,))
        elif len(one.files) > 1:
            yield from _around(file, stem)
    if len(one.files) == 1:
        stem = naming.master_stem(one.name)
        if one.survey.raw_bext:
            yield f"{stem}.bext", one.survey.raw_bext
        yield from ((f"{stem}.{name}", payload) for name, payload in embedding.kept)


def _around(file: LookedInto, stem: str) -> Iterator[tuple[str, bytes]]:
    layout = file.survey.layout
    if layout.data is None:
        raise ValueError("what was read as one has audio")
    behind = layout.data.offset + layout.data_octets
    stretches = (
        ("before-audio", 0, layout.data.offset),
        ("behind-audio", behind, layout.file_octets),
    )
    yield from _kept(file, stem, stretches)


def _kept(
    file: LookedInto, stem: str, stretches: tuple[tuple[str, int, int], ...]
) -> Iterator[tuple[str, bytes]]:
    name = file.survey.record.path
    with captures.opened(file.path, name) as stream:
        for ending, start, end in stretches:
            if end - start > MAX_AROUND_OCTETS:
                raise MaterialError(
                    f"{name} holds {end - start} octets around its samples, more than "
                    f"{MAX_AROUND_OCTETS >> 20} MiB, which could not be kept beside the master.",
                    "Name its files as captures of their own.",
                )
            if end > start:
                yield f"{stem}.{ending}", read_at(stream, start, end - start)
