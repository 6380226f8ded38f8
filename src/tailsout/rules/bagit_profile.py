"""A bag against the BagIt Profile that was given (BagIt Profiles 1.3 and 1.4), key by key.

Whoever gives a profile wants it kept, so each breach must be mended. Every fault is told, not the
first of a key. What could not be seen of the bag (a tag file too large, a folder not entered) is
never called missing.
"""

import re
from collections.abc import Callable, Iterator

from tailsout.ground.findings import Finding, Place
from tailsout.ground.portable import composed
from tailsout.ground.units import printable
from tailsout.mapping.path_patterns import Patterns
from tailsout.mapping.profile_contradictions import OF_BAGIT, below_data
from tailsout.records.bagit_profile import BagItProfile
from tailsout.records.dossier import Dossier
from tailsout.records.facts import PackageFacts
from tailsout.rules.profile_labels import (
    LABEL_MISSING,
    LABEL_REPEATED,
    NOT_GIVEN,
    NOT_NAMED,
    VALUE_NOT_ALLOWED,
    breach,
    few,
    identifier,
    is_seen,
    labels,
    not_given,
)
from tailsout.rules.rule import Rule, bounded, package_of

_MANIFEST = re.compile(r"(tag)?manifest-([^/]+)\.txt", re.DOTALL)

MEDIA_TYPES: dict[str, frozenset[str]] = {
    "tar": frozenset({"application/tar", "application/x-tar"}),
    "tar.gz": frozenset(
        {
            "application/gzip",
            "application/tar+gzip",
            "application/x-compressed-tar",
            "application/x-gtar",
            "application/x-gzip",
            "application/x-tgz",
        }
    ),
    "tar.xz": frozenset({"application/x-xz", "application/x-xz-compressed-tar"}),
    "zip": frozenset({"application/x-zip-compressed", "application/zip"}),
}
"""Media types that people give to each form of archive; common practice, but for gzip and zip."""

MANIFEST_MISSING = breach(
    "manifest-missing",
    "A manifest that the BagIt Profile requires is not there",
    "`Manifests-Required`, `Tag-Manifests-Required`",
)
MANIFEST_NOT_ALLOWED = breach(
    "manifest-not-allowed",
    "There is a manifest that the BagIt Profile does not allow",
    "`Manifests-Allowed`, `Tag-Manifests-Allowed`",
)
FILE_MISSING = breach(
    "file-missing",
    "A file or folder that the BagIt Profile requires is not there",
    "`Tag-Files-Required`, `Payload-Files-Required`",
)
FILE_NOT_ALLOWED = breach(
    "file-not-allowed",
    "There is a file that the BagIt Profile does not allow",
    "`Tag-Files-Allowed`, `Payload-Files-Allowed`",
)
DATA_NOT_EMPTY = breach(
    "data-not-empty", "The payload is not empty, as the BagIt Profile wants it", "`Data-Empty`"
)
FETCH_NOT_ALLOWED = breach(
    "fetch-not-allowed",
    "There is a fetch.txt, which the BagIt Profile does not allow",
    "`Allow-Fetch.txt`",
)
FETCH_MISSING = breach(
    "fetch-missing",
    "There is no fetch.txt, which the BagIt Profile requires",
    "`Fetch.txt-Required`",
)
SERIALIZATION = breach(
    "serialization",
    "The bag does not come in the form that the BagIt Profile wants",
    "`Serialization`, `Accept-Serialization`",
    "If the sender gave it in another form, judge that; else ask the sender for the form wanted.",
)
VERSION_NOT_ACCEPTED = breach(
    "version-not-accepted",
    "The bag is of a version that the BagIt Profile does not accept",
    "`Accept-BagIt-Version`",
)


def _profile_of(dossier: Dossier) -> BagItProfile:
    if dossier.bagit_profile is None:
        raise ValueError("a BagIt Profile was examined, so there is one")
    return dossier.bagit_profile


def _judged(dossier: Dossier) -> Iterator[Finding]:
    package, profile = package_of(dossier), _profile_of(dossier)
    for part in _PARTS:
        yield from bounded(part(profile, package))


# Manifests


def _manifests(profile: BagItProfile, package: PackageFacts) -> Iterator[Finding]:
    matches = [_MANIFEST.fullmatch(file.path) for file in package.files]
    found = [(bool(m[1]), m[2]) for m in matches if m is not None]
    for is_tag, required, allowed in (
        (False, profile.manifests_required, profile.manifests_allowed),
        (True, profile.tag_manifests_required, profile.tag_manifests_allowed),
    ):
        stem = "tagmanifest" if is_tag else "manifest"
        present = [algorithm for of_tags, algorithm in found if of_tags is is_tag]
        for one in dict.fromkeys(required):
            name = f"{stem}-{printable(one)}.txt"
            if one not in present and is_seen(package, name):
                yield MANIFEST_MISSING.at(Place(file=name), "it is required and not there.")
        for one in present:
            if allowed is not None and one not in allowed:
                name = f"{stem}-{printable(one)}.txt"
                yield MANIFEST_NOT_ALLOWED.at(
                    Place(file=name), f"it is there; allowed: {few(allowed)}."
                )


# Files


