"""Looks at what is to be delivered, before anything is written: packages, and reels not played."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path

from tailsout.bag.notes import DEFAULT_CAPS
from tailsout.bag.open import open_bag
from tailsout.bag.tree import Tree
from tailsout.ground.digests import digests_of
from tailsout.ground.errors import MaterialError
from tailsout.ground.findings import Judgement, Verdict
from tailsout.ground.progress import Progress
from tailsout.ground.units import printable
from tailsout.mapping import naming
from tailsout.mapping.forms.job_forms import read_job
from tailsout.records.delivery import LeftOut, PackageRow
from tailsout.records.dossier import Dossier, Examined
from tailsout.records.facts import FoundFile, PackageFacts
from tailsout.records.transfer import Transfer
from tailsout.rules import judge
from tailsout.work.job import state
from tailsout.work.package import read_package

_NOT_YET = frozenset[Examined]({"fixity", "essence", "samples"})
LETS_PASS = frozenset({Verdict.PASS, Verdict.OPEN})


@dataclass(frozen=True, slots=True, kw_only=True)
class Candidate:
    """A package as it stands, no payload read through."""

    path: Path
    name: str
    files: tuple[FoundFile, ...]
    dossier: Dossier
    judgement: Judgement

    @property
    def octets(self) -> int:
        """Octets of all its files."""
        return sum(file.octets for file in self.files)

    @property
    def passes(self) -> bool:
        """Tell whether nothing that shows without reading the payload stands against it."""
        return self.judgement.verdict in LETS_PASS


def look(path: Path) -> Candidate:
    """Look at the package in a folder.

    Raises UsageError if it is not a folder, SurroundingsError if it cannot be opened.
    """
    with open_bag(path) as bag:
        dossier = replace(read_package(bag), unasked=_NOT_YET)
        return Candidate(
            path=path,
            name=bag.facts.name,
            files=bag.facts.files,
            dossier=dossier,
            judgement=judge(dossier),
        )


def row(candidate: Candidate, place: Path, verdict: str) -> PackageRow:
    """Tell of a package that stands at `place`. Raises OSError and as `Tree.read`."""
    dossier = candidate.dossier
    transfer = dossier.transfer
    commission = transfer.commission if transfer is not None else None
    recipient = transfer.recipient if transfer is not None else None
    return PackageRow(
        package=printable(candidate.name),
        identifiers=identifiers(transfer, dossier.package),
        title=title(transfer, dossier.package),
        files=len(candidate.files),
        octets=candidate.octets,
        verdict=verdict,
        supersedes=supersedes(dossier),
        order=(commission.agreement or "") if commission is not None else "",
        recipient=(recipient.name or recipient.id) if recipient is not None else "",
        tag_manifests=tag_manifests(place),
    )


def tag_manifests(place: Path) -> dict[str, str]:
    """Return the SHA-512 of each tag manifest of a package. Raises OSError and as `Tree.read`."""
    with open_bag(place) as bag:
        names = sorted(one.name for one in bag.facts.manifests if one.is_tag)
    tree = Tree(place)
    try:
        return {
            printable(name): digests_of(tree.read(name, DEFAULT_CAPS.manifest_octets), ("sha512",))[
                "sha512"
            ]
            for name in names
        }
    finally:
        tree.close()


def supersedes(dossier: Dossier) -> str:
    """Return the name of the version that a package supersedes, as its bag-info or list says."""
    if dossier.amendments:
        return dossier.amendments[-1].supersedes
    return next(iter(_bag_info(dossier.package, naming.SUPERSEDES)), "")


def title(transfer: Transfer | None, package: PackageFacts | None) -> str:
    """Return what a package calls its content."""
    if transfer is not None:
        return transfer.reel.title or ""
    return next(iter(_bag_info(package, "External-Description")), "")


def identifiers(transfer: Transfer | None, package: PackageFacts | None = None) -> tuple[str, ...]:
    """Return the identifiers of a reel, each with its kind where that is known."""
    if transfer is None:
        return tuple(_bag_info(package, "External-Identifier"))
    return tuple(
        f"{one.value} ({one.kind})" if one.kind is not None else one.value
        for one in transfer.reel.identifiers
    )


def names(dossier: Dossier) -> frozenset[str]:
    """Return everything a shipping list may call a package or its reel."""
    transfer, package = dossier.transfer, dossier.package
    found = set(_bag_info(package, "External-Identifier"))
    if package is not None:
        found.add(package.name)
    if transfer is not None:
        found |= {transfer.package_id, *(one.value for one in transfer.reel.identifiers)}
    return frozenset(found)


def not_played(dossier: Dossier, name: str) -> LeftOut | None:
    """Tell of a reel that was inspected only; None if it was played."""
    transfer = dossier.transfer
    is_record_only = transfer is not None and transfer.kind == "record only"
    if transfer is None or not (is_record_only or dossier.record_only is not None):
        return None
    return LeftOut(
        name=name,
        identifiers=identifiers(transfer),
        title=transfer.reel.title or "",
        sort="not played",
        category=transfer.not_played_category
        or transfer.absent.get("not_played_category", "not recorded"),
        reason=transfer.not_played_because
        or transfer.absent.get("not_played_because", "not recorded"),
        tried=tuple(_tried(transfer)),
    )


def not_fit(name: str, dossier: Dossier, judgement: Judgement) -> LeftOut:
    """Tell of a package that does not pass and therefore stays here."""
    weighing = [one for one in judgement.findings if one.verdict not in LETS_PASS]
    codes = ", ".join(dict.fromkeys(one.code for one in weighing))
    return LeftOut(
        name=printable(name),
        identifiers=identifiers(dossier.transfer, dossier.package),
        title=title(dossier.transfer, dossier.package),
        sort="does not pass",
        category="",
        reason=f"judged '{judgement.verdict}'{': ' if codes else ''}{codes}",
        tried=(),
    )


def job_not_played(folder: Path, progress: Progress) -> tuple[LeftOut, frozenset[str]]:
    """Tell of a job that records a reel which was not played, and what a list may call it.

    Raises UsageError if there is no job, MaterialError if its forms have faults or it was played,
    SurroundingsError if it cannot be read.
    """
    shown = printable(str(folder))
    forms, found = read_job(folder)
    stated = state(folder, forms, (), progress) if forms is not None else None
    transfer = stated.dossier.transfer if stated is not None else None
    if stated is None or transfer is None:
        faults = found or (stated.findings if stated is not None else ())
        first = f": {faults[0].place}: {faults[0].text}" if faults else "."
        raise MaterialError(f"The forms of {shown} have faults{first}", "Mend them first.")
    left = not_played(stated.dossier, transfer.package_id)
    if left is None:
        raise MaterialError(
            f"The job {shown} is not one of kind 'record only'.",
            "Close it and deliver its package, or say in its form why the reel was not played.",
        )
    return left, names(stated.dossier)


def _tried(transfer: Transfer) -> Iterator[str]:
    """Say what was done to a reel that was not played to the end, or not at all."""
    for event in transfer.reel.events:
        if event.state in {"proposed", "declined"}:
            continue
        told = (event.on, event.why, event.outcome, event.note)
        yield ": ".join((event.kind, ", ".join(one for one in told if one))).rstrip(": ")
    for one in transfer.passes:
        why = one.why_not_kept or ("kept" if one.kept else "not kept")
        yield f"pass {one.id}: {why}"


def _bag_info(package: PackageFacts | None, label: str) -> Iterator[str]:
    for line in package.bag_info if package is not None else ():
        if line.label.casefold() == label.casefold():
            yield printable(line.value)
