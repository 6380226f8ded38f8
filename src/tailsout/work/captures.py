"""The captures of a job: seen to be finished, looked into; opened for reading only."""

import hashlib
import os
from collections.abc import Iterator, Mapping, Sequence
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass, replace
from io import BufferedReader
from pathlib import Path
from typing import BinaryIO

from tailsout.bag.names import from_disk
from tailsout.ground.damage import Damage
from tailsout.ground.digests import BLOCK_OCTETS, Hashing
from tailsout.ground.errors import MaterialError, SurroundingsError, from_os_error
from tailsout.ground.pcm import Pcm
from tailsout.ground.progress import Progress
from tailsout.ground.units import printable
from tailsout.records.transfer import SourceFile
from tailsout.records.vocab import Made
from tailsout.wave import bext
from tailsout.wave.assembled import Extent, Source, interleaved, joined
from tailsout.wave.embed import Recipe
from tailsout.work.audio import Audio, audio_counted_in, audio_in
from tailsout.work.located import Located
from tailsout.work.survey import Survey, survey_of


@dataclass(frozen=True, slots=True, kw_only=True)
class LookedInto:
    """One file of a capture."""

    path: Path
    mark: tuple[int, int, int]
    """Octets, modification time in ns, inode: what shows that it was changed."""
    survey: Survey

    @property
    def as_source(self) -> SourceFile:
        """Say what the recorder left; its digest is not known yet."""
        return SourceFile(
            file=self.survey.record.path,
            octets=self.survey.record.octets,
            frames=self.survey.layout.frames,
            sha256="",
            time_reference=self.extent.time_reference,
        )

    @property
    def extent(self) -> Extent:
        """How long it is, and when it begins."""
        own, layout = self.survey.bext, self.survey.layout
        # What no number of JSON can hold (RFC 8259 §6) is not a time of a day either.
        known = own is not None and own.time_reference < 1 << 53
        return Extent(
            pcm=layout.pcm,
            frames=layout.frames,
            time_reference=own.time_reference if own is not None and known else None,
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Taken:
    """What one master is made of: a capture, or one file of a capture that is kept apart."""

    id: str
    """Of the capture."""
    files: tuple[LookedInto, ...]
    """More than one where they are read as one."""
    survey: Survey
    """Of what is read, be it one file or several."""

    @property
    def name(self) -> str:
        """Path in the job of its first file, by which the master is named."""
        return self.files[0].survey.record.path

    @property
    def pcm(self) -> Pcm:
        """Its format."""
        if self.survey.layout.pcm is None:
            raise ValueError("a capture without a format was stopped by a rule")
        return self.survey.layout.pcm


def look(found: Mapping[str, Located], folder: Path, *, interleave: bool) -> tuple[Taken, ...]:
    """Look into every capture.

    Parts are read as one file where it is proved that nothing is missing between them; mono files
    where that is wished by `interleave` and they fit. Raises SurroundingsError for one that cannot
    be read, MaterialError for one whose own header could not be kept.
    """
    taken: list[Taken] = []
    for one_id, one in found.items():
        files = tuple(_look_into(path, folder) for path in one.files)
        if one.way == "parts":
            taken += _parts(one_id, files)
        elif one.way == "mono files":
            taken += _tracks(one_id, files, interleave=interleave)
        else:
            is_flac = files[0].survey.flac is not None
            taken += _apart(one_id, files, "restored from FLAC" if is_flac else "as captured")
    return tuple(taken)


def _parts(one_id: str, files: tuple[LookedInto, ...]) -> Iterator[Taken]:
    # Why they stay apart is for a rule to say.
    try:
        yield _as_one(one_id, files, "joined")
    except MaterialError:
        yield from _apart(one_id, files, "part")


def _tracks(one_id: str, files: tuple[LookedInto, ...], *, interleave: bool) -> Iterator[Taken]:
    if interleave:
        try:
            yield _as_one(one_id, files, "interleaved")
            return
        except MaterialError:
            pass
    yield from _apart(one_id, files, "track")


def _apart(one_id: str, files: tuple[LookedInto, ...], made: Made) -> Iterator[Taken]:
    starts_at = 0
    for number, one in enumerate(files, start=1):
        record = replace(
            one.survey.record,
            capture=one_id,
            made=made,
            starts_at=starts_at,
            track=number if made == "track" else None,
            sources=(one.as_source,),
        )
        yield Taken(id=one_id, files=(one,), survey=replace(one.survey, record=record))
        starts_at += one.survey.layout.frames if made == "part" else 0


def _as_one(one_id: str, files: tuple[LookedInto, ...], made: Made) -> Taken:
    with _opened_as_one(files, made) as source:
        seen = survey_of(Audio(stream=source.stream), files[0].survey.record.path)
    record = replace(
        seen.record,
        capture=one_id,
        made=made,
        embedded=files[0].survey.record.embedded,
        sources=tuple(one.as_source for one in files),
    )
    # What the first file says of itself holds for the beginning of the whole.
    return Taken(
        id=one_id, files=files, survey=replace(seen, record=record, bext=files[0].survey.bext)
    )


def _look_into(path: Path, folder: Path) -> LookedInto:
    name = from_disk(path.relative_to(folder).as_posix())
    with opened(path, name) as stream:
        seen = survey_of(audio_counted_in(stream, name), printable(name))
        mark = _mark(os.fstat(stream.fileno()))
    if len(seen.raw_bext) == bext.MAX_OCTETS:
        raise MaterialError(
            f"The bext chunk of {printable(name)} has {bext.MAX_OCTETS} octets or more and could "
            "not be kept beside the master.",
            "Look into that chunk with a wave editor; no recorder writes so much history.",
        )
    return LookedInto(path=path, mark=mark, survey=seen)


def opened(path: Path, name: str) -> BufferedReader:
    """Open a file of the job for reading. Raises SurroundingsError if the system refuses."""
    try:
        return path.open("rb")
    except OSError as error:
        raise from_os_error(error, f"Opening the capture {printable(name)}") from error


def digest(file: LookedInto, progress: Progress) -> str:
    """Return the SHA-256 of a whole file, in hex. Raises SurroundingsError."""
    name = file.survey.record.path
    progress.begin(f"Reading {name}", file.survey.record.octets)
    with Hashing(["sha256"]) as hashing:
        for block in octets_of(file):
            hashing.update(block)
            progress.advance(len(block))
        return hashing.hexdigests()["sha256"]


def octets_of(file: LookedInto) -> Iterator[bytes]:
    """Read a file octet for octet, and see to it that it does not change meanwhile.

    Raises SurroundingsError if it is not as it was when it was looked into, or cannot be read.
    """
    name = file.survey.record.path
    with opened(file.path, name) as stream:
        _unchanged((file,), (stream,))
        while block := _block(stream, name):
            yield block
        _unchanged((file,), (stream,))


def _block(stream: BinaryIO, name: str) -> bytes:
    try:
        return stream.read(BLOCK_OCTETS)
    except OSError as error:
        raise from_os_error(error, f"Reading {name}") from error


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """What a master is made of, open as one wave file."""

    stream: BinaryIO
    files: tuple[tuple[str, Audio], ...]
    """Path in the job and audio of each file."""

    def proof(self) -> tuple[Damage, ...]:
        """Hold the samples against what FLAC files state of them. Raises SurroundingsError."""
        return tuple(
            replace(fault, text=f"{path}: {fault.text}") if len(self.files) > 1 else fault
            for path, audio in self.files
            for fault in audio.proof()
        )


@contextmanager
def reading(taken: Taken) -> Iterator[Reading]:
    """Open what a master is made of as one stream, and see to it that nothing changes meanwhile.

    Raises SurroundingsError if a file is not as it was when it was looked into.
    """
    with _opened_as_one(taken.files, taken.survey.record.made) as source:
        yield source


@contextmanager
def opened_as_wave(taken: Taken) -> Iterator[BinaryIO]:
    """Open the stream alone. Raises as `reading`."""
    with reading(taken) as source:
        yield source.stream


@contextmanager
def _opened_as_one(files: Sequence[LookedInto], made: Made) -> Iterator[Reading]:
    with ExitStack() as stack:
        streams = [stack.enter_context(opened(one.path, one.survey.record.path)) for one in files]
        _unchanged(files, streams)
        audio = [
            audio_in(stream, one.survey.record.path, frames=one.survey.layout.frames)
            for stream, one in zip(streams, files, strict=True)
        ]
        sources = [
            Source(
                stream=single.stream,
                layout=one.survey.layout,
                time_reference=one.extent.time_reference,
            )
            for single, one in zip(audio, files, strict=True)
        ]
        if made == "joined":
            stream = joined(sources)
        elif made == "interleaved":
            stream = interleaved(sources)
        else:
            stream = audio[0].stream
        named = zip((one.survey.record.path for one in files), audio, strict=True)
        yield Reading(stream=stream, files=tuple(named))
        _unchanged(files, streams)


def _unchanged(files: Sequence[LookedInto], streams: Sequence[BinaryIO]) -> None:
    for one, stream in zip(files, streams, strict=True):
        if _mark(os.fstat(stream.fileno())) != one.mark:
            raise SurroundingsError(
                f"The capture {one.survey.record.path} was changed while it was being read.",
                "Close the program that writes to it, then start again; nothing was packed.",
            )


def _mark(status: os.stat_result) -> tuple[int, int, int]:
    return (status.st_size, status.st_mtime_ns, status.st_ino)


def made_from(taken: Taken, recipe: Recipe, digests: Mapping[str, str]) -> str:
    """Return a digest of all that settles the octets of a master.

    `digests` are those of the files as the recorder left them, by their path in the job.
    """
    digest = hashlib.sha256()
    for source in taken.survey.record.sources:
        digest.update(digests[source.file].encode())
    for segment in recipe.segments:
        digest.update(segment if isinstance(segment, bytes) else repr(segment).encode())
    return digest.hexdigest()
