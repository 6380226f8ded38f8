"""Each side-car against the audio file it lies beside."""

from collections.abc import Iterator
from hashlib import sha256

from tailsout.ground.findings import Finding, Kind, Place, Severity
from tailsout.ground.units import printable
from tailsout.mapping import masters, sidecar
from tailsout.mapping.plain import canonical
from tailsout.records.dossier import Dossier, FileRecord
from tailsout.records.transfer import ThisFile
from tailsout.rules import copies
from tailsout.rules.rule import Rule

SIDECAR_MISSING = Kind(
    code="sidecar-missing",
    severity=Severity.NOTE,
    title="An audio file has no side-car of ours beside it",
    basis="own rule: a package made in another way is not thereby broken",
    remedy="Nothing to do; what the file and the bag say of themselves was judged.",
)
SIDECAR_LOST = Kind(
    code="sidecar-lost",
    severity=Severity.MEND,
    title="A master of a package of ours has no side-car of ours beside it",
    basis="own rule: every master has its side-car, and each tells of all captures",
    remedy="Ask the sender for the package again.",
)
SIDECARS_DISAGREE = Kind(
    code="sidecars-disagree",
    severity=Severity.MEND,
    title="Two side-cars of one package tell different histories",
    basis="own rule: all side-cars of a package are made from one transfer (RFC 8785 digests)",
    remedy="Ask the sender which of them is right, and for the package again.",
)
SIDECAR_DIFFERS = Kind(
    code="sidecar-audio-differs",
    severity=Severity.MEND,
    title="A side-car does not describe the audio beside it",
    basis="own rule: format, length, place and digests are facts of the file",
    remedy="Ask the sender which of the two is right, and for the package again.",
)
ESSENCE_DIFFERS = Kind(
    code="essence-differs",
    severity=Severity.MEND,
    title="The samples are not those that were measured when the package was made",
    basis="own rule: SHA-256 of the data payload is kept in the side-car",
    remedy="Ask the sender for the package again.",
)


CALIBRATION_DIFFERS = Kind(
    code="calibration-capture-differs",
    severity=Severity.MEND,
    title="A capture of a calibration tape or of the chain at rest is not the one that was read",
    basis="own rule: what was read of it rests on its digest, which the side-car keeps",
    remedy="Ask the sender for the package again.",
)


def _bench(dossier: Dossier) -> Iterator[Finding]:
    """Hold what the side-cars tell of captures beside the masters against what lies there."""
    files = {file.path for file in dossier.package.files} if dossier.package else set()
    for path, digest in _told_of(dossier):
        listed = _listed(dossier, path).get("sha256", digest)
        place = Place(file=printable(path))
        if path not in files:
            yield CALIBRATION_DIFFERS.at(place, "the side-cars tell of it, and it is not there.")
        elif listed != digest:
            text = "the manifests list another sha256 for it than the side-cars."
            yield CALIBRATION_DIFFERS.at(place, text)


def _told_of(dossier: Dossier) -> Iterator[tuple[str, str]]:
    """Yield path and SHA-256 of each capture beside the masters that this package holds."""
    for tones in dossier.calibrations:
        if tones.path is not None:
            yield tones.path, tones.sha256
    for rest in dossier.at_rest:
        yield rest.path, rest.sha256


def _beside(dossier: Dossier) -> Iterator[Finding]:
    told = {path for path, _ in _told_of(dossier)}
    told |= {copy.path for _, _, _, copy in copies.told_of(dossier)}
    unread = {finding.place.file for finding in dossier.reading if finding.kind in sidecar.KINDS}
    for file in dossier.files:
        # One that is there and cannot be read is told by its own finding.
        if file.sidecar is not None or _json_name(file.path) in unread or file.path in told:
            continue
        place = Place(file=printable(file.path))
        if masters.is_master(dossier.transfer, file.path):
            yield SIDECAR_LOST.at(place, "another side-car tells of it, and its own is not there.")
        else:
            yield SIDECAR_MISSING.at(place, "no side-car describes it.")


