"""Fixity of a bag: RFC 8493 §3, every checksum in every manifest."""

from collections.abc import Iterator

from tailsout.ground.digests import ALGORITHMS
from tailsout.ground.findings import Finding, Kind, Place, Severity, Verdict
from tailsout.ground.units import printable
from tailsout.records.dossier import Dossier
from tailsout.records.facts import FoundFile, Manifest, PackageFacts
from tailsout.rules.rule import ASK_AGAIN, Rule, bounded, package_of, payload_manifests

_WEAK = frozenset({"md5", "sha1"})


DIGEST_DIFFERS = Kind(
    code="digest-differs",
    severity=Severity.MEND,
    title="A file is not what its manifest says",
    basis="RFC 8493 §3: every checksum in every manifest is verified",
    remedy=ASK_AGAIN,
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
    remedy="Look at the disk, the permissions and programs that write there; then check again.",
    leads_to=Verdict.NOT_EXAMINED,
)
ALGORITHM_WEAK = Kind(
    code="algorithm-weak",
    severity=Severity.NOTE,
    title="Only MD5 or SHA-1 protects the payload",
    basis="RFC 8493 §2.4: sha256 or sha512; md5 and sha1 are for older bags",
    remedy="Nothing to do: they show accidents; against tampering a stronger digest is needed.",
)


def _fixity(dossier: Dossier) -> Iterator[Finding]:
    package = package_of(dossier)
    manifests = payload_manifests(package)
    if manifests and all(m.algorithm not in ALGORITHMS for m in manifests):
        names = ", ".join(m.name for m in manifests)
        yield NOT_VERIFIABLE.at(Place(file=manifests[0].name), f"there is only {names}.")
    known = {m.algorithm for m in manifests if m.algorithm in ALGORITHMS}
    if known and known <= _WEAK:
        text = f"there is nothing but {' and '.join(sorted(known))}."
        yield ALGORITHM_WEAK.at(Place(file=manifests[0].name), text)
    yield from bounded(
        FILE_UNREADABLE.at(Place(file=printable(file.path)), file.trouble)
        for file in package.files
        if file.trouble
    )
    yield from bounded(_differing(package, _samples_hold(dossier)))


def _differing(package: PackageFacts, samples_hold: frozenset[str]) -> Iterator[Finding]:
    files = {file.path: file for file in package.files}
    known = [manifest for manifest in package.manifests if manifest.algorithm in ALGORITHMS]
    wrong: dict[str, list[str]] = {}
    for manifest in known:
        for line in manifest.lines:
            found = files.get(line.path)
            if found is not None and _differs(found, manifest, line.digest):
                wrong.setdefault(line.path, []).append(f"{manifest.name}:{line.line}")
    right: dict[str, list[str]] = {}
    for manifest in known if wrong else ():
        for line in manifest.lines:
            if line.path in wrong and not _differs(files[line.path], manifest, line.digest):
                right.setdefault(line.path, []).append(f"{manifest.name}:{line.line}")
    for path in sorted(wrong):
        text = f"its digest is not the one in {', '.join(wrong[path])}"
        if path in right:
            # Then it is the list that changed, or was made of another file.
            text += f"; it is the one in {', '.join(right[path])}"
        elif path in samples_hold:
            text += "; its samples have the SHA-256 that the side-car states"
        yield DIGEST_DIFFERS.at(Place(file=printable(path)), f"{text}.")


def _samples_hold(dossier: Dossier) -> frozenset[str]:
    """Return the audio files whose samples are those that their side-cars tell of."""
    return frozenset(
        file.path
        for file in dossier.files
        if file.essence_sha256
        and file.stated is not None
        and file.stated.measured.essence_sha256 == file.essence_sha256
    )


def _differs(file: FoundFile, manifest: Manifest, stated: str) -> bool:
    taken = file.digests.get(manifest.algorithm)
    return not file.trouble and taken != stated.lower()


RULES = (
    Rule(
        name="fixity",
        kinds=(DIGEST_DIFFERS, FILE_UNREADABLE, NOT_VERIFIABLE, ALGORITHM_WEAK),
        needs=frozenset({"structure", "manifests", "fixity"}),
        run=_fixity,
        decides=True,
    ),
)
