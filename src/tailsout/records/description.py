"""What a description in somebody's standard says of the package it lies in: METS, PREMIS and so on.

Text is as found, from strangers.
"""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class DescribedFile:
    """One file as a description tells of it."""

    path: str
    """In the bag."""
    line: int
    octets: int | None = None
    digests: tuple[tuple[str, str], ...] = ()
    """Algorithm and digest, both as written."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Loose:
    """A reference that leads to nothing, within a description or in its package."""

    line: int
    kind: str
    """Name of the attribute or element."""
    to: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Moment:
    """A date in a description."""

    line: int
    of: str
    """What happened, or the name of the element."""
    when: str
    is_edtf: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Departure:
    """A place where a document departs from its official schema."""

    line: int
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Description:
    """One document."""

    path: str
    """In the bag."""
    standards: tuple[str, ...]
    """Of which elements were met: `METS`, `PREMIS`, `PBCore`, `Dublin Core`."""
    files: tuple[DescribedFile, ...] = ()
    loose: tuple[Loose, ...] = ()
    outside: tuple[Loose, ...] = ()
    """Addresses of files that lie in no package."""
    dates: tuple[Moment, ...] = ()
    departures: tuple[Departure, ...] | None = None
    """From its official schema; None if none was at hand for it."""
    all_text: str = ""
    """All that stands in its elements and attributes, a line each, as far as that is kept."""
    lists_payload: bool = False
    """Whether it is a METS file section, so that a payload file it leaves out is left out."""