def _audio(dossier: Dossier) -> Iterator[Finding]:
    for file in dossier.files:
        if file.sidecar is None:
            continue
        stated = file.stated
        beside = Place(file=_json_name(file.path))
        if stated is None:
            yield SIDECAR_DIFFERS.at(beside, "it says nothing of the audio file beside it.")
            continue
        for pointer, said, is_so in _pairs(file, stated):
            if said != is_so:
                place = Place(file=beside.file, part=f"/this_file/{pointer}")
                yield SIDECAR_DIFFERS.at(place, f"it states {said}, the file has {is_so}.")
        yield from _digests(dossier, file, stated)


def _twins(dossier: Dossier) -> Iterator[Finding]:
    """Compare what all side-cars have in common by the digests of their canonical forms."""
    first = None
    for file in dossier.files:
        if file.sidecar is None:
            continue
        told = file.sidecar
        shared = {
            "transfer": told.transfer,
            "calibrations": told.calibrations,
            "at_rest": told.at_rest,
        }
        digests = {key: sha256(canonical(one)).hexdigest() for key, one in shared.items()}
        if first is None:
            first = (file.path, digests)
            continue
        for key, digest in digests.items():
            if digest != first[1][key]:
                place = Place(file=_json_name(file.path), part=f"/{key}")
                text = f"it tells another history than {_json_name(first[0])}."
                yield SIDECARS_DISAGREE.at(place, text)


def _json_name(path: str) -> str:
    return printable(path.rpartition(".")[0] + ".json")


def _pairs(file: FileRecord, stated: ThisFile) -> Iterator[tuple[str, object, object]]:
    yield "path", printable(stated.path), printable(file.path)
    yield "octets", stated.octets, file.octets
    yield "measured/frames", stated.measured.frames, file.frames
    if file.pcm is not None:
        yield "pcm/sample_rate_hz", stated.pcm.sample_rate_hz, file.pcm.sample_rate_hz
        yield "pcm/channels", stated.pcm.channels, file.pcm.channels
        yield "pcm/valid_bits", stated.pcm.valid_bits, file.pcm.valid_bits
        yield "pcm/is_float", stated.pcm.is_float, file.pcm.is_float


def _digests(dossier: Dossier, file: FileRecord, stated: ThisFile) -> Iterator[Finding]:
    """Hold the side-car's digests against the manifests'; fixity tells whether the file fits."""
    listed = _listed(dossier, file.path)
    wrong = [
        algorithm
        for algorithm, said in (("sha256", stated.sha256), ("sha512", stated.sha512))
        if listed.get(algorithm, said) != said
    ]
    if wrong:
        place = Place(file=_json_name(file.path), part="/this_file")
        yield SIDECAR_DIFFERS.at(
            place,
            f"the manifests list another {' and '.join(wrong)} for {printable(file.path)}.",
        )
    if file.essence_sha256 and file.essence_sha256 != stated.measured.essence_sha256:
        text = "the SHA-256 of its samples is not the one in the side-car."
        yield ESSENCE_DIFFERS.at(Place(file=printable(file.path), part="data"), text)


def _listed(dossier: Dossier, path: str) -> dict[str, str]:
    manifests = dossier.package.manifests if dossier.package else ()
    return {
        manifest.algorithm: line.digest.lower()
        for manifest in manifests
        for line in manifest.lines
        if line.path == path
    }


def _schema(dossier: Dossier) -> Iterator[Finding]:
    return (finding for finding in dossier.reading if finding.kind in sidecar.KINDS)


RULES = (
    Rule(
        name="side-cars against each other",
        kinds=(SIDECARS_DISAGREE,),
        needs=frozenset({"side-cars"}),
        run=_twins,
    ),
    Rule(
        name="side-car schema",
        kinds=sidecar.KINDS,
        needs=frozenset({"side-cars"}),
        run=_schema,
    ),
    Rule(
        name="side-cars present",
        kinds=(SIDECAR_MISSING, SIDECAR_LOST),
        needs=frozenset({"structure", "headers"}),
        run=_beside,
    ),
    Rule(
        name="captures of calibration tapes and of the chain at rest",
        kinds=(CALIBRATION_DIFFERS,),
        needs=frozenset({"side-cars", "structure"}),
        run=_bench,
    ),
    Rule(
        name="side-cars against audio",
        kinds=(SIDECAR_DIFFERS, ESSENCE_DIFFERS),
        needs=frozenset({"side-cars", "headers", "essence"}),
        run=_audio,
    ),
)
