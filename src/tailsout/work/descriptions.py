"""Reads the descriptions in XML that lie in a package, whoever made them."""

from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path

from tailsout.bag.readable import ReadableBag
from tailsout.ground.errors import MaterialError, SurroundingsError, UsageError, from_os_error
from tailsout.ground.findings import Finding, Kind, Place, Severity
from tailsout.ground.units import printable
from tailsout.mapping import naming
from tailsout.records.description import Description

_MOST = 50
"""Most documents that are read in one package."""
_MOST_OCTETS = 16 << 20
"""Most octets of each."""

UNREAD = Kind(
    code="description-unread",
    severity=Severity.NOTE,
    title="A document in the package was not looked into, or not to its end",
    basis="our limit: 50 documents in XML, 50 of plain text and 100,000 octets of these; of a "
    "packed archive what was kept of its files",
    remedy="Look into it yourself; of a packed archive unpack it and check the folder.",
)
KINDS = (UNREAD,)


def schemas_in(folder: Path) -> dict[str, bytes]:
    """Read the official schemas of a folder, by file name.

    Raises UsageError if there is none, SurroundingsError if they cannot be read.
    """
    try:
        paths = sorted(path for path in folder.glob("*.xsd") if path.is_file())
        found = {path.name: path.read_bytes() for path in paths}
    except OSError as error:
        raise from_os_error(error, f"Reading {printable(str(folder))}") from error
    if not found:
        raise UsageError(
            f"In {printable(str(folder))} there is no schema.",
            "Name the folder that holds the official schemas as .xsd files.",
        )
    return found


def read(
    bag: ReadableBag, schemas: Mapping[str, bytes] | None = None
) -> tuple[tuple[Description, ...], tuple[Finding, ...]]:
    """Read every XML document of a standard that is known: records, and what was met.

    `schemas` are official ones to hold them to. Raises MaterialError if those do not fit together.
    """
    told: list[Description] = []
    met: list[Finding] = []
    sizes = {file.path: file.octets for file in bag.facts.files}
    named = list(_named(sizes))
    if len(named) > _MOST:
        text = f"it is one of {len(named) - _MOST} beyond the {_MOST} that are read."
        met.append(UNREAD.at(Place(file=printable(named[_MOST])), text))
    if not named:
        return (), ()
    from tailsout.mapping import descriptions, xml  # noqa: PLC0415  many bags hold no XML

    official = descriptions.official(schemas) if schemas else None
    for path in named[:_MOST]:
        if sizes[path] > _MOST_OCTETS:
            text = f"it holds {sizes[path]} octets, up to {_MOST_OCTETS} are read."
            met.append(xml.XML_TOO_LARGE.at(Place(file=printable(path)), text))
            continue
        try:
            content = bag.read(path, _MOST_OCTETS)
        except (MaterialError, SurroundingsError):
            # Of a folder the proof tells of what cannot be read.
            if bag.facts.archive is not None:
                text = "it lies where it was not kept."
                met.append(UNREAD.at(Place(file=printable(path)), text))
            continue
        one, found = descriptions.read(content, path, official)
        met += found
        if one is not None:
            told.append(one)
    return tuple(told), tuple(met)


def _named(paths: Iterable[str]) -> Iterator[str]:
    """Yield what is named as XML, tag files first; what is kept of older versions is theirs."""
    named = [path for path in paths if path.lower().endswith(".xml")]
    current = [path for path in named if not path.startswith(f"{naming.SUPERSEDED}/")]
    yield from sorted(current, key=lambda path: (path.startswith("data/"), path))
