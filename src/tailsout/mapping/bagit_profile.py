"""A BagIt Profile: JSON octets → record (BagIt Profiles 1.3 and 1.4; RFC 8259).

It comes from a file and from nowhere else: its identifier is a name here, not an address. A key
that is unknown, or newer than the version the profile declares, is told; the newer one is applied,
since whoever wrote it meant it.
"""

import re
from collections.abc import Iterator
from dataclasses import replace
from hashlib import sha256
from typing import Any

from tailsout.ground.findings import Finding, Kind, Place, Severity, Verdict
from tailsout.ground.units import printable
from tailsout.mapping import schemas, strict_json
from tailsout.mapping.profile_contradictions import IDENTIFIER, contradictions
from tailsout.mapping.schema_faults import Fault
from tailsout.records.bagit_profile import BagItProfile, LabelRule

SCHEMA_NAME = "bagit-profile-0.1"
NEWEST = (1, 4, 0)

_ASK = "Ask whoever keeps the profile for one that its specification allows."

NOT_JSON = Kind(
    code="bagit-profile-not-json",
    severity=Severity.MEND,
    title="A BagIt Profile cannot be read as JSON",
    basis="RFC 8259; UTF-8 (§8.1), unique names (§4), no NaN (§6)",
    remedy=_ASK,
)
UNFIT = Kind(
    code="bagit-profile-unfit",
    severity=Severity.MEND,
    title="A BagIt Profile is not of the shape that its specification gives",
    basis="BagIt Profiles 1.4: the keys and the types of their values",
    remedy=_ASK,
)
KEY_UNKNOWN = Kind(
    code="bagit-profile-key-unknown",
    severity=Severity.QUERY,
    title="A BagIt Profile has a key that its specification does not know",
    basis="BagIt Profiles 1.4: the keys; what is not understood is not judged",
    remedy="Ask whoever keeps the profile what the key asks of a bag; it was not held against any.",
)
KEY_NEWER = Kind(
    code="bagit-profile-key-newer",
    severity=Severity.QUERY,
    title="A BagIt Profile uses a key that is newer than the version it declares",
    basis="BagIt Profiles 1.4: `BagIt-Profile-Version`",
    remedy="Ask whoever keeps the profile whether the key counts; it was applied here.",
)
NEWER = Kind(
    code="bagit-profile-newer",
    severity=Severity.QUERY,
    title="A BagIt Profile declares a version that this program does not know",
    basis="own rule: what is not understood is not judged",
    remedy="Judge the package with a newer program; the keys known here were applied.",
    leads_to=Verdict.NOT_EXAMINED,
)
CONTRADICTORY = Kind(
    code="bagit-profile-contradictory",
    severity=Severity.QUERY,
    title="A BagIt Profile contradicts itself",
    basis="BagIt Profiles 1.4: what is required must be allowed",
    remedy="Ask whoever keeps the profile what is meant; every key was applied as it stands.",
)
DEPARTS = Kind(
    code="bagit-profile-departs",
    severity=Severity.NOTE,
    title="A BagIt Profile departs from its specification where that alters no judgement",
    basis="BagIt Profiles 1.4: what a profile holds",
    remedy="Nothing to do; whoever keeps the profile may want to know.",
)
KINDS = (NOT_JSON, UNFIT, KEY_UNKNOWN, KEY_NEWER, NEWER, CONTRADICTORY, DEPARTS)

_MOST_OF_PATTERNS = 100_000
"""Characters of all patterns of a key: matching them takes time and memory by their length."""
_SINCE = {
    "Tag-Files-Allowed": (1, 2, 0),
    "Manifests-Allowed": (1, 3, 0),
    "Tag-Manifests-Allowed": (1, 3, 0),
    "Fetch.txt-Required": (1, 4, 0),
    "Data-Empty": (1, 4, 0),
    "Payload-Files-Required": (1, 4, 0),
    "Payload-Files-Allowed": (1, 4, 0),
}
"""Keys younger than 1.1.0, the version of a profile that declares none."""
_DESCRIPTION_SINCE = (1, 3, 0)
_WANTED_OF_ITSELF = ("Source-Organization", "External-Description", "Version")


def read(content: bytes, name: str) -> tuple[BagItProfile | None, tuple[Finding, ...]]:
    """Read a profile from the file called `name`: the record, or why there is none.

    What was found in a profile that can be used stands in its record too.
    """
    try:
        data = strict_json.load(content)
    except strict_json.StrictJsonError as error:
        return None, (NOT_JSON.at(Place(file=name), f"{printable(str(error))}."),)
    faults = schemas.faults(data, SCHEMA_NAME)
    findings = tuple(_fault(one, name) for one in faults)
    if not all(one.is_strange_key for one in faults) or len(faults) >= schemas.MAX_FAULTS:
        return None, findings
    endless = tuple(_endless(data, name))
    if endless:
        return None, findings + endless
    findings += tuple(_of_versions(data, name))
    findings += tuple(_departures(data, name))
    profile = _convert(data)
    findings += tuple(
        CONTRADICTORY.at(Place(file=name, part=f"/{key}"), text)
        for key, text in contradictions(profile, data.keys())
    )
    return replace(profile, sha256=sha256(content).hexdigest(), reading=findings), findings


