"""The header of one master as the statements make it: its `bext` and the chunks around the audio.

A package that is closed and an amendment of it come here alike, so that both write the same header.
"""

from dataclasses import dataclass

from tailsout.ground.findings import Finding
from tailsout.ground.pcm import Pcm
from tailsout.mapping import embedded_texts, naming
from tailsout.mapping.chunks import Embedding, OwnChunks, Subject, embedding_for
from tailsout.mapping.embedded import Master, bext_for
from tailsout.records.capture import Capture
from tailsout.records.dossier import FileRecord
from tailsout.records.sound import AudioFacts
from tailsout.records.transfer import Transfer
from tailsout.wave.bext import Bext


@dataclass(frozen=True, slots=True, kw_only=True)
class Header:
    """What a master says of itself."""

    bext: Bext
    embedding: Embedding
    notes: tuple[Finding, ...]
    """What could not be said in full."""


def header_for(
    transfer: Transfer,
    capture: Capture,
    file: FileRecord,
    *,
    path: str,
    file_id: str,
    pcm: Pcm,
    facts: AudioFacts,
    software: str,
    own: OwnChunks,
) -> Header:
    """Make the header of the master that is to lie at `path` and holds `file`.

    `file_id` is its UUID, `own` what the recorder had written. Raises as `embedding_for`.
    """
    master = Master(
        path=path,
        stem=naming.master_stem(path),
        file_id=file_id,
        starts_at=file.starts_at,
        is_part=file.made == "part",
        track=file.track,
        texts=embedded_texts.made(embedded_texts.texts_for(transfer, file)),
    )
    bext, notes = bext_for(transfer, capture, master=master, pcm=pcm, facts=facts, own=own.bext)
    subject = Subject(
        transfer=transfer,
        capture=capture,
        master=master,
        bext=bext,
        pcm=pcm,
        frames=file.frames or 0,
        software=software,
    )
    embedding, more = embedding_for(subject, own)
    return Header(bext=bext, embedding=embedding, notes=(*notes, *more))
