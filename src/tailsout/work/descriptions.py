"""Reads the descriptions in XML that lie in a package, whoever made them."""

from collections.abc import Iterable, Iterator

from tailsout.bag.readable import ReadableBag
from tailsout.ground.errors import MaterialError, SurroundingsError
from tailsout.ground.findings import Finding, Place
from tailsout.ground.units import printable
from tailsout.mapping import naming
from tailsout.records.description import Description

_MOST = 50
"""Most documents that are read in one package."""
_MOST_OCTETS = 16 << 20
"""Most octets of each."""


def read(bag: ReadableBag) -> tuple[tuple[Description, ...], tuple[Finding, ...]]:
    """Read every XML document of a standard that is known: records, and what was met."""
    told: list[Description] = []
    met: list[Finding] = []
    sizes = {file.path: file.octets for file in bag.facts.files}
    named = list(_named(sizes))[:_MOST]
    if not named:
        return (), ()
    from tailsout.mapping import descriptions, xml  # noqa: PLC0415  many bags hold no XML

    for path in named:
        if sizes[path] > _MOST_OCTETS:
            text = f"it holds {sizes[path]} octets, up to {_MOST_OCTETS} are read."
            met.append(xml.XML_TOO_LARGE.at(Place(file=printable(path)), text))
            continue
        try:
            content = bag.read(path, _MOST_OCTETS)
        except (MaterialError, SurroundingsError):
            # The proof tells of what cannot be read; of a packed archive not all is kept.
            continue
        one, found = descriptions.read(content, path)
        met += found
        if one is not None:
            told.append(one)
    return tuple(told), tuple(met)


def _named(paths: Iterable[str]) -> Iterator[str]:
    """Yield what is named as XML, tag files first; what is kept of older versions is theirs."""
    named = [path for path in paths if path.lower().endswith(".xml")]
    current = [path for path in named if not path.startswith(f"{naming.SUPERSEDED}/")]
    yield from sorted(current, key=lambda path: (path.startswith("data/"), path))
