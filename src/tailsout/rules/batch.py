"""What stands in two packages of a batch that only one of them can rightly say.

Of each package digests and names are kept, nothing else, so that a batch may be of any size.
Operator, machine and date may repeat. Copies and versions of one package are one package here.
"""

from collections.abc import Iterable, Iterator, Mapping
from hashlib import sha256
from typing import Any

from tailsout.ground.findings import Finding, Kind, Place, Severity, in_order
from tailsout.ground.units import printable
from tailsout.records.dossier import Dossier
from tailsout.records.marks import Marks, MasterMark
from tailsout.rules.rule import payload_manifests

ESSENCE_TWICE = Kind(
    code="essence-in-two-packages",
    severity=Severity.QUERY,
    title="Two packages hold the same samples",
    basis="own rule: two transfers never give the same samples",
    remedy="The sender says which package the samples belong to, and what belongs in the other.",
)
VALUES_TWICE = Kind(
    code="values-in-two-packages",
    severity=Severity.QUERY,
    title="Two packages have the identifiers of one reel, and masters of one length to the sample",
    basis="own rule: a form that was copied, or a reel that was packed twice",
    remedy="The sender says which reel each of the two is of.",
)
JOB_TWICE = Kind(
    code="job-in-two-packages",
    severity=Severity.QUERY,
    title="Two packages of different names carry the random id of one job",
    basis="own rule: `begin` draws an id for every job; a copied job folder keeps it",
    remedy="The sender says which of the two was made from a copy of the other's job folder.",
)
KINDS = (ESSENCE_TWICE, VALUES_TWICE, JOB_TWICE)

_LABELS = frozenset({"external-identifier"})
_MOST_NAMED = 5
_MOST_MASTERS, _MOST_NAMES = 1000, 100
"""Of one package; a stranger's may hold any number."""

_Alike = list[tuple[str, Marks, str]]
"""Packages by name, their marks, and which of their files."""


def marks_of(dossier: Dossier) -> Marks:
    """Return what is kept of one package that was judged."""
    transfer, bag = dossier.transfer, dossier.package
    masters = tuple(
        MasterMark(
            path=printable(file.path),
            essence_sha256=file.essence_sha256
            or (file.stated.measured.essence_sha256 if file.stated is not None else ""),
            frames=file.frames or 0,
        )
        for file in dossier.files
    )
    if transfer is not None:
        names = [one.value for one in transfer.reel.identifiers]
    else:
        lines = bag.bag_info if bag is not None else ()
        names = [one.value for one in lines if one.label.casefold() in _LABELS]
    return Marks(
        itself=f"{transfer.job_id} {transfer.package_id}" if transfer else _digest(dossier),
        job_id=transfer.job_id if transfer is not None else "",
        identifiers=tuple(sorted({_folded(name) for name in names[:_MOST_NAMES]})),
        masters=tuple(one for one in masters if one.frames)[:_MOST_MASTERS],
    )


def _folded(name: str) -> str:
    return " ".join(printable(name).casefold().split())


def _digest(dossier: Dossier) -> str:
    """Return what tells one stranger's payload from another."""
    total = sha256()
    manifests = payload_manifests(dossier.package) if dossier.package is not None else ()
    for manifest in manifests:
        for line in sorted(f"{one.digest.lower()} {one.path}" for one in manifest.lines):
            total.update(line.encode("utf-8", "backslashreplace") + b"\n")
    return total.hexdigest()


def across(batch: Iterable[tuple[str, Marks]]) -> tuple[Finding, ...]:
    """Return what several packages, each by its name, have in common and ought not to.

    Once for each, whatever the order in which they come.
    """
    essences: dict[str, _Alike] = {}
    values: dict[tuple[int, tuple[str, ...]], _Alike] = {}
    jobs: dict[str, _Alike] = {}
    for name, one in sorted(batch, key=lambda pair: pair[0]):
        for master in one.masters:
            if master.essence_sha256:
                essences.setdefault(master.essence_sha256, []).append((name, one, master.path))
            if one.identifiers:
                key = (master.frames, one.identifiers)
                values.setdefault(key, []).append((name, one, master.path))
        if one.job_id:
            jobs.setdefault(one.job_id, []).append((name, one, ""))
    # Where the samples are the same their length says no more.
    told = {name for alike in essences.values() if _are_apart(alike) for name, _, _ in alike}
    untold = {key: [a for a in alike if a[0] not in told] for key, alike in values.items()}
    return in_order(
        (
            *_told(ESSENCE_TWICE, "the same samples as in", essences),
            *_told(JOB_TWICE, "the job of", jobs),
            *_told(VALUES_TWICE, "the identifiers and the length of", untold),
        )
    )


def _are_apart(alike: _Alike) -> bool:
    return len({one.itself for _, one, _ in alike}) > 1


def _told(kind: Kind, what: str, groups: Mapping[Any, _Alike]) -> Iterator[Finding]:
    for alike in groups.values():
        if not _are_apart(alike):
            continue
        name, first, path = alike[0]
        others = [
            f"{other} {inside}".strip()
            for other, one, inside in alike[1:]
            if one.itself != first.itself
        ]
        shown = ", ".join(printable(one, 200) for one in others[:_MOST_NAMED])
        more = f" and {len(others) - _MOST_NAMED} more" if len(others) > _MOST_NAMED else ""
        place = Place(file=printable(name), part=printable(path, 200))
        yield kind.at(place, f"it has {what} {shown}{more}.")
