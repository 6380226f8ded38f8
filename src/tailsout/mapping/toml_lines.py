"""Finds the line of a value in a TOML form, for findings only.

Values come from the standard library's reader; it keeps no lines. So a marked comment is put on
each item asked for with a style-keeping editor of the text, and looked up in what it writes out.
"""

import contextlib
import re
from collections.abc import Iterable, Mapping
from typing import Any

import tomlkit
from tomlkit.exceptions import TOMLKitError
from tomlkit.items import AoT, Item, Table

_MARK = "@line-wanted-"
_MARKED = re.compile(_MARK + r"([0-9]+)@")


def lines_of(text: str, wanted: Iterable[tuple[str, str]]) -> Mapping[tuple[str, str], int]:
    """Return the 1-based line of each (pointer, key); of the nearest parent if it has none.

    An item that shares its line with a parent (inline tables, list entries) gets that line.
    """
    asked = tuple(dict.fromkeys(wanted))
    try:
        document = tomlkit.parse(text)
    except TOMLKitError:
        return {}
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
            item.comment(f"{_MARK}{number}@")
        marked[number].append(place)
    found: dict[tuple[str, str], int] = {}
    for line, shown in enumerate(tomlkit.dumps(document).split("\n"), start=1):
        for match in _MARKED.finditer(shown):
            for place in marked[int(match.group(1))]:
                found[place] = line - above[int(match.group(1))]
    return {place: found.get(place, 1) for place in asked}


def _parts(pointer: str) -> list[str]:
    return [p.replace("~1", "/").replace("~0", "~") for p in pointer.split("/")[1:]]


def _nearest(document: tomlkit.TOMLDocument, parts: list[str]) -> Item | None:
    """Walk down as far as the text goes; return the last item that can carry a comment."""
    at: Any = document
    best: Item | None = None
    in_line = False
    for part in parts:
        inside: Any = None
        with contextlib.suppress(KeyError, IndexError, ValueError, TypeError):
            inside = at[int(part)] if isinstance(at, list) else at[part]
        if inside is None:
            break
        at = inside
        # Only what stands in a table of the text has a line of its own; an entry of an inline
        # table or of a list of plain values shares the line of what holds it.
        if isinstance(at, Item) and not in_line and not isinstance(at, AoT):
            best = at
            in_line = not isinstance(at, Table)
    return best
