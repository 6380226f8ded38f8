"""Names made by a template from what is known, and read back into it.

`read_back` of a name that `fill` made gives what `written` says: the values in the spelling in
which they stand in a name.
"""

import re
from collections.abc import Mapping, Sequence

from tailsout.ground.portable import composed
from tailsout.ground.units import printable
from tailsout.mapping.history import ascii_reduced
from tailsout.mapping.names.fields import (
    Fault,
    Field,
    Groups,
    Piece,
    Template,
    Text,
    Value,
    is_allowed,
)
from tailsout.mapping.names.positions import OTHER
from tailsout.mapping.names.template import pieces_of


def fill(template: Template, values: Mapping[str, Value], separator: str = "") -> str | Fault:
    """Return the name by a template for what is known, by the keys of its fields.

    `separator` stands for blanks and for letters that a field may not hold; without one a value
    that has such letters cannot stand in a name.
    """
    told = written(template, values, separator)
    if isinstance(told, Fault):
        return told
    name = ""
    for number in _standing(template.pieces, template.groups, values):
        piece = template.pieces[number]
        name += piece.letters if isinstance(piece, Text) else _spelled(piece, told[piece.key])
    return name


def written(
    template: Template, values: Mapping[str, Value], separator: str = ""
) -> dict[str, Value] | Fault:
    """Return the values as they stand in a name; those in brackets that are left out are not there.

    The fault tells at which field of the template a value is missing or does not fit.
    """
    told: dict[str, Value] = {}
    for number in _standing(template.pieces, template.groups, values):
        field = template.pieces[number]
        if isinstance(field, Text):
            continue
        key = field.key
        if key not in values:
            return Fault(at=field.at, text=f"nothing is known for {key}.", key=key)
        value = _written(template, number, field, values[key], separator)
        if isinstance(value, Fault):
            return value
        if told.setdefault(key, value) != value:
            text = f"{key} stands in it twice, and would not be spelled alike."
            return Fault(at=field.at, text=text, key=key)
    return told


def read_back(template: Template, name: str) -> dict[str, Value] | Fault:
    """Return what a name says by a template, by the keys of its fields.

    `name` has no ending. The fault tells at which letter of the name it departs from the template.
    """
    way, fits = template.positions.walk(name)
    if not way:
        if fits == len(name):
            return Fault(at=fits, text="it ends before the template is filled.")
        return Fault(at=fits, text=f"it departs from the template at its letter {fits + 1}.")
    spelled: dict[int, str] = {}
    for number, letter in zip(way, name, strict=True):
        spelled[number] = spelled.get(number, "") + letter
    told: dict[str, Value] = {}
    at = 0
    for number, letters in spelled.items():
        piece = template.pieces[number]
        if isinstance(piece, Text):
            if letters != piece.letters:
                return Fault(at=at, text=f"it departs from the template at its letter {at + 1}.")
        else:
            value = int(letters) if piece.sort == "number" else letters
            if told.setdefault(piece.key, value) != value:
                text = f"it says {piece.key} twice: {told[piece.key]!r} and {value!r}."
                return Fault(at=at, text=text, key=piece.key)
        at += len(letters)
    return told


def spelled(template: Template, key: str, value: Value, separator: str = "") -> Value | Fault:
    """Return a value as it stands in names by a template that has a field of that key."""
    number, field = next(
        (number, one)
        for number, one in enumerate(template.pieces)
        if isinstance(one, Field) and one.key == key
    )
    return _written(template, number, field, value, separator)


def tell(text: str, values: Mapping[str, Value]) -> str | Fault:
    """Fill a text that is not a name, in which any letters may stand and nothing is read back.

    Values stand as they are known, case folded and numbers as wide as is asked.
    """
    read = pieces_of(text)
    if isinstance(read, Fault):
        return read
    pieces, groups = read
    told = ""
    for piece in (pieces[number] for number in _standing(pieces, groups, values)):
        if isinstance(piece, Text):
            told += piece.letters
        elif piece.key not in values:
            return Fault(at=piece.at, text=f"nothing is known for {piece.key}.", key=piece.key)
        else:
            told += _folded(piece, _spelled(piece, values[piece.key]))
    return told


def _standing(pieces: Sequence[Piece], groups: Groups, values: Mapping[str, Value]) -> list[int]:
    """Return the pieces that stand in a name: all but brackets of which something is not known."""
    standing: list[int] = []
    for optional, members in groups:
        fields = [one for number in members if isinstance(one := pieces[number], Field)]
        if not optional or all(field.key in values for field in fields):
            standing += members
    return standing


def _spelled(field: Field, value: Value) -> str:
    return f"{value:0{field.width or 1}d}" if isinstance(value, int) else value


def _written(
    template: Template, number: int, field: Field, value: Value, separator: str
) -> Value | Fault:
    spelled = _settled(template, number, field, value, separator)
    why = ""
    if field.sort == "number":
        if not isinstance(spelled, int) or spelled < (field.width is None):
            why = "is not a number that can stand there"
        elif field.width is not None and spelled >= 10**field.width:
            why = f"does not fit into {field.width} digits"
    elif field.sort == "role":
        why = "" if spelled in template.roles else "is not one of the recipient's words"
    elif field.sort == "date":
        why = "" if re.fullmatch(r"[0-9]{8}", str(spelled), re.ASCII) else "is not a day"
    else:
        why = _misfit(template, number, field, str(spelled))
    if not why:
        return spelled
    shown = f"{field.key} {printable(str(value), 60)!r}"
    return Fault(at=field.at, text=f"{shown} {why}.", key=field.key)


def _misfit(template: Template, number: int, field: Field, text: str) -> str:
    wrong = [c for c in text if not _takes(c, template, number)]
    if wrong:
        return f"holds {printable(wrong[0])!r}, which cannot stand there"
    if not text:
        return "is empty"
    if field.width is not None and len(text) != field.width:
        return f"has {len(text)} letters, and {field.width} are asked"
    return ""


def _takes(letter: str, template: Template, number: int) -> bool:
    if letter in template.positions.alphabet:
        return letter in template.takes[number]
    return is_allowed(letter, template.takes[number])


def _settled(template: Template, number: int, field: Field, value: Value, separator: str) -> Value:
    """Fold case, and put the separator for what may not stand there."""
    if field.sort == "number" or isinstance(value, int):
        return value
    if field.sort == "date":
        return value.replace("-", "")
    if field.sort == "role":
        return value
    takes = template.takes[number]
    if separator and OTHER not in takes and not value.isascii():
        value = ascii_reduced(value)
    text = composed(_folded(field, value))
    if not separator or separator not in takes:
        return text
    fits = (c if _takes(c, template, number) else "\0" for c in text)
    return separator.join(part for part in "".join(fits).split("\0") if part)


def _folded(field: Field, text: str) -> str:
    return {"lower": text.lower(), "upper": text.upper()}.get(field.case, text)
