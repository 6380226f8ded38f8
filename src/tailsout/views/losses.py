"""What a description for other programs leaves out of what people stated.

A view names what it does not hold, by record (`Jotting`) or by record and field (`Region.tones`),
with a sentence that says so. A test changes every field of a transfer: a view must change with it,
or name it.
"""

import dataclasses
from collections.abc import Iterator, Mapping
from decimal import Decimal

from tailsout.mapping import xml
from tailsout.records.facts import PackageFacts
from tailsout.records.transfer import Transfer

MOST_CHARACTERS = 20_000
"""Most of one text: a description is no place for a book."""
_CUT = f"Texts of more than {MOST_CHARACTERS} characters are cut, and say by how many."
_ODD_NAMES = "Of names of files, what is no text is replaced; the manifests have them as they are."
_UNWRITABLE = "Characters that XML 1.0 cannot hold are replaced by U+FFFD."


def lost(transfer: Transfer | None, not_held: Mapping[str, str]) -> Iterator[str]:
    """Yield each sentence of which something is stated, in the order of the table."""
    if transfer is None:
        return
    stated = set(_stated(transfer))
    yield from dict.fromkeys(text for name, text in not_held.items() if name in stated)


def cut(transfer: Transfer | None) -> Iterator[str]:
    """Yield a sentence if something stated is longer than any text of a description."""
    if transfer is not None and any(len(text) > MOST_CHARACTERS for text in _texts(transfer)):
        yield _CUT


def unwritable(transfer: Transfer | None) -> Iterator[str]:
    """Yield a sentence if something stated holds characters that no XML document can."""
    if transfer is not None and any(xml.holdable(text) != text for text in _texts(transfer)):
        yield _UNWRITABLE


def odd_names(package: PackageFacts | None) -> Iterator[str]:
    """Yield a sentence if a file of the payload is named in octets that no document can hold."""
    files = package.files if package is not None else ()
    if any(f.path.startswith("data/") and xml.holdable(f.path) != f.path for f in files):
        yield _ODD_NAMES


def _stated(record: object) -> Iterator[str]:
    """Yield the names of all records within a record, and of all their fields that are set."""
    if isinstance(record, tuple):
        for one in record:
            yield from _stated(one)
    if not dataclasses.is_dataclass(record):
        return
    name = type(record).__name__
    yield name
    for field in dataclasses.fields(record):
        value = getattr(record, field.name)
        if value is None or not (value or isinstance(value, bool | int | Decimal)):
            continue
        yield f"{name}.{field.name}"
        yield from _stated(value)


def _texts(value: object) -> Iterator[str]:
    if isinstance(value, str):
        yield value
    elif isinstance(value, tuple):
        for one in value:
            yield from _texts(one)
    elif isinstance(value, Mapping):
        yield from value
    elif dataclasses.is_dataclass(value):
        for field in dataclasses.fields(value):
            yield from _texts(getattr(value, field.name))
