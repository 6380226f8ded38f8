"""Judges one package: anybody's bag, ours or not."""

from dataclasses import dataclass, replace
from pathlib import Path

from tailsout.bag.open import OpenBag, open_bag
from tailsout.bag.prove import prove
from tailsout.ground.errors import MaterialError, SurroundingsError
from tailsout.ground.findings import Finding, Judgement, Place
from tailsout.ground.progress import Progress
from tailsout.ground.units import printable
from tailsout.mapping import naming, sidecar
from tailsout.mapping.strict_json import MAX_JSON_OCTETS
from tailsout.records.dossier import Dossier, Examined, FileRecord
from tailsout.records.transfer import SideCar
from tailsout.rules import judge
from tailsout.work.survey import survey


@dataclass(frozen=True, slots=True, kw_only=True)
class Checked:
    """A package and what was made of it."""

    dossier: Dossier
    judgement: Judgement


def check(path: Path, progress: Progress) -> Checked:
    """Open, prove and judge the bag at `path`.

    Raises UsageError if it is no directory, SurroundingsError if it cannot be opened.
    """
    with open_bag(path) as bag:
        dossier = proved(bag, read_package(bag), progress)
    return Checked(dossier=dossier, judgement=judge(dossier))


def read_package(bag: OpenBag) -> Dossier:
    """Read structure, audio headers and side-cars; no file is read through."""
    records: list[FileRecord] = []
    reading: list[Finding] = []
    met_ours = False
    present = {file.path for file in bag.facts.files}
    for file in bag.facts.files:
        if not (file.path.startswith("data/") and naming.is_wave(file.path)):
            continue
        record = _header(bag, file.path)
        if record is None:
            continue
        beside = naming.sidecar_path(file.path)
        if beside in present:
            found, findings = _sidecar(bag, beside)
            met_ours = met_ours or found is not None or bool(findings)
            reading += findings
            capture = found.this_file.capture if found else None
            record = replace(record, sidecar=found, capture=capture)
        records.append(record)
    stated = next(((r.path, r.sidecar) for r in records if r.sidecar is not None), None)
    examined: set[Examined] = {"structure", "headers"}
    if any(not manifest.is_tag for manifest in bag.facts.manifests):
        examined.add("manifests")
    if met_ours:
        examined.add("side-cars")
    if stated is not None:
        examined.add("statements")
    return Dossier(
        origin="received",
        transfer=stated[1].transfer if stated else None,
        files=tuple(records),
        package=bag.facts,
        reading=tuple(reading),
        examined=frozenset(examined),
        places=_places(stated[0]) if stated else {},
    )


def proved(bag: OpenBag, dossier: Dossier, progress: Progress) -> Dossier:
    """Add to a package as read the digests of every file, taken from disk."""
    spans = {
        file.path: (offset, min(octets, file.octets - offset))
        for file in dossier.files
        for name, offset, octets in file.container.chunks
        if name == "data"
    }
    facts = prove(bag, spans=spans, progress=progress)
    essence = {file.path: file.essence_sha256 for file in facts.files}
    return replace(
        dossier,
        package=facts,
        files=tuple(replace(f, essence_sha256=essence[f.path]) for f in dossier.files),
        examined=dossier.examined | frozenset[Examined]({"fixity", "essence"}),
    )


def _header(bag: OpenBag, path: str) -> FileRecord | None:
    """Look into one audio file; None if it cannot be opened, which the proof will tell."""
    try:
        with bag.stream(path) as stream:
            return survey(stream, path).record
    except (MaterialError, SurroundingsError):
        return None


def _sidecar(bag: OpenBag, path: str) -> tuple[SideCar | None, tuple[Finding, ...]]:
    name = printable(path)
    try:
        content = bag.read(path, MAX_JSON_OCTETS)
    except MaterialError as error:
        return None, (sidecar.SIDECAR_NOT_JSON.at(Place(file=name), error.sentence),)
    except SurroundingsError:
        return None, ()
    return sidecar.read(content, name)


def _places(audio_path: str) -> dict[str, Place]:
    return {"": Place(file=printable(naming.sidecar_path(audio_path)), part="/transfer")}
