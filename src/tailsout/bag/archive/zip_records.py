"""The records of a zip taken apart by octets: APPNOTE 6.3, §4.3 and §4.5.

Integers only; every length is held against the octets that are there. What two readers may take
differently (two records of one sort, a 64-bit figure beside another) is told as such.
"""

import struct
import zlib
from collections.abc import Mapping
from dataclasses import dataclass

from tailsout.bag.archive.source import StoppedError

LOCAL, CENTRAL, END, END_64, LOCATOR_64 = (
    b"PK\3\4",
    b"PK\1\2",
    b"PK\5\6",
    b"PK\6\6",
    b"PK\6\7",
)
DESCRIPTOR = b"PK\7\x08"
END_OCTETS, LOCATOR_OCTETS, END_64_OCTETS = 22, 20, 56
CENTRAL_OCTETS, LOCAL_OCTETS = 46, 30
_END = struct.Struct("<4s4H2IH")
_LOCATOR = struct.Struct("<4sIQI")
_END_64 = struct.Struct("<4sQ2H2I4Q")
_CENTRAL = struct.Struct("<4s6H3I5H2I")
_LOCAL = struct.Struct("<4s5H3I2H")
_EXTRA = struct.Struct("<2H")
_ZIP64_EXTRA, _UNICODE_PATH = 0x0001, 0x7075
FULL_16, FULL_32 = 0xFFFF, 0xFFFF_FFFF
"""What stands where a figure did not fit: the 64-bit one is elsewhere."""


def damaged(why: str) -> StoppedError:
    """Return what stops the reading of a zip that is not as it should be."""
    return StoppedError("archive-damaged", f"Of the zip: {why}.")


def ambiguous(why: str) -> StoppedError:
    """Return what stops the reading of a zip that two readers may take differently."""
    return StoppedError("archive-ambiguous", f"Of the zip: {why}.")


@dataclass(frozen=True, slots=True, kw_only=True)
class End:
    """The end of the central directory, as its record says, and the 64-bit one if there is one."""

    entries: int
    directory_octets: int
    directory_offset: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """What the central directory or a local header says of a member."""

    flags: int
    method: int
    crc32: int
    packed_octets: int
    octets: int
    name: bytes
    other_name: bytes | None
    """UTF-8, from the field Info-ZIP adds for a name in another encoding; None if there is none."""
    version: int = 0
    """Of the format that is needed to read it, times ten."""
    mode: int = 0
    """Of Unix; 0 where there is none."""
    offset: int = 0
    """Of the local header."""


def comment_octets(record: bytes) -> int:
    """Return the length of the comment that an end record of 22 octets announces."""
    return int(_END.unpack(record)[7])


def parse_end(record: bytes, locator: bytes, end_64: bytes) -> End:
    """Read the end record of 22 octets, with the 64-bit one; the latter may be empty."""
    _, disk, start_disk, here, entries, octets, offset, _ = _END.unpack(record)
    wide = End(entries=entries, directory_octets=octets, directory_offset=offset)
    narrow = (entries, octets, offset)
    if end_64:
        _, _, _, _, disk, start_disk, here, *figures = _END_64.unpack(end_64)
        entries, octets, offset = figures
        wide = End(entries=entries, directory_octets=octets, directory_offset=offset)
        full = (FULL_16, FULL_32, FULL_32)
        if any(
            one not in {other, most} for one, other, most in zip(narrow, figures, full, strict=True)
        ):
            raise ambiguous("its two end records differ")
        if _LOCATOR.unpack(locator)[1] or _LOCATOR.unpack(locator)[3] > 1:
            raise ambiguous("it is said to be one of several volumes")
    elif FULL_32 in narrow[1:] or entries == FULL_16:
        raise damaged("its end record points to a 64-bit one that is not there")
    if disk or start_disk or here != entries:
        raise ambiguous("it is said to be one of several volumes")
    return wide


def locator_offset(locator: bytes) -> int:
    """Return where a locator says that the 64-bit end record begins."""
    return int(_LOCATOR.unpack(locator)[2])


def end_64_octets(record: bytes) -> int:
    """Return how long a 64-bit end record says it is, all in all."""
    return int(_END_64.unpack(record)[1]) + 12


