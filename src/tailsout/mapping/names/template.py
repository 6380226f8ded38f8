"""Templates of names, as a recipient writes them.

    template  = 1*( text / field / "[" 1*( text / field ) "]" )
    field     = "{" word *( ":" option ) "}"

What stands in brackets is left out where something in it is not known. A width is exact:
`{part:02}` has two digits, `{package:8}` eight letters; `lower` and `upper` fold case; of an
identifier its kind may be named. A template by which some name has two readings is none.
"""

import re
from collections.abc import Iterator, Sequence
from difflib import get_close_matches
from functools import lru_cache
from typing import Literal, get_args

from tailsout.ground.units import printable
from tailsout.mapping.names.apart import apart
from tailsout.mapping.names.fields import (
    FIELDS,
    LETTERS,
    MOST_LETTERS,
    ROLES,
    Fault,
    Field,
    Groups,
    Piece,
    Sort,
    Template,
    Text,
    is_allowed,
)
from tailsout.records.vocab import IdentifierKind

MOST_FIELDS = 16

_TOKEN = re.compile(r"\{([^{}\[\]]*)\}|([^{}\[\]]+)|(.)", re.DOTALL)
_KINDS = {kind.replace(" ", "-"): kind for kind in get_args(IdentifierKind)}
_ENDINGS = (".wav", ".flac", ".json")


@lru_cache(maxsize=64)
def parse(
    text: str, *, roles: tuple[str, ...] = ROLES, letters: str = "POSIX portable"
) -> Template | Fault:
    """Read a template; `roles` are the words of `{role}`, `letters` is one of `LETTERS`."""
    if len(text) > MOST_LETTERS:
        return Fault(at=MOST_LETTERS, text=f"it has more than {MOST_LETTERS} letters.")
    read = pieces_of(text)
    if isinstance(read, Fault):
        return read
    pieces, groups = read
    fault = next(_unfit(text, pieces, groups, roles, LETTERS[letters]), None)
    return fault or apart(text, pieces, groups, roles, LETTERS[letters])


def pieces_of(text: str) -> tuple[tuple[Piece, ...], Groups] | Fault:
    """Part a template into its pieces and groups; a group may be left out if it says so."""
    pieces: list[Piece] = []
    groups: list[tuple[bool, tuple[int, ...]]] = []
    fault = next(_read(text, pieces, groups), None)
    return fault or (tuple(pieces), tuple(groups))


def _read(
    text: str, pieces: list[Piece], groups: list[tuple[bool, tuple[int, ...]]]
) -> Iterator[Fault]:
    """Fill `pieces` and `groups`; yield what is not a template."""
    inside: list[int] | None = None
    opened = 0
    for token in _TOKEN.finditer(text):
        word, letters, mark = token.groups()
        if mark == "[" and inside is None:
            inside, opened = [], token.start()
            continue
        if mark == "]" and inside is not None:
            if not any(isinstance(pieces[number], Field) for number in inside):
                yield Fault(at=opened, text="nothing in these brackets could be left out.")
            groups.append((True, tuple(inside)))
            inside = None
            continue
        if mark is not None:
            yield Fault(at=token.start(), text=f"{mark!r} has no fellow, or stands inside another.")
            return
        if word is None:
            pieces.append(Text(at=token.start(), letters=letters))
        else:
            field = _field(word, token.start())
            if isinstance(field, Fault):
                yield field
                return
            pieces.append(field)
        if inside is None:
            groups.append((False, (len(pieces) - 1,)))
        else:
            inside.append(len(pieces) - 1)
    if inside is not None:
        yield Fault(at=opened, text="'[' has no fellow, or stands inside another.")


def _field(said: str, at: int) -> Field | Fault:
    word, *options = said.split(":")
    if word not in FIELDS:
        near = get_close_matches(word, FIELDS, n=1)
        hint = f"did you mean {near[0]!r}?" if near else f"there are {', '.join(FIELDS)}."
        return Fault(at=at, text=f"there is no field {printable(word, 40)!r}; {hint}")
    sort = FIELDS[word][0]
    kind: IdentifierKind | None = None
    case: Literal["", "lower", "upper"] = ""
    width: int | None = None
    for one in options:
        if word == "identifier" and one in _KINDS and not kind:
            kind = _KINDS[one]
        elif sort == "text" and one in {"lower", "upper"} and not case:
            case = "lower" if one == "lower" else "upper"
        elif (width is None and sort in {"text", "number"}) and (found := _width(one, sort)):
            width = found
        else:
            shown = printable(one, 40)
            return Fault(at=at, text=f"{shown!r} is not an option of {word}; {_options(word)}.")
    return Field(at=at, word=word, kind=kind, width=width, case=case)


def _width(said: str, sort: Sort) -> int | None:
    if not re.fullmatch(r"0?[1-9][0-9]?", said, re.ASCII):
        return None
    width = int(said)
    return width if width <= (9 if sort == "number" else 64) else None


def _options(word: str) -> str:
    sort = FIELDS[word][0]
    if word == "identifier":
        return f"it takes a kind ({', '.join(_KINDS)}), a width, and lower or upper"
    return {
        "text": "it takes a width, and lower or upper",
        "number": "it takes a width of 1 to 9 digits, as 02",
    }.get(sort, "it takes none")


def _unfit(
    text: str,
    pieces: Sequence[Piece],
    groups: Groups,
    roles: tuple[str, ...],
    letters: frozenset[str],
) -> Iterator[Fault]:
    """Yield what no name by the template could be."""
    if all(optional for optional, _ in groups):
        yield Fault(at=0, text="all of it could be left out; then there would be no name.")
    fields = [one for one in pieces if isinstance(one, Field)]
    if not 1 <= len(fields) <= MOST_FIELDS:
        yield Fault(at=0, text=f"it must have 1 to {MOST_FIELDS} fields, and has {len(fields)}.")
    for piece in pieces:
        if isinstance(piece, Text):
            wrong = next((c for c in piece.letters if not is_allowed(c, letters)), None)
            if wrong is not None:
                at = piece.at + piece.letters.index(wrong)
                yield Fault(at=at, text=f"{printable(wrong)!r} is not allowed in a name.")
        elif piece.sort == "role":
            bad = [one for one in roles if not one or any(not is_allowed(c, letters) for c in one)]
            if bad or not roles:
                shown = f"{printable(bad[0])!r} cannot stand" if bad else "none is there to stand"
                yield Fault(at=piece.at, text=f"of the words for roles {shown} in a name.")
    if text.startswith((".", "-")):
        yield Fault(at=0, text=f"a name may not begin with {text[0]!r}: it is hidden or an option.")
    if text.lower().endswith(_ENDINGS):
        yield Fault(at=text.rindex("."), text="the ending is put behind it by itself.")
