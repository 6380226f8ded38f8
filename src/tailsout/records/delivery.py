"""A delivery: what was carried to a drive, what was not, and where it departs from a list."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

LeftOutSort = Literal["not played", "does not pass"]
"""`not played`: a reel that was only inspected. `does not pass`: the package is not fit to go."""
DiscrepancyKind = Literal["listed and not received", "received and not listed", "listed twice"]


@dataclass(frozen=True, slots=True, kw_only=True)
class PackageRow:
    """One package of a delivery."""

    package: str
    """Name of its base directory."""
    identifiers: tuple[str, ...]
    """Of the reel, each with its kind in brackets where that is known."""
    title: str
    files: int
    octets: int
    verdict: str
    """As it was judged where it was carried to."""
    supersedes: str
    """Name of the version that it supersedes; empty if it supersedes none."""
    order: str
    """Agreement, order or contract; empty if it states none."""
    recipient: str
    tag_manifests: Mapping[str, str]
    """SHA-512 of each tag manifest, by its name: no list in the package holds them."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LeftOut:
    """A reel or package that was not transferred."""

    name: str
    identifiers: tuple[str, ...]
    title: str
    sort: LeftOutSort
    category: str
    """Why it was not played, in a word; empty where the form does not say."""
    reason: str
    tried: tuple[str, ...]
    """What was done to it all the same, one sentence each."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Discrepancy:
    """Where a list and what came depart from each other."""

    kind: DiscrepancyKind
    identifier: str
    line: int | None = None
    """In the list."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Delivery:
    """What stands on a drive after a delivery."""

    number: int
    """Counted from 1; a redelivery has a number of its own."""
    volume: str
    """Name of the drive."""
    made: str
    """Instant, RFC 3339, UTC."""
    software: str
    sender: tuple[str, ...]
    """Studio, place, whom to ask: as far as the packages say."""
    packages: tuple[PackageRow, ...]
    left_out: tuple[LeftOut, ...]
    discrepancies: tuple[Discrepancy, ...] | None = None
    """None if there was no list to compare with."""
    list_told: tuple[str, ...] = ()
    """What was odd about that list."""
    durability: str | None = None
    """`fsynced` or `best effort`; None if nothing was carried."""
    not_promised: tuple[str, ...] = ()
