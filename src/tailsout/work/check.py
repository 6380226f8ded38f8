"""Judges one package: anybody's bag, ours or not."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path

from tailsout.bag.archive.open import ArchivedBag
from tailsout.bag.hands import Hands
from tailsout.bag.prove import prove
from tailsout.bag.readable import ReadableBag
from tailsout.bag.receipt_beside import find
from tailsout.bag.seen import archive_seen, seen_of
from tailsout.ground.errors import MaterialError, SurroundingsError
from tailsout.ground.findings import Finding, Judgement, Place
from tailsout.ground.progress import Progress
from tailsout.ground.units import printable
from tailsout.mapping import amendments, naming, sidecar
from tailsout.mapping.forms import recipients
from tailsout.mapping.strict_json import MAX_JSON_OCTETS
from tailsout.records.amendment import Amendment
from tailsout.records.bag_state import BagState
from tailsout.records.bagit_profile import BagItProfile
from tailsout.records.dossier import Depth, Dossier, Examined, FileRecord
from tailsout.records.recipient import Recipient
from tailsout.records.seen import Seen
from tailsout.records.transfer import SideCar
from tailsout.rules import judge
from tailsout.rules.bag_state import bag_state
from tailsout.rules.rule import package_of
from tailsout.work import descriptions
from tailsout.work.deep import looked_into
from tailsout.work.opened import header_unread, is_whole, open_package
from tailsout.work.receipt_beside import read_receipt
from tailsout.work.survey import Survey, survey

_BEYOND_THE_BAG = frozenset[Examined](
    {"headers", "essence", "side-cars", "statements", "samples", "measurements"}
) | frozenset[Examined]({"versions", "descriptions"})
_BY_SCHEMAS = frozenset[Examined]({"official-schemas"})
_UNASKED: dict[Depth, frozenset[Examined]] = {
    Depth.STRUCTURE: _BEYOND_THE_BAG | frozenset[Examined]({"fixity"}),
    Depth.FULL: frozenset({"samples"}),
    Depth.DEEP: frozenset(),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Checked:
    """A package and what was made of it."""

    dossier: Dossier
    judgement: Judgement
    bag: BagState | None
    """What it is in the words of RFC 8493 §3."""
    seen: Seen | None = None
    """By what it is known again without being read through; None if that cannot be told."""


def check(
    path: Path,
    progress: Progress,
    *,
    depth: Depth = Depth.FULL,
    bagit_only: bool = False,
    bagit_profile: BagItProfile | None = None,
    schemas: Mapping[str, bytes] | None = None,
    just_built: bool = False,
    hands: Hands | None = None,
) -> Checked:
    """Open, prove and judge the bag at `path`, as deep as is asked.

    `bagit_only` leaves it at RFC 8493: no audio file is looked into and no side-car read.
    `bagit_profile` is held against it at any depth; `schemas` are official ones by file name.
    `just_built` is for a package of ours that is about to be named: it is read from the disk
    itself, and its FLAC masters are decoded at any depth but structure. `hands` may be shared by
    packages that are judged at once.
    Raises UsageError if it is neither a directory nor an archive, SurroundingsError if it cannot
    be opened.
    """
    known_by = archive_seen(path)
    with open_package(path, progress) as bag:
        receipt = find(path)
        if bag.facts.archive is None:
            known_by = seen_of(bag, receipt)
        if depth is Depth.STRUCTURE or bagit_only:
            dossier = bag_alone(bag, depth)
        else:
            dossier = replace(read_package(bag, schemas), unasked=_UNASKED[depth])
        if depth is not Depth.STRUCTURE:
            dossier = proved(bag, dossier, progress, from_disk=just_built, hands=hands)
            if depth is Depth.DEEP or just_built:
                measuring = depth is Depth.DEEP
                dossier = looked_into(bag, dossier, progress, measuring=measuring)
        if receipt is not None and not bagit_only:
            told = read_receipt(bag, receipt)
            dossier = replace(dossier, package=replace(package_of(dossier), receipt=told))
    if bagit_profile is not None:
        dossier = _to_be_kept(dossier, bagit_profile)
    judgement = judge(dossier)
    state = bag_state(dossier, judgement.findings)
    return Checked(dossier=dossier, judgement=judgement, bag=state, seen=known_by)


def _to_be_kept(dossier: Dossier, profile: BagItProfile) -> Dossier:
    return replace(
        dossier,
        bagit_profile=profile,
        reading=(*dossier.reading, *profile.reading),
        examined=dossier.examined | frozenset[Examined]({"bagit-profile"}),
    )


def bag_alone(bag: ReadableBag, depth: Depth) -> Dossier:
    """Tell of a bag what its tag files and the names and sizes in it show."""
    return Dossier(
        origin="received",
        package=bag.facts,
        examined=_examined(bag) - {"headers"},
        unasked=_UNASKED[depth] | _BEYOND_THE_BAG,
    )


def read_package(bag: ReadableBag, schemas: Mapping[str, bytes] | None = None) -> Dossier:
    """Read structure, audio headers and side-cars; no file is read through."""
    records: list[FileRecord] = []
    reading: list[Finding] = []
    met: list[Finding] = []
    told: dict[str, SideCar] = {}
    present = {file.path for file in bag.facts.files}
    for path in sorted(present):
        if not (path.startswith("data/") and (naming.is_wave(path) or naming.is_flac(path))):
            continue
        seen = _header(bag, path)
        if seen is None:
            if bag.facts.archive is not None:
                reading.append(header_unread(path))
            continue
        record = seen.record
        met += seen.findings
        beside = naming.sidecar_path(path)
        # Where a wave file has the same name, the side-car is the wave file's.
        is_its_own = naming.is_wave(path) or naming.wave_path(path) not in present
        if beside in present and is_its_own:
            found, findings = _sidecar(bag, beside)
            reading += findings
            record = _as_stated(replace(record, sidecar=found))
            if found is not None:
                told[beside] = found
        records.append(record)
    for path in naming.record_only_paths(present) if not records else ():
        found, findings = _sidecar(bag, path)
        reading += findings
        if found is not None:
            told[path] = found
    unread = tuple(reading)
    listed, findings = _amendments(bag, present)
    reading += findings
    form, findings = _recipient(bag, present)
    reading += findings
    described, findings = descriptions.read(bag, schemas)
    first = next(iter(told), None)
    return Dossier(
        origin="received",
        transfer=told[first].transfer if first is not None else None,
        files=tuple(records),
        package=bag.facts,
        calibrations=told[first].calibrations if first is not None else (),
        at_rest=told[first].at_rest if first is not None else (),
        record_only=told[first] if first is not None and not records else None,
        amendments=listed,
        recipient_form=form,
        descriptions=described,
        reading=(*reading, *met, *findings),
        examined=_examined(bag, met_ours=bool(told or unread), is_stated=first is not None)
        | frozenset[Examined]({"versions", "descriptions"})
        | (_BY_SCHEMAS if schemas else frozenset()),
        places={"": Place(file=printable(first), part="/transfer")} if first is not None else {},
    )


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
    hands: Hands | None = None,
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
    facts = prove(bag, spans=spans, progress=progress, from_disk=from_disk, hands=hands)
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
    name = printable(path)
    try:
        with bag.stream(path) as stream:
            # One octet more than the reader of side-cars takes, so that it can tell.
            content = stream.read(MAX_JSON_OCTETS + 1)
    except (MaterialError, SurroundingsError, OSError):
        # Not to be read just now, which the proof will tell, but in an archive.
        return None, (header_unread(path),) if bag.facts.archive is not None else ()
    return sidecar.read(content, name)


def _amendments(
    bag: ReadableBag, present: set[str]
) -> tuple[tuple[Amendment, ...] | None, tuple[Finding, ...]]:
    content, findings = _tag_file(bag, present, naming.AMENDMENTS, MAX_JSON_OCTETS)
    return (None, findings) if content is None else amendments.read(content, naming.AMENDMENTS)


def _recipient(bag: ReadableBag, present: set[str]) -> tuple[Recipient | None, tuple[Finding, ...]]:
    content, findings = _tag_file(bag, present, naming.RECIPIENT, recipients.MAX_COPY_OCTETS)
    if content is None:
        return None, findings
    return recipients.read_copy(content, naming.RECIPIENT)


def _tag_file(
    bag: ReadableBag, present: set[str], path: str, most: int
) -> tuple[bytes | None, tuple[Finding, ...]]:
    if path not in present:
        return None, ()
    try:
        with bag.stream(path) as stream:
            # One octet more than its reader takes, so that it can tell.
            return stream.read(most + 1), ()
    except (MaterialError, SurroundingsError, OSError):
        # Not to be read just now, which the proof will tell, but in an archive.
        return None, (header_unread(path),) if bag.facts.archive is not None else ()
