"""The side-car: JSON octets ⇄ records, by its schema (RFC 8259; JSON Schema 2020-12)."""

import re
from typing import Any

from tailsout.ground.findings import Finding, Kind, Place, Severity, Verdict
from tailsout.ground.units import printable
from tailsout.mapping import schemas, strict_json
from tailsout.mapping.plain import json_page, plain, record
from tailsout.mapping.schema_faults import Fault
from tailsout.records.transfer import SideCar

SCHEMA_NAME = "sidecar-0.1"
SCHEMA = schemas.urn(SCHEMA_NAME)

SIDECAR_NOT_JSON = Kind(
    code="sidecar-not-json",
    severity=Severity.MEND,
    title="A side-car cannot be read as JSON",
    basis="RFC 8259; UTF-8 (§8.1), unique names (§4), no NaN (§6)",
    remedy="Ask the sender for the package again.",
)
SIDECAR_SCHEMA = Kind(
    code="sidecar-schema",
    severity=Severity.MEND,
    title="A side-car departs from its schema",
    basis="JSON Schema named by the side-car, in metadata/schemas",
    remedy="Ask the sender for a package with a side-car that its schema allows.",
)
SIDECAR_NEWER = Kind(
    code="sidecar-newer",
    severity=Severity.QUERY,
    title="A side-car is of a version that this program does not know",
    basis="own rule: what is not understood is not judged",
    remedy="Read it with a newer program, or with the schema that travels in the package.",
    leads_to=Verdict.NOT_EXAMINED,
)
SIDECAR_TOO_LARGE = Kind(
    code="sidecar-too-large",
    severity=Severity.QUERY,
    title="A side-car is larger than this program reads",
    basis="our limit: a side-car holds kilobytes, not megabytes",
    remedy="What lies beyond the limit was not judged; nothing is said about it either way.",
    leads_to=Verdict.NOT_EXAMINED,
)
KINDS = (SIDECAR_NOT_JSON, SIDECAR_SCHEMA, SIDECAR_NEWER, SIDECAR_TOO_LARGE)

# In another encoding it is ours none the less, and told to be no JSON (RFC 8259 §8.1).
_NAMES = tuple(
    schemas.URN.encode(encoding)
    for encoding in ("utf-8", "utf-16-le", "utf-16-be", "utf-32-le", "utf-32-be")
)
_OURS = re.compile(r"urn:tailsout:schema:sidecar:([0-9]{1,4})\.([0-9]{1,4})", re.ASCII)


def write(sidecar: SideCar) -> bytes:
    """Return the octets of a side-car."""
    return json_page(plain(sidecar))


def read(content: bytes, name: str) -> tuple[SideCar | None, tuple[Finding, ...]]:
    """Read a side-car from the file called `name`: the record, or why there is none.

    A file that names no schema of ours is somebody else's: neither record nor finding.
    """
    if not any(name_of_ours in content for name_of_ours in _NAMES):
        return None, ()
    if len(content) > strict_json.MAX_JSON_OCTETS:
        text = f"it holds more than {strict_json.MAX_JSON_OCTETS >> 20} MiB."
        return None, (SIDECAR_TOO_LARGE.at(Place(file=name), text),)
    try:
        data = strict_json.load(content)
    except strict_json.StrictJsonError as error:
        return None, (SIDECAR_NOT_JSON.at(Place(file=name), f"{printable(str(error))}."),)
    return _taken(data, name)


def _taken(data: Any, name: str) -> tuple[SideCar | None, tuple[Finding, ...]]:  # noqa: ANN401  any JSON
    stated = data.get("schema") if isinstance(data, dict) else None
    version = _OURS.fullmatch(stated) if isinstance(stated, str) else None
    if version is None:
        return None, ()
    if stated != SCHEMA:
        text = f"it names {stated}; this program knows {SCHEMA}."
        finding = SIDECAR_NEWER.at(Place(file=name, part="/schema"), text)
        return _known_part(data, version.groups()), (finding,)
    faults = schemas.faults(data, SCHEMA_NAME)
    if faults:
        return None, tuple(_finding(fault, name) for fault in faults)
    return _convert(data), ()


def _known_part(data: Any, version: tuple[str, ...]) -> SideCar | None:  # noqa: ANN401  any JSON
    """Read what is known of a side-car of a newer minor version; None of another major one."""
    major, minor = (int(part) for part in version)
    own_major, own_minor = (int(part) for part in SCHEMA.rpartition(":")[2].split("."))
    if major != own_major or minor < own_minor:
        return None
    known = {**data, "schema": SCHEMA}
    faults = schemas.faults(known, SCHEMA_NAME)
    if not all(fault.is_strange_key for fault in faults):
        return None
    for fault in faults:
        inside: Any = known
        for part in fault.pointer.split("/")[1:]:
            inside = inside[int(part)] if isinstance(inside, list) else inside[part]
        inside.pop(fault.key)
    # Once only: a stranger may have filled in more keys than are looked at in one go.
    return None if schemas.faults(known, SCHEMA_NAME) else _convert(known)


def _finding(fault: Fault, name: str) -> Finding:
    part = fault.pointer + (f"/{fault.key}" if fault.key else "")
    return SIDECAR_SCHEMA.at(Place(file=name, part=printable(part, 200)), printable(str(fault)))


def _convert(data: Any) -> SideCar:  # noqa: ANN401  JSON that its schema has passed
    return record(data, SideCar)
