"""Descriptions in somebody's standard: within themselves, and against the package they lie in."""

from collections.abc import Iterator, Mapping

from tailsout.ground.digests import ALGORITHMS
from tailsout.ground.findings import Finding, Kind, Place, Severity
from tailsout.ground.units import printable
from tailsout.records.description import Description
from tailsout.records.dossier import Dossier
from tailsout.rules.rule import Rule, bounded, package_of, payload_manifests

_ASK = "Whoever made the description can say what was meant; the manifests stand for the files."

REFERENCE_LOOSE = Kind(
    code="description-reference-loose",
    severity=Severity.QUERY,
    title="A reference within a description leads to nothing in it",
    basis="XML 1.0 §3.3.1 for IDREFS of METS; PREMIS 3.0, linking and related identifiers",
    remedy=_ASK,
)
ADDRESS_OUTSIDE = Kind(
    code="description-address-outside",
    severity=Severity.QUERY,
    title="An address in a description leads out of the package",
    basis="own rule: a relative address (RFC 3986 §4.2) leads to a file of the same package",
    remedy="Ask the sender which file is meant; nothing outside of the package is opened.",
)
NO_DATE = Kind(
    code="description-date",
    severity=Severity.QUERY,
    title="A date in a description is not a date of EDTF",
    basis="own rule: PREMIS 3.0 asks for EDTF dates (ISO 8601-2), and its schema accepts any text",
    remedy=_ASK,
)
OUT_OF_ORDER = Kind(
    code="description-events-out-of-order",
    severity=Severity.QUERY,
    title="A file was packed, or its digest taken, before it was made",
    basis="own rule: what is packed was there before",
    remedy=_ASK,
)
DIGEST_FORM = Kind(
    code="description-digest-form",
    severity=Severity.QUERY,
    title="A digest in a description does not have the form of its algorithm",
    basis="own rule: a digest is written in as many hexadecimal figures as its algorithm gives",
    remedy=_ASK,
)
DIGEST_DIFFERS = Kind(
    code="description-digest-differs",
    severity=Severity.MEND,
    title="A description and the manifest state different digests of a file",
    basis="RFC 8493 §2.1.3; METS 1.12.1, CHECKSUM, and PREMIS 3.0, messageDigest, are of the file",
    remedy="Ask the sender for the package again: one of the two is of another file.",
)
SIZE_DIFFERS = Kind(
    code="description-size-differs",
    severity=Severity.MEND,
    title="A description states a size that the file does not have",
    basis="own rule: SIZE of METS and size of PREMIS are the octets of the file that is here",
    remedy="Ask the sender for the package again: the description is of another file.",
)
FILE_MISSING = Kind(
    code="description-file-missing",
    severity=Severity.QUERY,
    title="A description names a file that is not in the package",
    basis="own rule: a relative address leads to a file of the same package",
    remedy="Ask the sender whether the file was left out.",
)
FILE_UNTOLD = Kind(
    code="description-file-untold",
    severity=Severity.NOTE,
    title="A file section leaves out files of the payload",
    basis="common practice, no source: a METS file section lists what the package holds",
    remedy="Nothing to do; the manifests list every file.",
)

SCHEMA_DEPARTS = Kind(
    code="description-schema",
    severity=Severity.QUERY,
    title="A description departs from its official schema",
    basis="own rule: a document keeps the schema that its standard publishes",
    remedy=_ASK,
)
NO_SCHEMA = Kind(
    code="description-without-schema",
    severity=Severity.NOTE,
    title="There was no official schema at hand for a description",
    basis="our limit: schemas are taken from the folder that is named, and never fetched",
    remedy="Put the schema into that folder to have the description held to it.",
)

_AFTER_MAKING = frozenset({"message digest calculation", "packaging", "ingestion"})


def _within(dossier: Dossier) -> Iterator[Finding]:
    for one in dossier.descriptions:
        yield from bounded(_loose(one))
        yield from bounded(_outside(one))
        yield from bounded(_dates(one))
        yield from _order(one)


def _by_schema(dossier: Dossier) -> Iterator[Finding]:
    for one in dossier.descriptions:
        if one.departures is None:
            yield NO_SCHEMA.at(_at(one, 0), f"it is {' and '.join(one.standards)}.")
        for departure in one.departures or ():
            text = f"{departure.text.rstrip('.')}."
            yield SCHEMA_DEPARTS.at(_at(one, departure.line), text)


def _at(one: Description, line: int) -> Place:
    return Place(file=printable(one.path), line=line or None)


