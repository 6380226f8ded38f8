"""What stands in a document in XML, whatever its elements mean."""

from collections.abc import Iterable, Iterator

from tailsout.mapping.xml import Element

MOST_CHARACTERS = 100_000
"""Of one document, as many as are kept."""


def texts_of(elements: Iterable[Element]) -> str:
    """Return the texts and attributes of elements, a line each, as many as are kept."""
    told: list[str] = []
    room = MOST_CHARACTERS
    for text in _texts(elements):
        line = " ".join(text[:room].split())
        if line:
            told.append(line)
            room -= len(line) + 1
        if room <= 0:
            break
    return "\n".join(told)


def _texts(elements: Iterable[Element]) -> Iterator[str]:
    for one in elements:
        yield from (one.text or "", *one.attrib.values(), one.tail or "")
