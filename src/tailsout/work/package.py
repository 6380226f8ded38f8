"""The Dossier of a package, by how far it is read: its bag, headers and side-cars, every octet."""

from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass, replace

from tailsout.bag.archive.open import ArchivedBag
from tailsout.bag.prove import prove
from tailsout.bag.readable import ReadableBag
from tailsout.bag.workers import Workers
from tailsout.ground.errors import MaterialError, SurroundingsError
from tailsout.ground.findings import Finding, Place
from tailsout.ground.progress import Progress
from tailsout.ground.units import printable
from tailsout.mapping import amendments, naming, sidecar
from tailsout.mapping.forms import recipients
from tailsout.mapping.strict_json import MAX_JSON_OCTETS
from tailsout.records.amendment import Amendment
from tailsout.records.dossier import Depth, Dossier, Examined, FileRecord
from tailsout.records.recipient import Recipient
from tailsout.records.transfer import SideCar
from tailsout.work import descriptions, papers
from tailsout.work.opened import header_unread, is_whole
from tailsout.work.survey import Survey, survey

_BEYOND_THE_BAG: frozenset[Examined] = frozenset(
    {
        "headers",
        "essence",
        "side-cars",
        "statements",
        "samples",
        "measurements",
        "versions",
        "descriptions",
    }
)
UNASKED: Mapping[Depth, frozenset[Examined]] = {
    Depth.STRUCTURE: _BEYOND_THE_BAG | frozenset[Examined]({"fixity"}),
    Depth.FULL: frozenset({"samples"}),
    Depth.DEEP: frozenset(),
}
"""What nobody asked to be looked at, by the depth that was asked for."""


def bag_alone(bag: ReadableBag, depth: Depth) -> Dossier:
    """Tell of a bag what its tag files and the names and sizes in it show."""
    return Dossier(
        origin="received",
        package=bag.facts,
        examined=_examined(bag) - {"headers"},
        unasked=UNASKED[depth] | _BEYOND_THE_BAG,
    )


