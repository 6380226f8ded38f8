"""Shows a package, a job or an audio file as a page of plain text; nothing is read through."""

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from tailsout.ground.digests import BLOCK_OCTETS
from tailsout.ground.errors import MaterialError, UsageError, from_os_error
from tailsout.ground.findings import Finding, Severity
from tailsout.ground.progress import Progress
from tailsout.ground.units import printable
from tailsout.mapping.forms.job_forms import read_job
from tailsout.records.dossier import Dossier, FileRecord
from tailsout.records.facts import ChunkFacts
from tailsout.rules import judge
from tailsout.views import file_page, page
from tailsout.wave.chunk import read_at
from tailsout.work import captures
from tailsout.work.job import state
from tailsout.work.located import find, wants_interleaved
from tailsout.work.named_packages import is_no_archive
from tailsout.work.opened import open_package
from tailsout.work.package import read_package
from tailsout.work.survey import survey

_MOST = 40
"""Most ids that an error names."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Shown:
    """What is shown of one thing."""

    dossier: Dossier
    findings: tuple[Finding, ...]
    """Of a package or job those met while reading: it is shown, not judged."""
    is_file: bool
    """True for an audio file by itself."""

    @property
    def page(self) -> bytes:
        """The page in UTF-8."""
        render = file_page.render if self.is_file else page.render
        return render(self.dossier, self.findings, {})

    @property
    def needs_mending(self) -> bool:
        """Whether a file by itself has something that must be mended."""
        return self.is_file and any(one.severity is Severity.MEND for one in self.findings)


@dataclass(frozen=True, slots=True, kw_only=True)
class Payload:
    """One chunk of a file, to be copied out."""

    path: Path
    chunk: ChunkFacts
    present: int
    """Octets of it that the file holds."""

    @property
    def missing(self) -> int:
        """Octets that it declares and the file does not hold."""
        return self.chunk.octets - self.present

    def blocks(self) -> Iterator[bytes]:
        """Yield the octets of the payload, a block at a time. Raises SurroundingsError."""
        try:
            with self.path.open("rb") as stream:
                at, left = self.chunk.offset, self.present
                while left and (block := read_at(stream, at, min(left, BLOCK_OCTETS))):
                    yield block
                    at, left = at + len(block), left - len(block)
        except OSError as error:
            raise from_os_error(error, f"Reading {printable(str(self.path))}") from error


def show(path: Path, progress: Progress) -> Shown:
    """Read what stands at a path.

    Raises UsageError if nothing is there, MaterialError if it is neither package, job nor audio,
    SurroundingsError if it cannot be read.
    """
    name = printable(str(path))
    try:
        if path.is_dir():
            is_job = (path / "job.toml").is_file()
            return _job(path, progress) if is_job else _package(path, progress)
        if path.is_file() and not is_no_archive(path):
            return _package(path, progress)
        return _audio(path)
    except OSError as error:
        raise from_os_error(error, f"Looking at {name}") from error


def payload_of(path: Path, chunk: str) -> Payload:
    """Find a chunk of an audio file by its id, or `id:2` for the second of that id.

    Trailing spaces of the id may be left out. Raises as `show`, and MaterialError if the file has
    no such chunk.
    """
    name = printable(str(path))
    try:
        if path.is_dir():
            raise UsageError(f"{name} is a folder.", "Name one audio file.")
        record = _record(path)[0]
    except OSError as error:
        raise from_os_error(error, f"Looking at {name}") from error
    found = _chunk(record, chunk)
    if found is None:
        ids = dict.fromkeys(printable(one.id).rstrip() for one in record.container.chunks)
        raise MaterialError(
            f"{name} has no chunk {printable(chunk, 40)!r}; it has {', '.join(list(ids)[:_MOST])}."
        )
    present = max(0, min(found.octets, record.octets - found.offset))
    return Payload(path=path, chunk=found, present=present)


def _chunk(record: FileRecord, wanted: str) -> ChunkFacts | None:
    name, _, number = wanted.rpartition(":")
    ordinal = int(number) if number.isascii() and number.isdecimal() and len(number) < 6 else 0
    # An id may itself hold a colon and a figure.
    alike = _of_id(record, wanted)
    if alike:
        return alike[0]
    numbered = _of_id(record, name)
    return numbered[ordinal - 1] if 0 < ordinal <= len(numbered) else None


def _of_id(record: FileRecord, chunk_id: str) -> list[ChunkFacts]:
    wanted = chunk_id.rstrip(" ")
    return [one for one in record.container.chunks if one.id.rstrip(" ") == wanted]


def _package(path: Path, progress: Progress) -> Shown:
    with open_package(path, progress) as bag:
        dossier = read_package(bag)
    return Shown(dossier=dossier, findings=dossier.reading, is_file=False)


def _job(folder: Path, progress: Progress) -> Shown:
    folder = folder.resolve()
    forms, found = read_job(folder)
    if forms is None:
        return Shown(dossier=Dossier(origin="closing"), findings=found, is_file=False)
    found_captures, missing = find(folder, forms)
    taken = captures.look(found_captures, folder, interleave=wants_interleaved(forms))
    stated = state(folder, forms, tuple(one.survey.record for one in taken), progress)
    met = (finding for one in taken for finding in one.survey.findings)
    findings = (*stated.findings, *stated.dossier.reading, *missing, *met)
    return Shown(dossier=stated.dossier, findings=findings, is_file=False)


def _audio(path: Path) -> Shown:
    record, met = _record(path)
    dossier = Dossier(
        origin="received", files=(record,), reading=met, examined=frozenset({"headers"})
    )
    return Shown(dossier=dossier, findings=judge(dossier).findings, is_file=True)


def _record(path: Path) -> tuple[FileRecord, tuple[Finding, ...]]:
    name = printable(str(path))
    if not path.is_file():
        # A pipe or a device would be waited for, or never end.
        there = (
            f"{name} is not a regular file." if path.exists() else f"There is nothing at {name}."
        )
        raise UsageError(there, "Name a package, a job or a file.")
    with path.open("rb") as stream:
        seen = survey(stream, name)
    if not seen.record.container.chunks:
        form = seen.record.container.form
        what = {"empty file": "it is empty", "unknown": "its first octets are of no form known"}
        raise MaterialError(
            f"{name} is not a package, job or audio file: {what.get(form, f'it is {form}')}.",
            "Name a package, a job folder or a wave or FLAC file.",
        )
    return seen.record, seen.findings
