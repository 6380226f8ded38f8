"""Completeness and fixity of a bag: RFC 8493 §3, and nothing that §3 does not ask."""

import re
from collections.abc import Iterator

from tailsout.ground.digests import ALGORITHMS
from tailsout.ground.findings import Finding, Kind, Place, Severity, Verdict
from tailsout.ground.units import printable
from tailsout.records.dossier import Dossier
from tailsout.records.facts import FoundFile, Manifest, PackageFacts
from tailsout.rules.rule import Rule, package_of

_OXUM = re.compile(r"[0-9]{1,40}\.[0-9]{1,40}", re.ASCII)

_ASK_AGAIN = "Ask the sender for the package again; the copy at hand is not to be relied on."

FILE_MISSING = Kind(
    code="file-missing",
    severity=Severity.MEND,
    title="A manifest lists a file that is not there",
    basis="RFC 8493 §3: every file in every manifest is present",
    remedy=_ASK_AGAIN,
)
FILE_UNLISTED = Kind(
    code="file-unlisted",
    severity=Severity.MEND,
    title="A payload file is in no manifest",
    basis="RFC 8493 §3: every payload file is listed",
    remedy="Ask the sender whether the file belongs to the package.",
)
FILE_NOT_IN_EVERY = Kind(
    code="file-not-in-every-manifest",
    severity=Severity.MEND,
    title="A payload file is missing from one of several manifests",
    basis="RFC 8493 §2.1.3, §3: in version 1.0 every manifest lists every payload file",
    remedy=_ASK_AGAIN,
)
OXUM_DIFFERS = Kind(
    code="oxum-differs",
    severity=Severity.MEND,
    title="Payload-Oxum does not fit the payload",
    basis="RFC 8493 §2.2.2: Payload-Oxum",
    remedy=_ASK_AGAIN,
)
DIGEST_DIFFERS = Kind(
    code="digest-differs",
    severity=Severity.MEND,
    title="A file is not what its manifest says",
    basis="RFC 8493 §3: every checksum in every manifest is verified",
    remedy=_ASK_AGAIN,
)
NOT_VERIFIABLE = Kind(
    code="fixity-not-verifiable",
    severity=Severity.MEND,
    title="No payload manifest uses an algorithm that can be verified here",
    basis="RFC 8493 §2.4, §3: a bag without one verified checksum is not valid",
    remedy="Ask the sender for a manifest in sha512 or sha256.",
)
FILE_UNREADABLE = Kind(
    code="file-unreadable",
    severity=Severity.QUERY,
    title="A file could not be read through",
    basis="own rule: what could not be read is not judged",
    remedy="Look to the disk, the permissions and to programs that write there; then check again.",
    leads_to=Verdict.NOT_EXAMINED,
)
TAG_FILE_UNLISTED = Kind(
    code="tag-file-unlisted",
    severity=Severity.NOTE,
    title="A tag file is in no tag manifest, so that a change of it goes unseen",
    basis="RFC 8493 §2.2.1: a tag manifest should list all tag files",
    remedy="Nothing to do now; the sender may list it in a later version.",
)
MANIFEST_UNLISTED = Kind(
    code="manifest-unlisted",
    severity=Severity.MEND,
    title="A tag manifest does not list a payload manifest",
    basis="RFC 8493 §2.2.1: a tag manifest lists every payload manifest",
    remedy=_ASK_AGAIN,
)


def _payload(package: PackageFacts) -> list[Manifest]:
    return [m for m in package.manifests if not m.is_tag]


def _completeness(dossier: Dossier) -> Iterator[Finding]:
    package = package_of(dossier)
    present = {file.path for file in package.files}
    missing: dict[str, Place] = {}
    for manifest in package.manifests:
        for line in manifest.lines:
            if line.path not in present:
                place = Place(file=manifest.name, line=line.line)
                missing.setdefault(line.path, place)
    for path, place in missing.items():
        shown = printable(path)
        yield FILE_MISSING.at(Place(file=shown), f"it is listed in {place} and not there.")
    yield from _unlisted(package)
    yield from _oxum(package)
    yield from _tags(package)


