"""The `CSET` chunk: RIFF 1991 chapter 2: in which characters the text of a file is written.

    u16 code page · u16 country · u16 language · u16 dialect

Code page 0, like a file without the chunk, stands for ISO 8859-1.
"""

import struct
from dataclasses import dataclass
from types import MappingProxyType

from tailsout.ground.damage import Damage
from tailsout.ground.errors import MaterialError
from tailsout.ground.units import counted

_LAYOUT = struct.Struct("<HHHH")

# UTF-16 (1200) is left out: its text has NULs inside.
_DOS = (437, 737, 775, 850, 852, 855, 857, 858, *range(860, 867), 869)
_ASIAN = (874, 932, 936, 949, 950)
_WINDOWS = tuple(range(1250, 1259))
CODECS = MappingProxyType(
    {
        **{page: f"cp{page}" for page in (*_DOS, *_ASIAN, *_WINDOWS)},
        **{28590 + part: f"iso8859_{part}" for part in (*range(1, 10), 13, 15)},
        10000: "mac_roman",
        20866: "koi8_r",
        21866: "koi8_u",
        65001: "utf-8",
    }
)
"""Python's codec for each code page that is read."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Cset:
    """The chunk's fields, the numbers of RIFF 1991; 0 says nothing."""

    code_page: int = 0
    country: int = 0
    language: int = 0
    dialect: int = 0


def decode(payload: bytes, *, offset: int = 0) -> tuple[Cset | None, tuple[Damage, ...]]:
    """Read a `CSET` payload that lies at `offset` in the file; None where it is too short."""
    damage: tuple[Damage, ...] = ()
    if len(payload) != _LAYOUT.size:
        text = f"The CSET chunk has {counted(len(payload), 'octet')}, not {_LAYOUT.size}."
        damage = (Damage(kind="cset-size", offset=offset, text=text),)
    if len(payload) < _LAYOUT.size:
        return None, damage
    code_page, country, language, dialect = _LAYOUT.unpack_from(payload)
    found = Cset(code_page=code_page, country=country, language=language, dialect=dialect)
    return found, damage


def encode(cset: Cset) -> bytes:
    """Return the payload: 8 octets. Raises MaterialError for a number that is not of 16 bits."""
    try:
        return _LAYOUT.pack(cset.code_page, cset.country, cset.language, cset.dialect)
    except struct.error as error:
        raise MaterialError("A number of CSET is not of 16 bits.") from error
