"""Finds the line of a value in a TOML form, for findings only.

Values come from the standard library's reader; it keeps no lines. So a marked comment is put on
each item asked for with a style-keeping editor of the text, and looked up in what it writes out.
"""

import re
from collections.abc import Iterable, Mapping

import tomlkit
from tomlkit.container import Container
from tomlkit.exceptions import TOMLKitError
from tomlkit.items import AbstractTable, AoT, Comment, Item, Null, Table, Whitespace

_LAYOUT = (Whitespace, Comment, Null)


def lines_of(text: str, wanted: Iterable[tuple[str, str]]) -> Mapping[tuple[str, str], int]:
    """Return the 1-based line of each (pointer, key); of the nearest parent if it has none.

    An item that shares its line with a parent (inline tables, list entries) gets that line.
    """
    asked = tuple(dict.fromkeys(wanted))
    if not asked:
        # Most forms are good, and taking one apart is slow.
        return {}
    try:
        document = tomlkit.parse(text)
    except TOMLKitError:
        return {}
    mark = "@line-wanted"
    while mark in text:
        mark += "-"
    marked: dict[int, list[tuple[str, str]]] = {}
    numbers: dict[int, int] = {}
    above: dict[int, int] = {}
    for place in asked:
        item = _nearest(document, [*_parts(place[0]), *([place[1]] if place[1] else [])])
        if item is None:
            continue
        number = numbers.setdefault(id(item), len(numbers))
        if number not in marked:
            marked[number] = []
            # A comment lands behind the value; a value over several lines begins further up.
            above[number] = 0 if isinstance(item, Table) else item.as_string().count("\n")
            item.comment(f"{mark}={number}@")
        marked[number].append(place)
    found: dict[tuple[str, str], int] = {}
    for line, shown in enumerate(tomlkit.dumps(document).split("\n"), start=1):
        for match in re.finditer(f"{mark}=([0-9]+)@", shown):
            for place in marked[int(match.group(1))]:
                found[place] = line - above[int(match.group(1))]
    return {place: found.get(place, 1) for place in asked}


def _parts(pointer: str) -> list[str]:
    return [p.replace("~1", "/").replace("~0", "~") for p in pointer.split("/")[1:]]


def _nearest(document: tomlkit.TOMLDocument, parts: list[str]) -> Item | None:
    """Walk down as far as the text goes; return the last item that has a line of its own."""
    best: Item | None = None
    tables: list[Container] = [document]
    lists: list[AoT] = []
    for part in parts:
        # A table, or a list of tables, may stand in several pieces about the text.
        found: list[Item] = [table for one in lists for table in one.body]
        if lists:
            found = found[int(part) : int(part) + 1] if part.isdecimal() else []
        found += [item for table in tables for item in _named(table, part)]
        found = found or [item for table in tables for item in _absent(table, part)]
        if not found:
            break
        best = found[0]
        # An entry of an inline table or of a list of plain values shares the line of its holder.
        tables = [item.value for item in found if isinstance(item, Table)]
        lists = [item for item in found if isinstance(item, AoT)]
    return _shown(best)


def _named(table: Container, name: str) -> list[Item]:
    return [item for key, item in table.body if key is not None and key.key == name]


def _absent(table: Container, name: str) -> list[Item]:
    """Return the `absent` in which a person wrote by hand why a value is not there."""
    written = _named(table, "absent")
    return [one for one in written if isinstance(one, AbstractTable) and name in one]


def _shown(item: Item | None) -> Item | None:
    """Return the item itself, or the first inside it if the text never writes its own header."""
    while isinstance(item, AoT) or (isinstance(item, Table) and item.is_super_table()):
        inside = iter(item.body) if isinstance(item, AoT) else (i for _, i in item.value.body)
        item = next((one for one in inside if not isinstance(one, _LAYOUT)), None)
    return item