def _unlisted(package: PackageFacts) -> Iterator[Finding]:
    manifests = _payload(package)
    listed = {m.name: {line.path for line in m.lines} for m in manifests}
    for file in package.files:
        if not file.path.startswith("data/"):
            continue
        lacking = [name for name, paths in listed.items() if file.path not in paths]
        place = Place(file=printable(file.path))
        if manifests and len(lacking) == len(manifests):
            yield FILE_UNLISTED.at(place, f"it is in none of {', '.join(lacking)}.")
        elif lacking and package.bagit_version == "1.0":
            yield FILE_NOT_IN_EVERY.at(place, f"it is not in {', '.join(lacking)}.")


def _oxum(package: PackageFacts) -> Iterator[Finding]:
    payload = [file for file in package.files if file.path.startswith("data/")]
    found = (sum(file.octets for file in payload), len(payload))
    for line in package.bag_info:
        stated = line.value.strip()
        # One that is no Oxum at all is an observation of the reader.
        if line.label.lower() != "payload-oxum" or not _OXUM.fullmatch(stated):
            continue
        octets, _, count = stated.partition(".")
        if (int(octets), int(count)) != found:
            place = Place(file="bag-info.txt", line=line.line)
            shown = f"{found[0]}.{found[1]}"
            yield OXUM_DIFFERS.at(place, f"it states {stated}, found are {shown} (octets.files).")
            return


def _tags(package: PackageFacts) -> Iterator[Finding]:
    tags = [m for m in package.manifests if m.is_tag]
    if not tags:
        return
    listed = {line.path for manifest in tags for line in manifest.lines}
    for file in package.files:
        own = file.path.startswith("tagmanifest-") and "/" not in file.path
        if not own and not file.path.startswith("data/") and file.path not in listed:
            place = Place(file=printable(file.path))
            yield TAG_FILE_UNLISTED.at(place, "no tag manifest lists it.")
    for manifest in tags:
        paths = {line.path for line in manifest.lines}
        for other in _payload(package):
            if other.name not in paths:
                yield MANIFEST_UNLISTED.at(
                    Place(file=manifest.name), f"it does not list {other.name}."
                )


def _fixity(dossier: Dossier) -> Iterator[Finding]:
    package = package_of(dossier)
    manifests = _payload(package)
    if manifests and all(m.algorithm not in ALGORITHMS for m in manifests):
        names = ", ".join(m.name for m in manifests)
        yield NOT_VERIFIABLE.at(Place(file=manifests[0].name), f"there is only {names}.")
    files = {file.path: file for file in package.files}
    for file in package.files:
        if file.trouble:
            yield FILE_UNREADABLE.at(Place(file=printable(file.path)), f"{file.trouble}.")
    wrong: dict[str, list[str]] = {}
    for manifest in package.manifests:
        if manifest.algorithm not in ALGORITHMS:
            continue
        for line in manifest.lines:
            found = files.get(line.path)
            if found is not None and _differs(found, manifest, line.digest):
                wrong.setdefault(line.path, []).append(f"{manifest.name}:{line.line}")
    for path in sorted(wrong):
        text = f"its digest is not the one in {', '.join(wrong[path])}."
        yield DIGEST_DIFFERS.at(Place(file=printable(path)), text)


def _differs(file: FoundFile, manifest: Manifest, stated: str) -> bool:
    taken = file.digests.get(manifest.algorithm)
    return not file.trouble and taken != stated.lower()


RULES = (
    Rule(
        name="completeness",
        kinds=(
            FILE_MISSING,
            FILE_UNLISTED,
            FILE_NOT_IN_EVERY,
            OXUM_DIFFERS,
            TAG_FILE_UNLISTED,
            MANIFEST_UNLISTED,
        ),
        needs=frozenset({"structure", "manifests"}),
        run=_completeness,
        decides=True,
    ),
    Rule(
        name="fixity",
        kinds=(DIGEST_DIFFERS, FILE_UNREADABLE, NOT_VERIFIABLE),
        needs=frozenset({"structure", "manifests", "fixity"}),
        run=_fixity,
        decides=True,
    ),
)