def read_package(bag: ReadableBag, schemas: Mapping[str, bytes] | None = None) -> Dossier:
    """Read structure, audio headers and side-cars; no file is read through.

    `schemas` are the official ones of descriptions in XML, by file name.
    """
    present = {file.path for file in bag.facts.files}
    audio = tuple(_audio_files(bag, present))
    files = tuple(one.file for one in audio if one.file is not None)
    alone = () if files else tuple(_records_only(bag, present))
    sidecars = [(one.sidecar_at, one.sidecar) for one in (*audio, *alone) if one.sidecar]
    unread = tuple(finding for one in (*audio, *alone) for finding in one.unread)
    first_at, first = sidecars[0] if sidecars else ("", None)
    versions, of_versions = _amendments(bag, present)
    form, of_form = _recipient(bag, present)
    described, of_descriptions = descriptions.read(bag, schemas)
    texts, of_papers = papers.read(bag)
    beyond: set[Examined] = {"versions", "descriptions"}
    if schemas:
        beyond.add("official-schemas")
    return Dossier(
        origin="received",
        transfer=first.transfer if first else None,
        files=files,
        package=bag.facts,
        calibrations=first.calibrations if first else (),
        at_rest=first.at_rest if first else (),
        record_only=first if not files else None,
        amendments=versions,
        recipient_form=form,
        descriptions=described,
        papers=texts,
        reading=(
            *unread,
            *of_versions,
            *of_form,
            *(finding for one in audio for finding in one.inside),
            *of_descriptions,
            *of_papers,
        ),
        examined=_examined(bag, met_ours=bool(sidecars or unread), is_stated=first is not None)
        | beyond,
        places={"": Place(file=printable(first_at), part="/transfer")} if first else {},
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Read:
    """An audio file and the side-car beside it, or a side-car that stands alone."""

    file: FileRecord | None = None
    sidecar_at: str = ""
    sidecar: SideCar | None = None
    unread: tuple[Finding, ...] = ()
    """Why header or side-car could not be read, or what is wrong with the side-car."""
    inside: tuple[Finding, ...] = ()
    """Of the documents inside the audio file."""


def _audio_files(bag: ReadableBag, present: Collection[str]) -> Iterator[_Read]:
    for path in sorted(present):
        if not (path.startswith("data/") and (naming.is_wave(path) or naming.is_flac(path))):
            continue
        seen = _header(bag, path)
        if seen is not None:
            yield _with_sidecar(bag, seen, present)
        elif bag.facts.archive is not None:
            yield _Read(unread=(header_unread(path),))


def _with_sidecar(bag: ReadableBag, seen: Survey, present: Collection[str]) -> _Read:
    path = seen.record.path
    beside = naming.sidecar_path(path)
    # Where a wave file has the same name, the side-car is the wave file's.
    is_its_own = naming.is_wave(path) or naming.wave_path(path) not in present
    if beside not in present or not is_its_own:
        return _Read(file=seen.record, inside=seen.findings)
    found, unread = _sidecar(bag, beside)
    return _Read(
        file=_as_stated(replace(seen.record, sidecar=found)),
        sidecar_at=beside,
        sidecar=found,
        unread=unread,
        inside=seen.findings,
    )


def _records_only(bag: ReadableBag, present: Collection[str]) -> Iterator[_Read]:
    """Yield the side-cars of a package without audio: of a reel that was not played."""
    for path in naming.record_only_paths(present):
        found, unread = _sidecar(bag, path)
        yield _Read(sidecar_at=path, sidecar=found, unread=unread)


def _as_stated(record: FileRecord) -> FileRecord:
    """Take over from a side-car what only it can tell: which capture, or what of it, it holds."""
    stated = record.stated
    if stated is None:
        return record
    return replace(
        record,
        capture=stated.capture,
        made=stated.made,
        starts_at=stated.starts_at or 0,
        track=stated.track,
        sources=stated.sources,
        regions=stated.regions,
        print_through=stated.print_through,
        scales=stated.scales,
    )


def _examined(
    bag: ReadableBag, *, met_ours: bool = False, is_stated: bool = False
) -> frozenset[Examined]:
    examined: set[Examined] = {"structure", "headers"}
    if is_whole(bag.facts) and any(not manifest.is_tag for manifest in bag.facts.manifests):
        examined.add("manifests")
    if met_ours:
        examined |= {"side-cars", "measurements"}
    if is_stated:
        examined.add("statements")
    return frozenset(examined)


def proved(
    bag: ReadableBag,
    dossier: Dossier,
    progress: Progress,
    *,
    from_disk: bool = False,
    workers: Workers | None = None,
) -> Dossier:
    """Add to a package as read the digests of every file; `from_disk` as `bag.prove` has it."""
    archive = bag.facts.archive
    if isinstance(bag, ArchivedBag):
        archive = bag.with_digests(progress)
    if not is_whole(bag.facts):
        return replace(dossier, package=replace(bag.facts, archive=archive))
    spans = {
        file.path: (chunk.offset, min(chunk.octets, file.octets - chunk.offset))
        for file in dossier.files
        for chunk in file.container.chunks
        if chunk.id == "data"
    }
    facts = prove(bag, spans=spans, progress=progress, from_disk=from_disk, workers=workers)
    facts = replace(facts, archive=archive)
    found = {file.path: file for file in facts.files}
    files = tuple(
        replace(file, essence_sha256=found[file.path].essence_sha256) for file in dossier.files
    )
    read: set[Examined] = {"fixity"}
    if "headers" in dossier.examined:
        read.add("essence")
    return replace(dossier, package=facts, files=files, examined=dossier.examined | read)


def _header(bag: ReadableBag, path: str) -> Survey | None:
    """Look into one audio file; None if it cannot be opened, which the proof will tell."""
    try:
        with bag.stream(path) as stream:
            return survey(stream, path)
    except (MaterialError, SurroundingsError):
        return None


def _sidecar(bag: ReadableBag, path: str) -> tuple[SideCar | None, tuple[Finding, ...]]:
    content, findings = _content(bag, path, MAX_JSON_OCTETS)
    return (None, findings) if content is None else sidecar.read(content, printable(path))


def _amendments(
    bag: ReadableBag, present: Collection[str]
) -> tuple[tuple[Amendment, ...] | None, tuple[Finding, ...]]:
    if naming.AMENDMENTS not in present:
        return None, ()
    content, findings = _content(bag, naming.AMENDMENTS, MAX_JSON_OCTETS)
    return (None, findings) if content is None else amendments.read(content, naming.AMENDMENTS)


def _recipient(
    bag: ReadableBag, present: Collection[str]
) -> tuple[Recipient | None, tuple[Finding, ...]]:
    if naming.RECIPIENT not in present:
        return None, ()
    content, findings = _content(bag, naming.RECIPIENT, recipients.MAX_COPY_OCTETS)
    return (None, findings) if content is None else recipients.read_copy(content, naming.RECIPIENT)


def _content(bag: ReadableBag, path: str, most: int) -> tuple[bytes | None, tuple[Finding, ...]]:
    """Read a file of which its reader takes at most `most` octets."""
    try:
        with bag.stream(path) as stream:
            # One octet more than that, so that its reader can tell.
            return stream.read(most + 1), ()
    except (MaterialError, SurroundingsError, OSError):
        # Not to be read just now, which the proof will tell, but in an archive.
        return None, (header_unread(path),) if bag.facts.archive is not None else ()
