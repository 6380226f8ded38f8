"""A `LIST` of type `INFO`: what a file says of itself in words. RIFF 1991 chapter 2.

Each sub-chunk is a text ended by a NUL. Whether the text has the form that its id asks for (a
date in ICRD, no line breaks in ICMT) is for others to judge; writing is strict as to characters.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from types import MappingProxyType

from tailsout.ground.damage import Damage
from tailsout.ground.errors import MaterialError
from tailsout.ground.units import printable
from tailsout.wave import lists, zstr

TYPE = b"INFO"
"""The list type."""

TITLES = MappingProxyType(
    {
        "IARL": "Archival location",
        "IART": "Artist",
        "ICMS": "Commissioned",
        "ICMT": "Comments",
        "ICOP": "Copyright",
        "ICRD": "Creation date",
        "ICRP": "Cropped",
        "IDIM": "Dimensions",
        "IDPI": "Dots per inch",
        "IENG": "Engineer",
        "IGNR": "Genre",
        "IKEY": "Keywords",
        "ILGT": "Lightness",
        "IMED": "Medium",
        "INAM": "Name",
        "IPLT": "Palette setting",
        "IPRD": "Product",
        "ISBJ": "Subject",
        "ISFT": "Software",
        "ISHP": "Sharpness",
        "ISRC": "Source",
        "ISRF": "Source form",
        "ITCH": "Technician",
        # Of the 1994 update.
        "IDIT": "Digitization time",
        "ISMP": "SMPTE time code",
    }
)
"""What each id stands for; others may be met and are kept."""

_ID = re.compile(r"[A-Z0-9]{4}", re.ASCII)
_WORDS = zstr.Words(
    unended="info-unended",
    nuls="info-nuls",
    after_nul="info-after-nul",
    not_ascii="info-not-ascii",
    control="info-control",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """One statement."""

    id: str
    """Four characters."""
    text: str


def decode(
    payload: bytes, *, offset: int = 0, code_page: int | None = None
) -> tuple[tuple[Entry, ...], tuple[Damage, ...]]:
    """Read the payload, from the list type on, of a LIST that lies at `offset` in the file.

    `code_page` is the CSET chunk's. Entries stand in file order, repeated ones too. Text is kept
    as it stands: UTF-8, else of the code page, else ISO 8859-1, where it is not ASCII.
    """
    found, faults = lists.parts_of(TYPE, payload, offset=offset)
    damage = list(faults)
    entries: list[Entry] = []
    seen: set[bytes] = set()
    for part in found:
        if part.id in lists.LISTS:
            continue
        name = f"{part.id.decode('ascii')} of INFO"
        if part.id in seen:
            text = f"{name} comes more than once; each id should come once."
            damage.append(Damage(kind="info-duplicate", offset=part.offset, text=text))
        seen.add(part.id)
        text, faults = zstr.decode(
            part.payload, name, _WORDS, offset=part.offset, code_page=code_page
        )
        damage += faults
        entries.append(Entry(id=part.id.decode("ascii"), text=text))
    return tuple(entries), tuple(damage)


def encode(entries: Sequence[Entry]) -> bytes:
    """Return the payload, from the list type on, in the order given.

    Raises MaterialError, naming the id, for one that is not four capitals or digits, names a list
    or comes twice, and for text that is not ASCII or has control characters.
    """
    ids = [entry.id for entry in entries]
    for one in ids:
        if not _ID.fullmatch(one) or one.encode("ascii") in lists.LISTS:
            raise MaterialError(
                f"The id '{printable(one, 20)}' of INFO is not four capitals or digits that name a "
                "text."
            )
    if len(set(ids)) < len(ids):
        twice = next(one for one in ids if ids.count(one) > 1)
        raise MaterialError(f"{twice} of INFO comes twice.", "Join the texts into one.")
    return lists.join(
        TYPE,
        (
            (entry.id.encode("ascii"), zstr.encode(entry.text, f"{entry.id} of INFO"))
            for entry in entries
        ),
    )
