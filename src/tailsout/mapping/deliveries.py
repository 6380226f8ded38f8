"""The lists of a delivery: CSV, JSON and the list that `sha512sum -c` takes; the manifest, back."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from tailsout.ground.errors import MaterialError
from tailsout.ground.units import printable
from tailsout.mapping import csv_rows
from tailsout.mapping.plain import json_page, plain
from tailsout.mapping.schemas import urn
from tailsout.records.delivery import Delivery, Discrepancy, LeftOut, PackageRow

SCHEMA = urn("delivery-0.1")
MANIFEST_COLUMNS = (
    "package",
    "identifiers",
    "title",
    "files",
    "octets",
    "verdict",
    "supersedes",
    "order",
    "recipient",
    "tag manifests (sha512)",
)
IDENTIFYING = ("identifier", "package", "package_id")
"""Columns by which a shipping list may name its reels, the first that is there."""

_BETWEEN = "; "


@dataclass(frozen=True, slots=True, kw_only=True)
class Claimed:
    """One package as a sender's manifest tells of it."""

    package: str
    line: int
    files: int | None
    octets: int | None
    """None where the manifest says nothing, or nothing that is a number."""
    tag_manifests: Mapping[str, str]
    order: str


def stem(number: int) -> str:
    """Return how the names of all lists of a delivery begin."""
    return f"delivery-{number:02d}"


def manifest(packages: Iterable[PackageRow]) -> bytes:
    """Return the manifest, one row a package."""
    return csv_rows.write(
        MANIFEST_COLUMNS,
        (
            (
                one.package,
                _BETWEEN.join(one.identifiers),
                one.title,
                one.files,
                one.octets,
                one.verdict,
                one.supersedes,
                one.order,
                one.recipient,
                _BETWEEN.join(f"{name} {digest}" for name, digest in one.tag_manifests.items()),
            )
            for one in packages
        ),
    )


def read_manifest(
    content: bytes,
) -> tuple[tuple[Claimed, ...], tuple[str, ...], tuple[str, ...]]:
    """Read a sender's manifest; return its rows, its faults, and how it had to be read.

    Only the column `package` must be there. Raises MaterialError if it is no such table.
    """
    table = csv_rows.read(content)
    if "package" not in table.columns:
        raise MaterialError("The manifest has no column 'package'.", "It has one row a package.")
    faults = tuple(f"Line {one.line}: {one.text}" for one in table.faults)
    rows = []
    for row in table.rows:
        cells = {name: row.cells.get(name, "") for name in MANIFEST_COLUMNS}
        pairs = (one.rpartition(" ") for one in cells["tag manifests (sha512)"].split(_BETWEEN))
        rows.append(
            Claimed(
                package=cells["package"],
                line=row.line,
                files=_whole(cells["files"]),
                octets=_whole(cells["octets"]),
                tag_manifests={name: digest for name, _, digest in pairs if name},
                order=cells["order"],
            )
        )
    return tuple(rows), faults, tuple(table.told)


def left_out(listed: Iterable[LeftOut]) -> bytes:
    """Return the list of what was not transferred."""
    return csv_rows.write(
        ("name", "identifiers", "title", "sort", "category", "reason", "tried"),
        (
            (
                one.name,
                _BETWEEN.join(one.identifiers),
                one.title,
                one.sort,
                one.category,
                one.reason,
                _BETWEEN.join(one.tried),
            )
            for one in listed
        ),
    )


def discrepancies(listed: Iterable[Discrepancy]) -> bytes:
    """Return the list of discrepancies."""
    return csv_rows.write(
        ("discrepancy", "identifier", "line of the list"),
        ((one.kind, one.identifier, one.line) for one in listed),
    )


def digests(rows: Iterable[tuple[str, int, str, str]]) -> bytes:
    """Return the list of files: path, octets, digest here, digest there."""
    return csv_rows.write(
        ("path", "octets", "sha512 as read here", "sha512 as read back from the drive"),
        ((printable(path), octets, here, there) for path, octets, here, there in rows),
    )


def sums(rows: Iterable[tuple[str, str]]) -> bytes:
    """Return digests and paths as `sha512sum -c` takes them (GNU coreutils manual, `md5sum`)."""
    return b"".join(_sum(path.encode("utf-8", "surrogateescape"), digest) for path, digest in rows)


def _sum(path: bytes, digest: str) -> bytes:
    escaped = path.replace(b"\\", b"\\\\").replace(b"\n", b"\\n").replace(b"\r", b"\\r")
    mark = b"\\" if escaped != path else b""
    return mark + digest.encode() + b"  " + escaped + b"\n"


def page(delivery: Delivery) -> bytes:
    """Return the whole delivery as JSON."""
    compared = {} if delivery.discrepancies is None else {"compared_with_a_list": True}
    return json_page({"schema": SCHEMA, **plain(delivery), **compared})


def listed(content: bytes) -> tuple[tuple[tuple[str, int], ...], tuple[str, ...]]:
    """Read a shipping list: what it names with the line, and what was odd about it.

    Raises MaterialError if it is not a table or has no column that identifies.
    """
    table = csv_rows.read(content)
    by_name = {name.casefold(): name for name in reversed(table.columns)}
    column = next((by_name[name] for name in IDENTIFYING if name in by_name), None)
    if column is None:
        named = ", ".join(printable(name, 40) for name in table.columns[:8])
        raise MaterialError(
            f"The list has no column that identifies a reel; its columns are: {named}.",
            "Call the column 'identifier', 'package' or 'package_id'.",
        )
    odd = (*table.told, *(f"Line {one.line}: {one.text}" for one in table.faults))
    named_there = ((row.cells[column].strip(), row.line) for row in table.rows)
    return tuple(one for one in named_there if one[0]), odd


def _whole(text: str) -> int | None:
    return int(text) if text.isascii() and text.isdigit() and len(text) < 19 else None
