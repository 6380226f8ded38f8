"""What the side-cars tell of access copies against what lies there."""

from collections.abc import Iterator, Mapping
from fractions import Fraction

from tailsout.ground.findings import Finding, Kind, Place, Severity
from tailsout.ground.units import printable
from tailsout.mapping import naming
from tailsout.records.access import AccessCopy
from tailsout.records.dossier import Dossier, FileRecord
from tailsout.records.transfer import ThisFile
from tailsout.rules.rule import Rule, package_of

COPY_MISSING = Kind(
    code="copy-missing",
    severity=Severity.MEND,
    title="An access copy that a side-car names is not there",
    basis="own rule: what was made from a master is listed beside it",
    remedy="Ask the sender for the package again, or for one amended without that copy.",
)
COPY_DIFFERS = Kind(
    code="copy-differs",
    severity=Severity.MEND,
    title="An access copy is not the one that the side-car describes",
    basis="own rule: format, length and digests are facts of the file",
    remedy="Ask the sender which of the two is right, and for the package again.",
)
COPY_LENGTH = Kind(
    code="copy-length-differs",
    severity=Severity.MEND,
    title="An access copy does not last as long as what it is said to be made from",
    basis="own rule: a copy lasts as long as its stretch of the master, within a sample; other "
    "lengths are told by a correction of speed",
    remedy="Ask the sender for the copy to be made again.",
)


def told_of(dossier: Dossier) -> Iterator[tuple[FileRecord, ThisFile, int, AccessCopy]]:
    """Yield every copy that a side-car tells of, with its master and its number there."""
    for file in dossier.files:
        if file.stated is not None:
            for number, copy in enumerate(file.stated.copies):
                yield file, file.stated, number, copy


def _copies(dossier: Dossier) -> Iterator[Finding]:
    package = package_of(dossier)
    octets = {file.path: file.octets for file in package.files}
    audio = {file.path: file for file in dossier.files}
    listed: dict[str, dict[str, str]] = {}
    for manifest in package.manifests:
        for line in manifest.lines if not manifest.is_tag else ():
            listed.setdefault(line.path, {})[manifest.algorithm] = line.digest.lower()
    for file, stated, number, copy in told_of(dossier):
        car = printable(naming.sidecar_path(file.path))
        place = Place(file=car, part=f"/this_file/copies/{number}")
        if copy.path not in octets:
            yield COPY_MISSING.at(place, f"{printable(copy.path)!r} is not there.")
            continue
        for text in _differences(
            copy, octets[copy.path], listed.get(copy.path, {}), audio.get(copy.path)
        ):
            yield COPY_DIFFERS.at(place, f"{printable(copy.path)}: {text}")
        yield from _length(stated, copy, place)


def _differences(
    copy: AccessCopy, octets: int, listed: Mapping[str, str], audio: FileRecord | None
) -> Iterator[str]:
    if octets != copy.octets:
        yield f"{copy.octets} octets are stated, it has {octets}."
    for algorithm, said in (("sha256", copy.sha256), ("sha512", copy.sha512)):
        if listed.get(algorithm, said) != said:
            yield f"the manifests list another {algorithm} for it."
    if audio is None or audio.pcm is None:
        return
    is_so = (audio.frames, audio.pcm.sample_rate_hz, audio.pcm.channels)
    if is_so != (copy.frames, copy.sample_rate_hz, copy.channels):
        yield (
            f"{copy.frames} samples of {copy.channels} channels at {copy.sample_rate_hz} Hz are "
            f"stated, it has {is_so[0]} of {is_so[2]} at {is_so[1]} Hz."
        )


def _length(stated: ThisFile, copy: AccessCopy, place: Place) -> Iterator[Finding]:
    frames = stated.measured.frames
    if not copy.start < copy.end <= frames:
        text = f"samples {copy.start} to {copy.end} are stated, the master has {frames}."
        yield COPY_LENGTH.at(place, text)
    elif all(one.step != "speed correction" for one in copy.steps):
        lasts = Fraction(copy.end - copy.start, max(1, stated.pcm.sample_rate_hz))
        if abs(lasts * copy.sample_rate_hz - copy.frames) > 1:
            text = f"{copy.frames} samples are stated, {float(lasts * copy.sample_rate_hz):.1f} "
            yield COPY_LENGTH.at(place, f"{text}would last as long as the master's stretch.")


RULES = (
    Rule(
        name="access copies",
        kinds=(COPY_MISSING, COPY_DIFFERS, COPY_LENGTH),
        needs=frozenset({"side-cars", "structure"}),
        run=_copies,
    ),
)