def parse_central(directory: bytes, position: int) -> tuple[Entry, int]:
    """Read one entry of the central directory; return it and where the next one begins."""
    record = directory[position : position + CENTRAL_OCTETS]
    if len(record) < CENTRAL_OCTETS or record[:4] != CENTRAL:
        raise damaged("an entry of its directory does not begin as one")
    fields = _CENTRAL.unpack(record)
    flags, method = fields[3], fields[4]
    crc32, packed, octets, name_octets, extra_octets, comment, disk, _, attributes, offset = fields[
        7:
    ]
    start = position + CENTRAL_OCTETS
    end = start + name_octets + extra_octets + comment
    if end > len(directory):
        raise damaged("an entry of its directory reaches beyond it")
    name = directory[start : start + name_octets]
    extra = _extra(directory[start + name_octets : start + name_octets + extra_octets])
    octets, packed, offset = _wide(extra, octets, packed, offset)
    if disk not in {0, FULL_16}:
        raise ambiguous("it is said to be one of several volumes")
    entry = Entry(
        flags=flags,
        method=method,
        crc32=crc32,
        packed_octets=packed,
        octets=octets,
        name=name,
        other_name=_other_name(extra, name),
        version=fields[2],
        mode=attributes >> 16,
        offset=offset,
    )
    return entry, end


def parse_local(record: bytes) -> tuple[Entry, int, int]:
    """Read the fixed part of a local header; return it with the lengths of name and extra field.

    The entry has no name yet, and its sizes may stand in the extra field: see `with_extra`.
    """
    if len(record) < LOCAL_OCTETS or record[:4] != LOCAL:
        raise damaged("a local header is not where its directory says")
    fields = _LOCAL.unpack(record)
    entry = Entry(
        flags=fields[2],
        method=fields[3],
        crc32=fields[6],
        packed_octets=fields[7],
        octets=fields[8],
        name=b"",
        other_name=None,
    )
    return entry, fields[9], fields[10]


def with_extra(entry: Entry, name: bytes, extra_field: bytes) -> Entry:
    """Return a local header with its name and what its extra field says."""
    extra = _extra(extra_field)
    octets, packed, _ = _wide(extra, entry.octets, entry.packed_octets, 0)
    return Entry(
        flags=entry.flags,
        method=entry.method,
        crc32=entry.crc32,
        packed_octets=packed,
        octets=octets,
        name=name,
        other_name=_other_name(extra, name),
    )


def descriptors(entry: Entry) -> frozenset[bytes]:
    """Return the forms of the record that may follow the octets of an entry (§4.3.9)."""
    found = set()
    for form in ("<2I", "<2Q"):
        try:
            sizes = struct.pack(form, entry.packed_octets, entry.octets)
        except struct.error:
            continue
        figures = struct.pack("<I", entry.crc32) + sizes
        found |= {figures, DESCRIPTOR + figures}
    return frozenset(found)


def _extra(field: bytes) -> Mapping[int, bytes]:
    found: dict[int, bytes] = {}
    position = 0
    while position < len(field):
        head = field[position : position + _EXTRA.size]
        if len(head) < _EXTRA.size:
            # Filling that aligns the octets of a member, as some writers leave it.
            if any(head):
                raise damaged("an extra field is cut short")
            break
        number, octets = _EXTRA.unpack(head)
        position += _EXTRA.size + octets
        if position > len(field):
            raise damaged("an extra field is cut short")
        if number in found and number in {_ZIP64_EXTRA, _UNICODE_PATH}:
            raise ambiguous("an extra field stands twice")
        found[number] = field[position - octets : position]
    return found


def _wide(
    extra: Mapping[int, bytes], octets: int, packed: int, offset: int
) -> tuple[int, int, int]:
    """Return the figures, those in 64 bits where the others are full (§4.5.3)."""
    figures = [octets, packed, offset]
    field = extra.get(_ZIP64_EXTRA, b"")
    for index, figure in enumerate(figures):
        if figure == FULL_32:
            if len(field) < 8:
                raise damaged("a 64-bit size or offset is not there")
            figures[index] = int.from_bytes(field[:8], "little")
            field = field[8:]
    return figures[0], figures[1], figures[2]


def _other_name(extra: Mapping[int, bytes], name: bytes) -> bytes | None:
    """Return the UTF-8 name of Info-ZIP's field, if it is of this name (§4.6.9)."""
    field = extra.get(_UNICODE_PATH, b"")
    is_its = field[:1] == b"\1" and field[1:5] == zlib.crc32(name).to_bytes(4, "little")
    return field[5:] if is_its else None
