"""The lists of a receipt and of what follows it: CSV and JSON; and an earlier one, read again."""

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from tailsout.ground.errors import MaterialError
from tailsout.ground.units import printable
from tailsout.mapping import csv_rows, schemas, strict_json
from tailsout.mapping.plain import json_page, plain
from tailsout.records.arrival import (
    Arrival,
    FindingRow,
    Judged,
    Judging,
    Sample,
    Stretch,
    Systematic,
)

ARRIVAL = schemas.urn("arrival-0.1")
RECEPTION = schemas.urn("reception-0.1")
_BETWEEN = "; "
_STRETCH = (
    *("package", "path", "position", "start", "end", "start_sample", "end_sample"),
    *("why", "regions", "condition", "treatment", "notes"),
)


def arrived(arrival: Arrival) -> bytes:
    """Return the receipt as a table: a row a package, what lies beside them, what differs."""
    packages = (
        (
            "received",
            one.package,
            one.files,
            one.octets,
            _BETWEEN.join(f"{name} {digest}" for name, digest in one.tag_manifests.items()),
            "came before" if one.came_before else "",
        )
        for one in arrival.packages
    )
    beside = (("beside", one.path, one.files, one.octets, "", "") for one in arrival.beside)
    differences = ((one.kind, one.package, "", "", "", one.text) for one in arrival.differences)
    columns = ("what", "package", "files", "octets", "tag manifests (sha512)", "told")
    return csv_rows.write(columns, (*packages, *beside, *differences))


def judged(packages: Iterable[Judged]) -> bytes:
    """Return the judgement, one row a package in the order given."""
    columns = (
        *("package", "verdict", "bag", "manner", "made otherwise", "title", "identifiers"),
        *("supersedes", "to mend", "to decide", "to note", "why not judged"),
    )
    return csv_rows.write(
        columns,
        (
            (
                one.package,
                one.verdict,
                one.bag,
                one.manner,
                _BETWEEN.join(one.otherwise),
                one.title,
                _BETWEEN.join(one.identifiers),
                one.supersedes,
                *(one.counts.get(severity, 0) for severity in ("mend", "query", "note")),
                one.why,
            )
            for one in packages
        ),
    )


def findings(rows: Iterable[FindingRow]) -> bytes:
    """Return findings, a row each."""
    columns = ("package", "severity", "code", "place", "text", "remedy", "rework")
    return csv_rows.write(
        columns,
        (
            (one.package, one.severity, one.code, one.place, one.text, one.remedy, one.rework)
            for one in rows
        ),
    )


def sample(drawn: Sample) -> bytes:
    """Return the listening sample, one row a stretch, with blanks for who listens."""
    return csv_rows.write(
        (*(name.replace("_", " ") for name in _STRETCH), "heard", "by", "verdict"),
        ((*_cells(one), "", "", "") for one in drawn.stretches),
    )


def arrival_page(arrival: Arrival) -> bytes:
    """Return the receipt as JSON."""
    return json_page({"schema": ARRIVAL, **plain(arrival)})


def reception_page(
    packages: Sequence[Judged],
    across: Sequence[FindingRow],
    systematic: Sequence[Systematic],
    drawn: Sample,
    how: Judging,
) -> bytes:
    """Return the judgement, what is systematic and the listening sample as JSON."""
    return json_page(
        {
            "schema": RECEPTION,
            **plain(how),
            "packages": [plain(one) for one in packages],
            "across": [plain(one) for one in across],
            "systematic": [plain(one) for one in systematic],
            "sample": plain(drawn),
        }
    )


def read_arrival(content: bytes) -> Mapping[str, Any]:
    """Read an earlier receipt. Raises MaterialError if it is none."""
    try:
        data = strict_json.load(content)
    except strict_json.StrictJsonError as error:
        raise MaterialError(
            f"The earlier receipt cannot be read: {printable(str(error))}."
        ) from error
    faults = schemas.faults(data, "arrival-0.1")
    if faults:
        raise MaterialError(f"The earlier receipt is none: {printable(str(faults[0]))}")
    told: Mapping[str, Any] = data
    return told


def read_rework(content: bytes) -> frozenset[str]:
    """Read the packages of an earlier rework list. Raises MaterialError if it is none."""
    table = csv_rows.read(content)
    if "package" not in table.columns:
        raise MaterialError("The earlier rework list has no column 'package'.")
    # What only one of two packages can rightly say, a letter may settle.
    return frozenset(
        row.cells["package"] for row in table.rows if row.cells.get("rework") != "of two packages"
    )


def _cells(one: Stretch) -> list[object]:
    return [getattr(one, name) for name in _STRETCH]
