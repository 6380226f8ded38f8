"""Keeps of each package judged what the lists of a receipt need, and lets go of the rest."""

import re
from collections import Counter
from collections.abc import Iterator, Sequence
from functools import cache

from tailsout.ground.findings import Finding, Kind, Severity, Verdict
from tailsout.ground.units import printable
from tailsout.records.arrival import FindingRow, Judged, Rework
from tailsout.records.dossier import Dossier
from tailsout.rules import GROUPS, batch, completeness, containers, structure
from tailsout.work.check_many import Told
from tailsout.work.delivering import candidates

MOST_FINDINGS = 100
"""Listed of one package; a hostile one must not fill the memory."""
NOT_JUDGED = "not judged"
_MOST_DESCRIPTIONS = 5
"""In other standards, named of one package."""


def judged(told: Told, name: str) -> Judged:
    """Tell of one package, called `name` on the drive."""
    if told.checked is None:
        why = printable(str(told.error)) if told.error is not None else ""
        return Judged(
            package=name,
            verdict=NOT_JUDGED,
            bag="",
            manner="not our way",
            otherwise=(),
            title="",
            identifiers=(),
            supersedes="",
            findings=(),
            counts={},
            why=why,
        )
    checked = told.checked
    dossier, findings = checked.dossier, checked.judgement.findings
    return Judged(
        package=name,
        verdict=checked.judgement.verdict.value,
        bag=checked.bag.word if checked.bag is not None else "",
        manner="ours" if dossier.transfer is not None else "not our way",
        otherwise=tuple(_otherwise(dossier)),
        title=printable(candidates.title(dossier.transfer, dossier.package), 200),
        identifiers=candidates.identifiers(dossier.transfer, dossier.package),
        supersedes=candidates.supersedes(dossier),
        findings=tuple(row(name, one) for one in findings[:MOST_FINDINGS]),
        counts=Counter(one.severity.value for one in findings),
    )


def rework(finding: Finding) -> Rework | None:
    """Tell who has what to do about a finding; None if nobody has to do anything."""
    kind = finding.kind
    if finding.severity is Severity.NOTE and kind.verdict is not Verdict.REFUSED:
        return None
    if kind.leads_to is Verdict.NOT_EXAMINED:
        # A limit or a disk of ours: the producer has nothing to mend.
        return None
    if kind.needs_reel:
        return "needs the reel"
    if kind in batch.KINDS:
        return "of two packages"
    if kind in _of_the_octets() or kind.leads_to is Verdict.REFUSED:
        return "re-deliver"
    return "repair the metadata"


@cache
def _of_the_octets() -> frozenset[Kind]:
    """Return the kinds that say that what came is not what was sent, or cannot be read."""
    rules = (*GROUPS["bag"], *containers.RULES)
    kinds = frozenset(kind for rule in rules for kind in rule.kinds)
    return kinds - structure.OF_TAG_FILES - completeness.OF_LISTS


def across_rows(findings: Sequence[Finding]) -> tuple[FindingRow, ...]:
    """Return what stands in two packages, each row by the name of one of them."""
    return tuple(row(one.place.file, one) for one in findings)


def row(name: str, finding: Finding) -> FindingRow:
    """Return a finding as a row of a list, under the name of its package."""
    place = str(finding.place)
    return FindingRow(
        package=name,
        code=finding.code,
        severity=finding.severity.value,
        place=place,
        alike=_alike(place),
        text=finding.text,
        remedy=finding.kind.remedy,
        rework=rework(finding),
    )


def _alike(place: str) -> str:
    """Return a place without names of files and numbers, which tell one package from another."""
    file, hash_mark, part = place.partition("#")
    folder, slash, name = file.rpartition("/")
    if folder.startswith("data"):
        stem, dot, ending = name.rpartition(".")
        name = f"*{dot}{ending}" if stem else "*"
    return re.sub(r"[0-9]+", "…", f"{folder}{slash}{name}{hash_mark}{part}")


def _otherwise(dossier: Dossier) -> Iterator[str]:
    """Say in what a package is not made our way, which is no fault of it."""
    package = dossier.package
    if package is None:
        return
    if dossier.transfer is None:
        yield "it has no side-car of ours"
    if package.bagit_version not in {"", "1.0"}:
        yield f"it is a bag of version {printable(package.bagit_version, 20)}"
    algorithms = {one.algorithm for one in package.manifests if not one.is_tag}
    if algorithms and algorithms.isdisjoint({"sha256", "sha512"}):
        yield f"its digests are {', '.join(sorted(printable(one, 20) for one in algorithms))} alone"
    if dossier.transfer is None:
        for one in dossier.descriptions[:_MOST_DESCRIPTIONS]:
            yield f"it holds {printable(one.path, 200)} ({', '.join(one.standards)})"
