"""Completeness of a bag: RFC 8493 §3, and nothing that §3 does not ask."""

import re
from collections.abc import Iterator
from functools import cache

from tailsout.ground.digests import ALGORITHMS
from tailsout.ground.findings import Finding, Kind, Place, Severity
from tailsout.ground.units import printable
from tailsout.records.dossier import Dossier
from tailsout.records.facts import Manifest, PackageFacts
from tailsout.rules.rule import ASK_AGAIN, SEAL_ANEW, Rule, bounded, package_of, payload_manifests

_TAG_MANIFEST = re.compile(r"tagmanifest-[^/]+\.txt", re.DOTALL)
_OXUM = re.compile(r"[0-9]{1,40}\.[0-9]{1,40}", re.ASCII)

FILE_MISSING = Kind(
    code="file-missing",
    severity=Severity.MEND,
    title="A manifest lists a file that is not there",
    basis="RFC 8493 §3: every file in every manifest is present",
    remedy=ASK_AGAIN,
)
FILE_UNLISTED = Kind(
    code="file-unlisted",
    severity=Severity.MEND,
    title="A payload file is in no manifest",
    basis="RFC 8493 §3: every payload file is listed",
    remedy="Ask the sender whether the file belongs to the package, and for the bag sealed anew.",
)
FILE_NOT_IN_EVERY = Kind(
    code="file-not-in-every-manifest",
    severity=Severity.MEND,
    title="A payload file is missing from one of several manifests",
    basis="RFC 8493 §2.1.3, §3: in version 1.0 every manifest lists every payload file",
    remedy=SEAL_ANEW,
)
OXUM_DIFFERS = Kind(
    code="oxum-differs",
    severity=Severity.MEND,
    title="Payload-Oxum does not fit the payload",
    basis="RFC 8493 §2.2.2: Payload-Oxum",
    remedy=ASK_AGAIN,
)
TAG_FILE_UNLISTED = Kind(
    code="tag-file-unlisted",
    severity=Severity.NOTE,
    title="A tag file is in no tag manifest, so that a change of it goes unseen",
    basis="RFC 8493 §2.2.1: a tag manifest should list all tag files",
    remedy="Nothing to do now; the sender may list it in a later version.",
)
TAG_MANIFESTS_DIFFER = Kind(
    code="tag-manifests-differ",
    severity=Severity.NOTE,
    title="Tag manifests do not list the same files, or use other algorithms than the payload's",
    basis="RFC 8493 §2.2.1: they should list the same set, by the payload manifests' algorithms",
    remedy="Nothing to do now; the sender may bring them in line in a later version.",
)
MANIFEST_UNLISTED = Kind(
    code="manifest-unlisted",
    severity=Severity.MEND,
    title="A tag manifest does not list a payload manifest",
    basis="RFC 8493 §2.2.1: a tag manifest lists every payload manifest",
    remedy=SEAL_ANEW,
)
OF_LISTS = frozenset({FILE_UNLISTED, FILE_NOT_IN_EVERY, MANIFEST_UNLISTED})
"""What is wrong with what is listed where; the payload may be as it was sent."""


def _whole(package: PackageFacts) -> list[Manifest]:
    """Return the payload manifests that were read to their end: the others prove no absence."""
    return [m for m in payload_manifests(package) if m.name not in package.unseen]


def _some_unread(package: PackageFacts) -> bool:
    """Tell whether a payload manifest was not read, or not to its end."""
    return any(name.startswith("manifest-") for name in package.unseen)


def _completeness(dossier: Dossier) -> Iterator[Finding]:
    package = package_of(dossier)
    yield from bounded(_missing(package))
    yield from bounded(_unlisted(package))
    yield from _oxum(package)
    yield from bounded(_tags(package))
    yield from _tags_alike(package)


def _missing(package: PackageFacts) -> Iterator[Finding]:
    present = {file.path for file in package.files}
    unseen = frozenset(package.unseen)
    missing: dict[str, Place] = {}
    for manifest in package.manifests:
        for line in manifest.lines:
            if line.path not in present and not _is_unseen(line.path, unseen):
                place = Place(file=manifest.name, line=line.line)
                missing.setdefault(line.path, place)
    by_case = cache(lambda: {path.casefold(): path for path in present})
    for path, place in missing.items():
        text = f"it is listed in {place} and not there."
        if "\\" in path:
            text = f"{text[:-1]}; a backslash parts no folders in a manifest."
        elif (near := by_case().get(path.casefold())) is not None:
            text = f"{text[:-1]}; {printable(near)} is, in other letter case."
        yield FILE_MISSING.at(Place(file=printable(path)), text)