def _tag_files(profile: BagItProfile, package: PackageFacts) -> Iterator[Finding]:
    paths = [file.path for file in package.files if not file.path.startswith("data/")]
    present = {composed(path) for path in paths}
    for one in dict.fromkeys(profile.tag_files_required):
        if composed(one) not in present and is_seen(package, one):
            yield FILE_MISSING.at(Place(file=printable(one)), "it is required and not there.")
    allowed = Patterns(profile.tag_files_allowed)
    for path in paths:
        if not OF_BAGIT.fullmatch(path) and not allowed.match(path):
            text = f"Tag-Files-Allowed has: {few(profile.tag_files_allowed)}."
            yield FILE_NOT_ALLOWED.at(Place(file=printable(path)), text)


def _payload_files(profile: BagItProfile, package: PackageFacts) -> Iterator[Finding]:
    # What is yet to be fetched counts as there: that it is lacking is told elsewhere.
    paths = [*(file.path for file in package.files), *package.holes]
    paths = [path for path in paths if path.startswith("data/")]
    present = {composed(path) for path in paths}
    present |= {f"{path[:end]}/" for path in present for end in _ends_of_folders(path)}
    for one in dict.fromkeys(profile.payload_files_required):
        spellings = {composed(f"data/{below_data(one)}"), composed(f"data/{one}")}
        if present.isdisjoint(spellings) and is_seen(package, f"data/{below_data(one)}"):
            what = "there is no file below it" if one.endswith("/") else "it is not there"
            place = Place(file=f"data/{printable(below_data(one))}")
            yield FILE_MISSING.at(place, f"it is required, and {what}.")
    allowed = Patterns(profile.payload_files_allowed)
    for path in paths:
        if not allowed.match(path) and not allowed.match(below_data(path)):
            text = f"Payload-Files-Allowed has: {few(profile.payload_files_allowed)}."
            yield FILE_NOT_ALLOWED.at(Place(file=printable(path)), text)


def _ends_of_folders(path: str) -> Iterator[int]:
    return (index for index, character in enumerate(path) if character == "/")


def _data_empty(profile: BagItProfile, package: PackageFacts) -> Iterator[Finding]:
    payload = [file for file in package.files if file.path.startswith("data/")]
    octets = sum(file.octets for file in payload)
    if profile.data_empty and (len(payload) > 1 or octets):
        text = f"it has {len(payload)} files of {octets} octets; one of none is the most."
        yield DATA_NOT_EMPTY.at(Place(file="data"), text)


def _fetch(profile: BagItProfile, package: PackageFacts) -> Iterator[Finding]:
    place = Place(file="fetch.txt")
    is_there = any(file.path == place.file for file in package.files)
    if is_there and not profile.allow_fetch:
        yield FETCH_NOT_ALLOWED.at(place, "the profile says that there may be none.")
    if not is_there and profile.fetch_required and is_seen(package, place.file):
        yield FETCH_MISSING.at(place, "it is required and not there.")


# The package as it came


def _version(profile: BagItProfile, package: PackageFacts) -> Iterator[Finding]:
    accepted, stated = profile.accept_bagit_version, package.bagit_version
    # A version that could not be read is told by the reader.
    if stated and accepted is not None and stated not in accepted:
        text = f"it is of version {printable(stated)}; accepted: {few(accepted)}."
        yield VERSION_NOT_ACCEPTED.at(Place(file="bagit.txt", line=1), text)


def _serialization(profile: BagItProfile, package: PackageFacts) -> Iterator[Finding]:
    wanted, taken = profile.serialization, profile.accept_serialization
    if package.archive is None:
        if wanted == "required":
            text = f"it is a folder; an archive is required: {few(taken)}."
            yield SERIALIZATION.at(Place(file=printable(package.name)), text)
        return
    form, place = package.archive.form, Place(file=printable(package.archive.name))
    if wanted == "forbidden":
        yield SERIALIZATION.at(place, f"it is an archive ({form}); a folder is required.")
    elif taken and MEDIA_TYPES[form].isdisjoint(one.lower() for one in taken):
        yield SERIALIZATION.at(place, f"it is an archive ({form}); accepted: {few(taken)}.")


_PARTS: tuple[Callable[[BagItProfile, PackageFacts], Iterator[Finding]], ...] = (
    _version,
    _serialization,
    identifier,
    labels,
    _manifests,
    _tag_files,
    _payload_files,
    _data_empty,
    _fetch,
)


def _not_given(dossier: Dossier) -> Iterator[Finding]:
    yield from bounded(not_given(dossier.bagit_profile, package_of(dossier)))


RULES = (
    Rule(
        name="BagIt Profile",
        kinds=(
            NOT_NAMED,
            LABEL_MISSING,
            LABEL_REPEATED,
            VALUE_NOT_ALLOWED,
            MANIFEST_MISSING,
            MANIFEST_NOT_ALLOWED,
            FILE_MISSING,
            FILE_NOT_ALLOWED,
            DATA_NOT_EMPTY,
            FETCH_NOT_ALLOWED,
            FETCH_MISSING,
            SERIALIZATION,
            VERSION_NOT_ACCEPTED,
        ),
        needs=frozenset({"structure", "bagit-profile"}),
        run=_judged,
    ),
    Rule(
        name="BagIt Profiles that the bag names",
        kinds=(NOT_GIVEN,),
        needs=frozenset({"structure"}),
        run=_not_given,
    ),
)
