"""Finds what is wrong in most packages in the same way: said once, and by telephone."""

from collections.abc import Iterable, Sequence

from tailsout.records.arrival import FindingRow, Judged, Systematic

_FEWEST = 3
"""Packages that make a habit; two may be chance."""


def systematic(packages: Sequence[Judged]) -> tuple[Systematic, ...]:
    """Return faults that more than half of the packages have at one kind of place.

    The most frequent come first. Notes are not faults.
    """
    first: dict[tuple[str, str], FindingRow] = {}
    counts: dict[tuple[str, str], int] = {}
    for one in packages:
        for key, row in _once(one.findings).items():
            first.setdefault(key, row)
            counts[key] = counts.get(key, 0) + 1
    most = [key for key, count in counts.items() if count >= _FEWEST and 2 * count > len(packages)]
    return tuple(
        Systematic(
            code=row.code,
            severity=row.severity,
            alike=row.alike,
            packages=counts[key],
            of=len(packages),
            example=f"{row.package}: {row.place}: {row.text}",
            remedy=row.remedy,
        )
        for key in sorted(most, key=lambda key: (-counts[key], key))
        for row in (first[key],)
    )


def _once(findings: Iterable[FindingRow]) -> dict[tuple[str, str], FindingRow]:
    """Return the first finding of each sort of one package."""
    found: dict[tuple[str, str], FindingRow] = {}
    for row in findings:
        if row.severity != "note":
            found.setdefault((row.code, row.alike), row)
    return found
