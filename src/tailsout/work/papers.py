"""Reads the documents of plain text that lie in a payload, whoever wrote them, as far as kept."""

import codecs
from collections.abc import Mapping

from tailsout.bag.readable import ReadableBag
from tailsout.ground.errors import MaterialError, SurroundingsError
from tailsout.ground.findings import Finding, Place
from tailsout.ground.units import printable
from tailsout.work.descriptions import UNREAD

_ENDINGS = (".txt", ".md", ".csv", ".tsv", ".log", ".eml", ".htm", ".html")
_READ_ANYWHERE = frozenset({"tar", "zip"})
"""Archives in which one file can be read without all before it."""
_MOST = 50
"""Most documents that are read in one package."""
_MOST_OCTETS = 100_000
"""Most octets of each."""


def read(bag: ReadableBag) -> tuple[Mapping[str, str], tuple[Finding, ...]]:
    """Return the text of payload documents by their path, and what was left out."""
    sizes = {file.path: file.octets for file in bag.facts.files}
    named = [p for p in sizes if p.startswith("data/") and p.lower().endswith(_ENDINGS)]
    texts: dict[str, str] = {}
    met: list[Finding] = []
    if named and bag.facts.archive is not None and bag.facts.archive.form not in _READ_ANYWHERE:
        # Each would have the archive unpacked anew.
        text = f"documents of plain text ({len(named)}) are not looked into in a packed tar."
        return {}, (UNREAD.at(Place(file=printable(named[0])), text),)
    if len(named) > _MOST:
        text = f"it is one of {len(named) - _MOST} of plain text beyond the {_MOST} that are read."
        met.append(UNREAD.at(Place(file=printable(named[_MOST])), text))
    for path in named[:_MOST]:
        try:
            with bag.stream(path) as stream:
                texts[path] = _decoded(stream.read(_MOST_OCTETS))
        except (MaterialError, SurroundingsError, OSError):
            # The proof tells of what cannot be read.
            continue
        if sizes[path] > _MOST_OCTETS:
            text = f"it holds {sizes[path]} octets, the first {_MOST_OCTETS} were read."
            met.append(UNREAD.at(Place(file=printable(path)), text))
    return texts, tuple(met)


def _decoded(octets: bytes) -> str:
    """Decode a text of no stated encoding; what is looked for in it is ASCII for the most part."""
    if octets.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        return octets.decode("utf-16", "replace")
    return octets.decode("utf-8", "replace")
