"""Settles what each field of a template may hold, so that every name has one reading."""

from collections.abc import Sequence

from tailsout.mapping.names.fields import MOST_LETTERS, Fault, Field, Groups, Piece, Template, Text
from tailsout.mapping.names.positions import OTHER, Branch, Group, Slot, positions

_DIGITS = frozenset("0123456789")


def apart(
    text: str,
    pieces: tuple[Piece, ...],
    groups: Groups,
    roles: tuple[str, ...],
    letters: frozenset[str],
) -> Template | Fault:
    """Return the template, or the fault that some name by it has two readings.

    Where two fields could not be told apart, the later ones may not hold the characters that part
    fields in this template.
    """
    own = frozenset(c for one in pieces if isinstance(one, Text) for c in one.letters)
    parting = frozenset(c for c in own if not c.isalnum())
    free = [number for number, one in enumerate(pieces) if _holds_text(one)]

    def settled(narrowed: Sequence[int]) -> Template:
        takes = {number: _cased(pieces[number], letters | own) for number in free}
        takes |= {number: takes[number] - parting for number in narrowed}
        branches = [_branches(one, takes.get(number), roles) for number, one in enumerate(pieces)]
        laid = positions(
            [
                Group(pieces=tuple((n, branches[n]) for n in members), optional=optional)
                for optional, members in groups
            ],
            (letters | own) - {OTHER},
        )
        return Template(
            text=text, pieces=pieces, groups=groups, takes=takes, roles=roles, positions=laid
        )

    narrowest = settled(free)
    if len(narrowest.positions.takes) > MOST_LETTERS:
        return Fault(at=0, text=f"names by it could need more than {MOST_LETTERS} letters.")
    twice = narrowest.positions.two_readings()
    if twice is not None:
        return _told_apart(pieces, twice)
    wider = (settled(free[count:]) for count in range(len(free), 0, -1))
    return next((one for one in wider if one.positions.two_readings() is None), narrowest)


def _holds_text(piece: Piece) -> bool:
    return isinstance(piece, Field) and piece.sort == "text"


def _cased(piece: Piece, letters: frozenset[str]) -> frozenset[str]:
    case = piece.case if isinstance(piece, Field) else ""
    if case == "lower":
        return frozenset(c for c in letters if not c.isupper())
    return frozenset(c for c in letters if not c.islower()) if case else letters


def _branches(
    piece: Piece, takes: frozenset[str] | None, roles: tuple[str, ...]
) -> tuple[Branch, ...]:
    if isinstance(piece, Text):
        return (_spelled(piece.letters),)
    if takes is not None:
        one = Slot(takes=takes, repeats=piece.width is None)
        return ((one,) * (piece.width or 1),)
    if piece.sort == "role":
        return tuple(_spelled(role) for role in dict.fromkeys(roles))
    digit = Slot(takes=_DIGITS)
    if piece.sort == "date":
        return ((digit,) * 8,)
    if piece.width is not None:
        return ((digit,) * piece.width,)
    first = Slot(takes=_DIGITS - {"0"})
    return ((first,), (first, Slot(takes=_DIGITS, repeats=True)))


def _spelled(letters: str) -> Branch:
    return tuple(Slot(takes=frozenset({letter})) for letter in letters)


def _told_apart(
    pieces: tuple[Piece, ...], twice: tuple[str, tuple[int, ...], tuple[int, ...]]
) -> Fault:
    name, one, other = twice
    differ = next(count for count in range(len(one)) if one[count] != other[count])
    ways = " or as ".join(_reading(pieces, name, way) for way in (one, other))
    at = min(pieces[one[differ]].at, pieces[other[differ]].at)
    return Fault(at=at, text=f"a name like {name!r} could be read as {ways}.")


def _reading(pieces: tuple[Piece, ...], name: str, way: tuple[int, ...]) -> str:
    told: dict[int, str] = {}
    for number, letter in zip(way, name, strict=True):
        told[number] = told.get(number, "") + letter
    shown = (
        f"{piece.key} {letters!r}"
        for number, letters in told.items()
        if isinstance(piece := pieces[number], Field)
    )
    return ", ".join(shown)
