"""Compares a shipping list with what came: listed and not received, received and not listed."""

from collections.abc import Iterator, Mapping
from pathlib import Path

from tailsout.ground.errors import UsageError, from_os_error
from tailsout.ground.units import printable
from tailsout.mapping import csv_rows, deliveries
from tailsout.records.delivery import Discrepancy


def compared(
    path: Path, came: Mapping[str, frozenset[str]]
) -> tuple[tuple[Discrepancy, ...], tuple[str, ...]]:
    """Compare the list in a CSV file with what came; return discrepancies and oddities of the list.

    `came` gives, by the name of a package or reel, everything a list may call it. Raises UsageError
    if there is no such file, MaterialError if it is not a list, SurroundingsError if it cannot be
    read.
    """
    try:
        with path.open("rb") as stream:
            content = stream.read(csv_rows.MOST_OCTETS + 1)
    except FileNotFoundError as error:
        raise UsageError(
            f"There is no file {printable(str(path))}.", "Name a list in CSV."
        ) from error
    except OSError as error:
        raise from_os_error(error, f"Reading {printable(str(path))}") from error
    listed, odd = deliveries.listed(content)
    return tuple(_discrepancies(listed, came)), odd


def _discrepancies(
    listed: tuple[tuple[str, int], ...], came: Mapping[str, frozenset[str]]
) -> Iterator[Discrepancy]:
    known = {name for names in came.values() for name in names}
    lines: dict[str, int] = {}
    for identifier, line in listed:
        if identifier in lines:
            yield Discrepancy(kind="listed twice", identifier=identifier, line=line)
        elif identifier not in known:
            yield Discrepancy(kind="listed and not received", identifier=identifier, line=line)
        lines.setdefault(identifier, line)
    for name, names in came.items():
        if lines.keys().isdisjoint(names):
            yield Discrepancy(kind="received and not listed", identifier=name)