def _loose(one: Description) -> Iterator[Finding]:
    for loose in one.loose:
        text = f"{loose.kind} leads to {printable(loose.to, 100)!r}, which is not there."
        yield REFERENCE_LOOSE.at(_at(one, loose.line), text)


def _outside(one: Description) -> Iterator[Finding]:
    for loose in one.outside:
        text = f"{loose.kind} leads to {printable(loose.to, 100)!r}, which lies in no package."
        yield ADDRESS_OUTSIDE.at(_at(one, loose.line), text)


def _dates(one: Description) -> Iterator[Finding]:
    for date in one.dates:
        if not date.is_edtf:
            text = f"{printable(date.when, 60)!r} is not a date that EDTF knows."
            yield NO_DATE.at(_at(one, date.line), text)


def _order(one: Description) -> Iterator[Finding]:
    days = [(date.of, date.when[:10], date.line) for date in one.dates if _is_day(date.when)]
    made = [day for of, day, _ in days if of == "creation"]
    for of, day, line in days:
        if of in _AFTER_MAKING and made and day < min(made):
            text = f"{of} on {day} lies before the first creation on {min(made)}."
            yield OUT_OF_ORDER.at(_at(one, line), text)


def _is_day(when: str) -> bool:
    """Tell whether a date begins with a whole day, so that it can be compared as text."""
    year, *rest = when[:10].split("-")
    return len(year) == 4 and len(rest) == 2 and all(p.isdecimal() for p in (year, *rest))


def _against(dossier: Dossier) -> Iterator[Finding]:
    package = package_of(dossier)
    sizes = {file.path: file.octets for file in package.files}
    listed: dict[str, dict[str, str]] = {}
    for manifest in payload_manifests(package):
        for line in manifest.lines:
            listed.setdefault(line.path, {})[manifest.algorithm] = line.digest.lower()
    # A file that is not what its manifest says has been told already.
    changed = {
        file.path
        for file in package.files
        for algorithm, digest in file.digests.items()
        if listed.get(file.path, {}).get(algorithm, digest) != digest
    }
    for one in dossier.descriptions:
        yield from bounded(_files(one, sizes, listed, set(package.holes), changed))
        told = {file.path for file in one.files}
        untold = sorted(path for path in sizes if path.startswith("data/") and path not in told)
        if one.lists_payload and told and untold:
            more = f" and {len(untold) - 1} more" if len(untold) > 1 else ""
            text = f"it does not tell of {printable(untold[0], 200)}{more}."
            yield FILE_UNTOLD.at(_at(one, 0), text)


def _files(
    one: Description,
    sizes: Mapping[str, int],
    listed: Mapping[str, Mapping[str, str]],
    holes: set[str],
    changed: set[str],
) -> Iterator[Finding]:
    for file in one.files:
        place, name = _at(one, file.line), printable(file.path, 200)
        octets = sizes.get(file.path)
        if octets is None:
            # What a manifest lists or is to be fetched is told elsewhere.
            if file.path not in holes and file.path not in listed:
                yield FILE_MISSING.at(place, f"it tells of {name}.")
            continue
        if file.octets not in {None, octets} and file.path not in changed:
            text = f"{name} has {octets} octets, and {file.octets} are stated."
            yield SIZE_DIFFERS.at(place, text)
        for stated, digest in file.digests:
            algorithm = stated.lower().replace("-", "").strip()
            length = ALGORITHMS.get(algorithm)
            if length is None:
                continue
            if len(digest) != length or any(c not in "0123456789abcdefABCDEF" for c in digest):
                text = f"the {algorithm} of {name} is not {length} hexadecimal figures."
                yield DIGEST_FORM.at(place, text)
            elif digest.lower() != listed.get(file.path, {}).get(algorithm, digest.lower()):
                text = f"the {algorithm} of {name} is not the one in the manifest."
                yield DIGEST_DIFFERS.at(place, text)


RULES = (
    Rule(
        name="descriptions by their official schemas",
        kinds=(SCHEMA_DEPARTS, NO_SCHEMA),
        needs=frozenset({"descriptions", "official-schemas"}),
        run=lambda dossier: bounded(_by_schema(dossier)),
    ),
    Rule(
        name="descriptions within themselves",
        kinds=(REFERENCE_LOOSE, ADDRESS_OUTSIDE, NO_DATE, OUT_OF_ORDER),
        needs=frozenset({"descriptions"}),
        run=_within,
    ),
    Rule(
        name="descriptions against files and manifests",
        kinds=(DIGEST_FORM, DIGEST_DIFFERS, SIZE_DIFFERS, FILE_MISSING, FILE_UNTOLD),
        needs=frozenset({"descriptions", "structure", "manifests"}),
        run=_against,
    ),
)
