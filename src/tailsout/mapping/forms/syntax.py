"""What is wrong with a form that is not TOML, in words for whoever fills forms in.

The standard library's reader speaks of documents, statements and namespaces, and its words are all
that tells its complaints apart. One that is not known here is passed on as it stands.
"""

import re
import tomllib
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from tailsout.ground.units import printable
from tailsout.mapping.forms import meant

_SHOWN = 100
"""Characters of a line that are shown."""

_TWICE = "Cannot overwrite a value"
_SAID = (
    (
        "Expected newline or end of document after a statement",
        (
            "something is left over behind a value; a number has a full stop and no comma, all "
            "else stands in straight quotation marks"
        ),
    ),
    (
        "Invalid value",
        (
            "here is no value; text stands in straight quotation marks, absence words too; yes "
            "and no are true and false"
        ),
    ),
    (
        "Illegal character '\\n'",
        "a text does not end on its line; close it with the mark before it",
    ),
    ('Expected "\'"', "a text does not end; close it with the mark before it"),
    ("Unterminated string", "a text does not end; close it with the marks before it"),
    (
        "Unescaped '\\' in a string",
        "a backslash stands in a text; between folders write /, and elsewhere write it twice",
    ),
    (
        "Invalid hex value",
        "a backslash stands in a text; between folders write /, and elsewhere write it twice",
    ),
    (
        "Invalid date or datetime",
        "no calendar or clock has this; write 2026-03-14 or 2026-03-14T10:20:00Z",
    ),
    (_TWICE, "this key stands already; each stands once in its table"),
    (
        "Cannot declare",
        (
            "this table stands already; put its keys below the first one, or write it as [[table]] "
            "each time if there are several"
        ),
    ),
    ("Expected ']' at the end of a table", "the name of a table ends with ]"),
    ("Expected ']]' at the end of an array", "the name of a table that repeats ends with ]]"),
    (
        "Expected '=' after a key",
        "behind a key stands =, and a key has plain letters, digits, - and _ only",
    ),
    ("Unclosed array", "a list does not end; it ends with ]"),
    ("Unclosed inline table", "a table in braces does not end on its line; it ends with }"),
    (
        "Invalid statement",
        "this is neither key = value nor [table]; a key has plain letters, digits, - and _ only",
    ),
)
"""How a complaint of `tomllib` begins, in the words of CPython 3.11, and what is said for it."""


_MOST_SLIPS = 30
_MOST_OCTETS = 1 << 18
"""Of a longer form the first slip is told: each further one takes another read of the whole."""
_STATED = re.compile(r"\s*([A-Za-z0-9_-]+)\s*=(.*)")
_HEADER = re.compile(r"\s*(\[\[?)\s*([A-Za-z0-9_.-]+)\s*\]{0,2}\s*")
_OF_A_VALUE = ("Expected newline", "Invalid value", "Illegal character '\\n'")
_OF_A_HEADER = ("Expected ']' at the end of a table", "Expected ']]' at the end of an array")
_LIST_SAID = (
    "between the entries of a list stand commas; a number has a full stop, all else stands in "
    "straight quotation marks"
)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Slip:
    line: int
    said: str
    instead: str | None
    """The line that lets the rest be read; None where nothing further can be told."""


def read(
    text: str, parse: Callable[[str], dict[str, Any]]
) -> tuple[dict[str, Any] | None, tuple[tuple[int, str], ...]]:
    """Read a form, and tell every slip in it: its line, from 1, and a sentence.

    With slips the table holds what could be read, each slip taken for what was meant by it; None
    if the rest cannot be read. Raises what `parse` raises but TOMLDecodeError.
    """
    lines = text.split("\n")
    met: list[tuple[int, str]] = []
    while True:
        try:
            return parse("\n".join(lines)), tuple(met)
        except tomllib.TOMLDecodeError as error:
            slip = _slip(str(error), lines)
        met.append((slip.line, slip.said))
        is_last = len(met) == _MOST_SLIPS or len(text) > _MOST_OCTETS
        if slip.instead is None or is_last:
            return None, tuple(met)
        lines[slip.line - 1] = slip.instead


def _slip(complaint: str, lines: list[str]) -> _Slip:
    what, _, at = complaint.rpartition(" (at line ")
    number = at.partition(",")[0]
    # Only what is not closed is found at the end, and its beginning is not told.
    line = int(number) if number.isdigit() else len(lines)
    what = what or complaint.removesuffix(" (at end of document)")
    said = next((ours for theirs, ours in _SAID if what.startswith(theirs)), printable(what, 200))
    if not number.isdigit():
        return _Slip(line=line, said=f"{said}.", instead=None)
    stands = lines[line - 1]
    offered = _offered(what, stands)
    if what.startswith("Unclosed array") and _STATED.fullmatch(stands) and "[" not in stands:
        # The next key was taken for an entry of the list above it.
        line, stands = line - 1, lines[line - 2]
        offered = f"{stands.rstrip()}]" if stands.count("[") == stands.count("]") + 1 else ""
    elif what.startswith("Unclosed array") and _is_whole(stands):
        said = _LIST_SAID
    shown = printable(stands.strip(), _SHOWN)
    text = f"in `{shown}`: {said}" if shown else said
    header = meant.header_left_out("\n".join(lines), line) if what.startswith(_TWICE) else ""
    if header:
        text = f"{text}; {meant.below(header)}"
    if offered:
        text = f"in `{shown}`: write `{printable(offered, _SHOWN)}`"
    return _Slip(line=line, said=f"{text}.", instead=_instead(stands, offered))


def _offered(what: str, stands: str) -> str:
    """Return what the line was meant to be, if it can be one thing only; else empty."""
    if what.startswith(_OF_A_HEADER) and (match := _HEADER.fullmatch(stands)):
        return f"{match[1]}{match[2]}{']' * len(match[1])}"
    match = _STATED.fullmatch(stands)
    if match is None or not what.startswith(_OF_A_VALUE):
        return ""
    key, bare = match.groups()
    found = meant.value(bare, key)
    return f"{key} = {found}" if found else ""


def _instead(stands: str, offered: str) -> str | None:
    if offered and offered != stands:
        return offered
    match = _STATED.fullmatch(stands)
    if match is None:
        is_alone = stands.strip() and not stands.lstrip().startswith(("[", "{", "]", "}", ","))
        return "" if is_alone else None
    return "" if _is_whole(match[2]) else None


def _is_whole(stands: str) -> bool:
    """Tell whether a line stands by itself: what may go on over several lines ends in it."""
    pairs = (stands.count(opens) == stands.count(closes) for opens, closes in ("[]", "{}"))
    return all(pairs) and '"""' not in stands and "'''" not in stands
