"""Looks into one audio file: its structure, what its chunks say, nothing of its samples."""

from dataclasses import dataclass, replace
from typing import BinaryIO

from tailsout.ground.damage import Damage
from tailsout.ground.errors import MaterialError
from tailsout.ground.findings import Finding
from tailsout.ground.pcm import Pcm
from tailsout.mapping.embedded import container_of, embedded_of, flac_container_of
from tailsout.records.dossier import FileRecord
from tailsout.records.facts import ContainerFacts
from tailsout.wave import bext
from tailsout.wave.bext import Bext
from tailsout.wave.chunk_limits import Faults
from tailsout.wave.flac import FlacLayout
from tailsout.wave.riff import Chunk, Layout, read_chunk, read_layout
from tailsout.work.audio import Audio, audio_in
from tailsout.work.other_chunks import look_beside


@dataclass(frozen=True, slots=True, kw_only=True)
class Survey:
    """One file as its header shows it."""

    layout: Layout
    """Of the wave file that it is or stands for."""
    bext: Bext | None
    raw_bext: bytes
    """Payload of the chunk as it stands; empty if there is none."""
    record: FileRecord
    flac: FlacLayout | None = None
    """None for a wave file."""
    findings: tuple[Finding, ...] = ()
    """Of the documents inside it."""

    def sound(self) -> tuple[Pcm, Chunk]:
        """Return format and data chunk. Raises MaterialError if there is nothing to be measured."""
        if self.layout.pcm is None or self.layout.data is None:
            damage = self.record.container.damage
            why = damage[0].text if damage else f"it is {self.layout.form}."
            raise MaterialError(f"{self.record.path} holds no audio that can be measured: {why}")
        return self.layout.pcm, self.layout.data


def survey(stream: BinaryIO, path: str) -> Survey:
    """Look into an open file called `path`. Raises SurroundingsError if reading fails."""
    return survey_of(audio_in(stream, path), path)


def survey_of(audio: Audio, path: str) -> Survey:
    """Look into an audio file called `path`. Raises SurroundingsError if reading fails."""
    layout = _layout(audio)
    raw, found, damage = _bext(audio.stream, layout)
    container = _container(audio, layout)
    faults = Faults()
    faults.add((*container.damage, *damage))
    tags, findings = look_beside(audio.stream, layout, found, path, faults)
    record = FileRecord(
        path=path,
        octets=layout.file_octets if audio.flac is None else audio.flac.file_octets,
        container=replace(container, damage=faults.told()),
        pcm=layout.pcm,
        frames=layout.frames if layout.pcm and layout.data else None,
        embedded=embedded_of(found) if found else None,
        tags=tags if layout.chunks else None,
    )
    return Survey(
        layout=layout,
        bext=found,
        raw_bext=raw,
        record=record,
        flac=audio.flac,
        findings=findings,
    )


def _layout(audio: Audio) -> Layout:
    if audio.flac is None or audio.restored is not None:
        return read_layout(audio.stream)
    return Layout(
        form="FLAC",
        file_octets=audio.flac.file_octets,
        chunks=(),
        damage=(),
        pcm=audio.flac.pcm,
        data=None,
    )


def _container(audio: Audio, layout: Layout) -> ContainerFacts:
    if audio.flac is None:
        container = container_of(layout)
        return replace(container, damage=(*audio.damage, *container.damage))
    inside = (
        replace(fault, text=f"In the wave file that it stands for: {fault.text}")
        for fault in layout.damage
    )
    return flac_container_of(audio.flac, (*audio.damage, *inside))


def _bext(stream: BinaryIO, layout: Layout) -> tuple[bytes, Bext | None, tuple[Damage, ...]]:
    chunk = next(iter(layout.named(b"bext")), None)
    if chunk is None:
        return b"", None, ()
    raw = read_chunk(stream, chunk, bext.MAX_OCTETS)
    present = min(chunk.octets, layout.file_octets - chunk.offset)
    return raw, *bext.decode(raw, offset=chunk.offset, octets=present)