def _fault(fault: Fault, name: str) -> Finding:
    part = fault.pointer + (f"/{fault.key}" if fault.key else "")
    kind = KEY_UNKNOWN if fault.is_strange_key else UNFIT
    return kind.at(Place(file=name, part=printable(part, 200)), printable(str(fault)))


def _endless(data: dict[str, Any], name: str) -> Iterator[Finding]:
    for key in ("Tag-Files-Allowed", "Payload-Files-Allowed"):
        characters = sum(len(one) for one in data.get(key, ()) if "*" in one)
        if characters > _MOST_OF_PATTERNS:
            text = (
                f"its patterns have {characters} characters; allowed are at most "
                f"{_MOST_OF_PATTERNS}."
            )
            yield UNFIT.at(Place(file=name, part=f"/{key}"), text)


def _of_versions(data: dict[str, Any], name: str) -> Iterator[Finding]:
    declared = _version(data)
    shown = _dotted(declared)
    if declared > NEWEST:
        text = f"it declares {shown}; this program knows versions up to {_dotted(NEWEST)}."
        place = Place(file=name, part="/BagIt-Profile-Info/BagIt-Profile-Version")
        yield NEWER.at(place, text)
    for key, since in _SINCE.items():
        if key in data and declared < since:
            text = f"the key came with {_dotted(since)}; the profile declares {shown}."
            yield KEY_NEWER.at(Place(file=name, part=f"/{key}"), text)
    described = [label for label, rule in data.get("Bag-Info", {}).items() if "description" in rule]
    if described and declared < _DESCRIPTION_SINCE:
        text = (
            f"'description', here of {len(described)} labels, came with "
            f"{_dotted(_DESCRIPTION_SINCE)}; the profile declares {shown}."
        )
        yield KEY_NEWER.at(Place(file=name, part="/Bag-Info"), text)


def _departures(data: dict[str, Any], name: str) -> Iterator[Finding]:
    info = data["BagIt-Profile-Info"]
    for key in _WANTED_OF_ITSELF:
        if not info.get(key):
            text = f"it lacks {key}, which every profile has."
            yield DEPARTS.at(Place(file=name, part="/BagIt-Profile-Info"), text)
    if "Accept-BagIt-Version" not in data:
        text = "Accept-BagIt-Version is not there; any version of BagIt is taken."
        yield DEPARTS.at(Place(file=name), text)
    if data.get("Serialization") == "optional" and not data.get("Accept-Serialization"):
        text = "Accept-Serialization lists no media type; any archive is taken."
        yield DEPARTS.at(Place(file=name, part="/Serialization"), text)
    if IDENTIFIER in data.get("Bag-Info", {}):
        text = f"it asks for {IDENTIFIER}, which every bag that names a profile has."
        yield DEPARTS.at(Place(file=name, part=f"/Bag-Info/{IDENTIFIER}"), text)


def _version(data: dict[str, Any]) -> tuple[int, ...]:
    """Return the version of the specification that a profile declares, in three numbers."""
    stated = data["BagIt-Profile-Info"].get("BagIt-Profile-Version", "1.1.0")
    numbers = [int(part) for part in stated.split(".")]
    return tuple((*numbers, 0)[:3])


def _dotted(version: tuple[int, ...]) -> str:
    return ".".join(str(part) for part in version)


def _convert(data: dict[str, Any]) -> BagItProfile:
    """Make the record of what the schema has passed, but for keys that it does not know."""

    def listed(key: str) -> tuple[str, ...]:
        return tuple(data.get(key, ()))

    def tokens(key: str) -> tuple[str, ...]:
        return tuple(_token(one) for one in data.get(key, ()))

    return BagItProfile(
        identifier=data["BagIt-Profile-Info"][IDENTIFIER],
        specification=_dotted(_version(data)),
        labels=tuple(_label(label, rule) for label, rule in data.get("Bag-Info", {}).items()),
        manifests_required=tokens("Manifests-Required"),
        manifests_allowed=tokens("Manifests-Allowed") if "Manifests-Allowed" in data else None,
        tag_manifests_required=tokens("Tag-Manifests-Required"),
        tag_manifests_allowed=(
            tokens("Tag-Manifests-Allowed") if "Tag-Manifests-Allowed" in data else None
        ),
        tag_files_required=listed("Tag-Files-Required"),
        tag_files_allowed=tuple(data.get("Tag-Files-Allowed", ("*",))),
        payload_files_required=listed("Payload-Files-Required"),
        payload_files_allowed=tuple(data.get("Payload-Files-Allowed", ("*",))),
        data_empty=data.get("Data-Empty", False),
        allow_fetch=data.get("Allow-Fetch.txt", True),
        fetch_required=data.get("Fetch.txt-Required", False),
        serialization=data.get("Serialization", "optional"),
        accept_serialization=listed("Accept-Serialization"),
        accept_bagit_version=(
            listed("Accept-BagIt-Version") if "Accept-BagIt-Version" in data else None
        ),
    )


def _label(label: str, rule: dict[str, Any]) -> LabelRule:
    return LabelRule(
        label=label,
        required=rule.get("required", False),
        values=tuple(rule.get("values", ())),
        repeatable=rule.get("repeatable", True),
    )


def _token(algorithm: str) -> str:
    """Return an algorithm as names of manifests have it (RFC 8493 §2.4): SHA-256 is sha256."""
    return re.sub(r"[^a-z0-9]", "", algorithm.lower()) or algorithm
