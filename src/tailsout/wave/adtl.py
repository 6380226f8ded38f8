"""A `LIST` of type `adtl`: labels, notes and stretches of cue points. RIFF 1991 chapter 3.

    labl, note  u32 name of the cue point · text ended by a NUL
    ltxt        u32 name · u32 frames · purpose, four octets · u16 country · u16 language ·
                u16 dialect · u16 code page · text to the end of the sub-chunk

Other sub-chunks are kept as they stand. A lower-case `list` id, which some recorders write, is
for the caller to let through.
"""

import struct
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from types import MappingProxyType

from tailsout.ground.damage import Damage
from tailsout.ground.errors import MaterialError
from tailsout.ground.units import counted
from tailsout.wave import lists, zstr
from tailsout.wave.chunk import is_id, shown
from tailsout.wave.lists import Part

TYPE = b"adtl"
"""The list type."""

REGION = b"rgn "
"""The usual purpose of a stretch."""

_NUMBER = struct.Struct("<I")
_STRETCH = struct.Struct("<II4sHHHH")
_WORDS = zstr.Words(
    unended="adtl-unended",
    nuls="adtl-nuls",
    after_nul="adtl-after-nul",
    not_ascii="adtl-not-ascii",
    control="adtl-control",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Label:
    """`labl`: a title of a cue point."""

    number: int
    """The cue point's."""
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Note:
    """`note`: a comment on a cue point."""

    number: int
    """The cue point's."""
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Stretch:
    """`ltxt`: a cue point has a length, and may have a text for all of it."""

    number: int
    """The cue point's."""
    frames: int
    purpose: bytes = REGION
    """Four octets."""
    country: int = 0
    """This number and those below are RIFF 1991's; 0 says nothing."""
    language: int = 0
    dialect: int = 0
    code_page: int = 0
    text: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Other:
    """Any other sub-chunk."""

    id: bytes
    payload: bytes


Item = Label | Note | Stretch | Other


def decode(
    payload: bytes,
    *,
    offset: int = 0,
    numbers: Collection[int] | None = None,
    code_page: int | None = None,
) -> tuple[tuple[Item, ...], tuple[Damage, ...]]:
    """Read the payload, from the list type on, of a LIST that lies at `offset` in the file.

    `numbers` are those of the cue points, where they are known; `code_page` is the CSET chunk's.
    Items stand in file order; one that is too short for its figures is left out.
    """
    found, faults = lists.parts_of(TYPE, payload, offset=offset)
    damage = list(faults)
    items: list[Item] = []
    for part in found:
        needed = _NEEDED.get(part.id)
        if needed is None:
            items.append(Other(id=part.id, payload=part.payload))
            continue
        name = shown(part.id)
        if len(part.payload) < needed:
            text = f"A {name} of adtl has {counted(len(part.payload), 'octet')}, it needs {needed}."
            damage.append(Damage(kind="adtl-short", offset=part.offset, text=text))
            continue
        (number,) = _NUMBER.unpack_from(part.payload)
        if numbers is not None and number not in numbers:
            text = f"A {name} of adtl is for cue point {number}, which the cue chunk does not have."
            damage.append(Damage(kind="adtl-orphan", offset=part.offset, text=text))
        item, faults = _item(part, number, code_page)
        items.append(item)
        damage += faults
    return tuple(items), tuple(damage)


def encode(items: Iterable[Item]) -> bytes:
    """Return the payload, from the list type on, in the order given.

    Raises MaterialError for text that is not ASCII or has control characters, for figures that
    do not fit their fields, and for a purpose that is not four printable ASCII characters.
    """
    return lists.join(TYPE, (_octets(item) for item in items))


_NEEDED: Mapping[bytes, int] = MappingProxyType(
    {b"labl": _NUMBER.size, b"note": _NUMBER.size, b"ltxt": _STRETCH.size}
)


def _item(part: Part, number: int, code_page: int | None) -> tuple[Item, tuple[Damage, ...]]:
    raw = part.payload[_NEEDED[part.id] :]
    name = f"The {shown(part.id)} of cue point {number}"
    if part.id != b"ltxt":
        text, faults = zstr.decode(raw, name, _WORDS, offset=part.offset, code_page=code_page)
        return (Label if part.id == b"labl" else Note)(number=number, text=text), faults
    _, frames, purpose, country, language, dialect, own_page = _STRETCH.unpack_from(part.payload)
    # RIFF 1991 asks for no NUL here, though some write one.
    ended = raw if b"\0" in raw else raw + b"\0"
    text, faults = zstr.decode(
        ended, name, _WORDS, offset=part.offset, code_page=own_page or code_page
    )
    stretch = Stretch(
        number=number,
        frames=frames,
        purpose=purpose,
        country=country,
        language=language,
        dialect=dialect,
        code_page=own_page,
        text=text,
    )
    return stretch, faults


def _octets(item: Item) -> tuple[bytes, bytes]:
    if isinstance(item, Other):
        return item.id, item.payload
    try:
        if isinstance(item, Stretch):
            return b"ltxt", _stretch(item)
        chunk_id = b"labl" if isinstance(item, Label) else b"note"
        name = f"The {shown(chunk_id)} of cue point {item.number}"
        return chunk_id, _NUMBER.pack(item.number) + zstr.encode(item.text, name)
    except struct.error as error:
        raise MaterialError(
            f"A figure said of cue point {item.number} does not fit its field of adtl."
        ) from error


def _stretch(item: Stretch) -> bytes:
    name = f"The ltxt of cue point {item.number}"
    if not is_id(item.purpose):
        raise MaterialError(f"{name} has a purpose that is not four printable ASCII characters.")
    figures = _STRETCH.pack(
        item.number,
        item.frames,
        item.purpose,
        item.country,
        item.language,
        item.dialect,
        item.code_page,
    )
    return figures + zstr.characters(item.text, name)