def _is_unseen(path: str, unseen: frozenset[str]) -> bool:
    """Tell whether a path is, or lies below, what was not looked at."""
    if not unseen:
        return False
    parts = path.split("/")
    return any("/".join(parts[:count]) in unseen for count in range(len(parts) + 1))


def _unlisted(package: PackageFacts) -> Iterator[Finding]:
    listed = {m.name: {line.path for line in m.lines} for m in _whole(package)}
    all_read = not _some_unread(package)
    is_draft = package.bagit_version.startswith("0.")
    everywhere = set.intersection(*listed.values()) if listed else set()
    for file in package.files:
        if not file.path.startswith("data/") or file.path in everywhere:
            continue
        lacking = [name for name, paths in listed.items() if file.path not in paths]
        place = Place(file=printable(file.path))
        if listed and len(lacking) == len(listed) and all_read:
            yield FILE_UNLISTED.at(place, f"it is in none of {', '.join(lacking)}.")
        elif lacking and not is_draft:
            yield FILE_NOT_IN_EVERY.at(place, f"it is not in {', '.join(lacking)}.")


def _oxum(package: PackageFacts) -> Iterator[Finding]:
    payload = [file for file in package.files if file.path.startswith("data/")]
    found = (sum(file.octets for file in payload), len(payload))
    if any(path in {"", "data"} or path.startswith("data/") for path in package.unseen):
        return
    if package.holes:
        # It counts what is still to be fetched.
        return
    for line in package.bag_info:
        stated = line.value.strip()
        # One that is not an Oxum at all is an observation of the reader.
        if line.label.lower() != "payload-oxum" or not _OXUM.fullmatch(stated):
            continue
        octets, _, count = stated.partition(".")
        if (int(octets), int(count)) != found:
            place = Place(file=line.file, line=line.line)
            shown = f"{found[0]}.{found[1]}"
            yield OXUM_DIFFERS.at(place, f"it states {stated}, found are {shown} (octets.files).")
            return


def _tags(package: PackageFacts) -> Iterator[Finding]:
    tags = [m for m in package.manifests if m.is_tag]
    if not tags:
        return
    for path in tag_files_unlisted(package):
        yield TAG_FILE_UNLISTED.at(Place(file=printable(path)), "no tag manifest lists it.")
    for manifest in tags:
        if manifest.name in package.unseen:
            continue
        paths = {line.path for line in manifest.lines}
        for other in payload_manifests(package):
            if other.name not in paths:
                yield MANIFEST_UNLISTED.at(
                    Place(file=manifest.name), f"it does not list {other.name}."
                )


def _tags_alike(package: PackageFacts) -> Iterator[Finding]:
    tags = [m for m in package.manifests if m.is_tag and m.name not in package.unseen]
    for manifest in tags[1:]:
        if {line.path for line in manifest.lines} != {line.path for line in tags[0].lines}:
            text = f"it does not list what {tags[0].name} lists."
            yield TAG_MANIFESTS_DIFFER.at(Place(file=manifest.name), text)
    if _some_unread(package):
        return
    used = dict.fromkeys(m.algorithm for m in payload_manifests(package))
    by = {m.algorithm for m in package.manifests if m.is_tag}
    for algorithm in used if by else ():
        if algorithm in ALGORITHMS and algorithm not in by:
            name = f"tagmanifest-{printable(algorithm)}.txt"
            text = f"it is not there, though a payload manifest uses {printable(algorithm)}."
            yield TAG_MANIFESTS_DIFFER.at(Place(file=name), text)
    for manifest in tags:
        if manifest.algorithm not in used:
            text = f"no payload manifest uses {printable(manifest.algorithm)}."
            yield TAG_MANIFESTS_DIFFER.at(Place(file=manifest.name), text)


def tag_files_unlisted(package: PackageFacts) -> list[str]:
    """Return the tag files that no tag manifest lists, but for tag manifests, which none may."""
    listed = {line.path for one in package.manifests if one.is_tag for line in one.lines}
    return [
        file.path
        for file in package.files
        if not file.path.startswith("data/")
        and not _TAG_MANIFEST.fullmatch(file.path)
        and file.path not in listed
    ]


RULES = (
    Rule(
        name="completeness",
        kinds=(
            FILE_MISSING,
            FILE_UNLISTED,
            FILE_NOT_IN_EVERY,
            OXUM_DIFFERS,
            TAG_FILE_UNLISTED,
            TAG_MANIFESTS_DIFFER,
            MANIFEST_UNLISTED,
        ),
        needs=frozenset({"structure", "manifests"}),
        run=_completeness,
        decides=True,
    ),
)
