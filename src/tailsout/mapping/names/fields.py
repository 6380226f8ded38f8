"""What a template of names is made of."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from tailsout.ground.portable import PORTABLE_LETTERS, not_portable
from tailsout.mapping.names.positions import OTHER, Positions
from tailsout.records.vocab import IdentifierKind

Value = str | int
Sort = Literal["text", "number", "date", "role"]

FIELDS: Mapping[str, tuple[Sort, str]] = {
    "package": ("text", "the package's own name"),
    "identifier": ("text", "the reel's first identifier, or its first of a kind"),
    "work": ("text", "what several reels form together, by its id"),
    "work-part": ("number", "which reel of that it is"),
    "side": ("text", "the side, by its id"),
    "side-number": ("number", "which side it is, counted from 1"),
    "region": ("text", "the one region in the file, by its id"),
    "region-number": ("number", "which region of its side that is, counted from 1"),
    "capture": ("text", "the capture, by its id"),
    "capture-number": ("number", "which capture of the job it is, counted from 1"),
    "part": ("number", "which part of a capture that the recorder split"),
    "track": ("number", "which of a capture's mono files"),
    "role": ("role", "what the file is, in the recipient's own word"),
    "studio": ("text", "who made the transfer"),
    "recipient": ("text", "who the package is for, by its id"),
    "date": ("date", "the day of the pass: year, month and day in eight digits"),
}
"""The words of fields: their sort, and what they stand for."""
LETTERS: Mapping[str, frozenset[str]] = {
    "POSIX portable": PORTABLE_LETTERS,
    "lower-case portable": frozenset(c for c in PORTABLE_LETTERS if not c.isupper()),
    "any": PORTABLE_LETTERS | {OTHER},
}
"""Sets of letters that names may be made of; `any` is what every system can hold."""
ROLES = ("master", "edit", "access", "image", "document", "calibration")
MOST_LETTERS = 200


@dataclass(frozen=True, slots=True, kw_only=True)
class Fault:
    """Why a template is none, why it cannot be filled, or why a name is not by it."""

    at: int
    """Number of the letter, counted from 0, in the template or in the name that was read."""
    text: str
    key: str = ""
    """The field it is about."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Text:
    """Letters that stand as they are."""

    at: int
    letters: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Field:
    """A place for something known."""

    at: int
    word: str
    kind: IdentifierKind | None = None
    """Of an identifier."""
    width: int | None = None
    case: Literal["", "lower", "upper"] = ""

    @property
    def key(self) -> str:
        """What its value is known by: the word, for an identifier with its kind."""
        return f"{self.word}:{self.kind.replace(' ', '-')}" if self.kind else self.word

    @property
    def sort(self) -> Sort:
        """What it holds."""
        return FIELDS[self.word][0]


Piece = Text | Field
Groups = tuple[tuple[bool, tuple[int, ...]], ...]
"""In order: whether a group may be left out, and the numbers of its pieces."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Template:
    """A template that was read: each name by it has one reading."""

    text: str
    pieces: tuple[Piece, ...]
    groups: Groups
    takes: Mapping[int, frozenset[str]]
    """Letters that a text field may hold, by the number of its piece."""
    roles: tuple[str, ...]
    positions: Positions

    @property
    def keys(self) -> frozenset[str]:
        """The keys of all its fields."""
        return frozenset(one.key for one in self.pieces if isinstance(one, Field))


def is_allowed(letter: str, letters: frozenset[str]) -> bool:
    """Tell whether a name may hold a letter; `letters` is one of the sets of `LETTERS`."""
    return letter in letters or (
        OTHER in letters and letter not in "/%" and not not_portable(f"a{letter}a")
    )
