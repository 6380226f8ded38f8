"""metadata/amendments.json, the package's own list of its corrections: JSON octets ⇄ records."""

from collections.abc import Iterable

from tailsout.ground.findings import Finding, Kind, Place, Severity
from tailsout.ground.units import printable
from tailsout.mapping import schemas, strict_json
from tailsout.mapping.plain import json_page, plain, record
from tailsout.records.amendment import Amendment

SCHEMA_NAME = "amendments-0.1"
SCHEMA = schemas.urn(SCHEMA_NAME)

AMENDMENTS_UNREADABLE = Kind(
    code="amendments-unreadable",
    severity=Severity.MEND,
    title="The list of a package's amendments cannot be read",
    basis="JSON Schema of the list, in metadata/schemas; RFC 8259",
    remedy="Ask the sender for the package again.",
)
KINDS = (AMENDMENTS_UNREADABLE,)


def write(amendments: Iterable[Amendment]) -> bytes:
    """Return the octets of the list."""
    return json_page({"schema": SCHEMA, "amendments": [plain(one) for one in amendments]})


def read(content: bytes, name: str) -> tuple[tuple[Amendment, ...] | None, tuple[Finding, ...]]:
    """Read the list from the file called `name`: the records, or why there are none.

    A file that names no schema of ours is somebody else's: neither records nor finding.
    """
    if schemas.URN.encode() not in content:
        return None, ()
    try:
        data = strict_json.load(content)
    except strict_json.StrictJsonError as error:
        return None, (AMENDMENTS_UNREADABLE.at(Place(file=name), f"{printable(str(error))}."),)
    faults = schemas.faults(data, SCHEMA_NAME)
    if faults:
        return None, tuple(
            AMENDMENTS_UNREADABLE.at(
                Place(file=name, part=printable(fault.pointer, 200)), printable(str(fault))
            )
            for fault in faults
        )
    return tuple(record(one, Amendment) for one in data["amendments"]), ()
