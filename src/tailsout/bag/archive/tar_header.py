"""One block of a tar header, and the records of an extended one, taken apart by octets.

POSIX.1-2017, utility pax: ustar Interchange Format, pax Interchange Format; beside them the long
names and binary numbers of GNU tar, as its manual describes them. Integers only, and nothing is
looked at that is not asked for: owners, modes and times of a stranger's archive mean nothing here.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass

BLOCK = 512
CHECKSUM = slice(148, 156)
_NAME, _SIZE, _TYPE, _MAGIC, _PREFIX = (
    slice(0, 100),
    slice(124, 136),
    slice(156, 157),
    slice(257, 265),
    slice(345, 500),
)
_OTHER_NUMBERS = (
    slice(100, 108),
    slice(108, 116),
    slice(116, 124),
    slice(136, 148),
    slice(329, 337),
    slice(337, 345),
)
"""Mode, owner, group, time, device: what they say is no matter, but some readers stop at one that
is not a number."""
_USTAR = b"ustar\x0000"
# Danger: some readers end a number at the first octet of zeros, also where that comes before it.
_OCTAL = re.compile(rb" *([0-7]*)[ \0]*")
_LENGTH = re.compile(rb"([1-9][0-9]{0,8}) ")
_DIGITS = re.compile(rb"[0-9]{1,19}")
MOST_IN_OCTAL = 8**11 - 1
"""The largest size that fits a header; above it an extended record or a binary number says it."""
DECISIVE = frozenset({b"path", b"linkpath", b"size"})


@dataclass(frozen=True, slots=True, kw_only=True)
class Header:
    """What one block says."""

    name: bytes
    octets: int
    sort: bytes
    """Its type flag: one octet."""


def parse(block: bytes) -> Header | str:
    """Take a block of 512 octets apart, or say what is wrong with it."""
    stated = _octal(block[CHECKSUM])
    # The checksum's own field counts as eight blanks.
    if stated != sum(block) - sum(block[CHECKSUM]) + 8 * ord(" "):
        return "the checksum of a header does not fit it"
    octets = number(block[_SIZE])
    if octets is None:
        return f"a header states the size {block[_SIZE].hex()}, which is not a number"
    if octets < 0:
        return f"a header states the size {octets}"
    if any(number(block[field]) is None for field in _OTHER_NUMBERS):
        return "a header holds a mode, owner, time or device that is not a number"
    name, prefix = _cut(block[_NAME]), _cut(block[_PREFIX])
    if block[_MAGIC] == _USTAR and prefix:
        name = prefix + b"/" + name
    return Header(name=name, octets=octets, sort=block[_TYPE])


def number(field: bytes) -> int | None:
    """Read octal digits, or the binary number of GNU tar; None if it is neither."""
    # The first octet says that it is binary, and its sign.
    if field[0] in {0x80, 0xFF}:
        value = int.from_bytes(field[1:], "big")
        return value if field[0] == 0x80 else value - (1 << (8 * (len(field) - 1)))
    return _octal(field)


def _octal(field: bytes) -> int | None:
    match = _OCTAL.fullmatch(field)
    if match is None:
        return None
    return int(match[1], 8) if match[1] else 0


def _cut(field: bytes) -> bytes:
    return field.partition(b"\0")[0]


def records(content: bytes) -> Mapping[bytes, bytes] | str:
    """Read the records of an extended header, or say what is wrong with them.

    A record of what decides where octets go (path, linkpath, size) may stand once only: readers
    differ on which of two counts.
    """
    found: dict[bytes, bytes] = {}
    position = 0
    while position < len(content):
        match = _LENGTH.match(content, position)
        if match is None:
            return "a record of an extended header does not begin with its length"
        end = position + int(match[1])
        record = content[match.end() : end]
        key, equals, value = record[:-1].partition(b"=")
        if end > len(content) or not record.endswith(b"\n") or not equals or not key:
            return "a record of an extended header is not length, key, value and line feed"
        if key in found and key in DECISIVE:
            return f"an extended header states {key.decode()} twice"
        found[key] = value
        position = end
    return found


def record_size(value: bytes) -> int | None:
    """Read the size that a record states; None if it is not a number."""
    return int(value) if _DIGITS.fullmatch(value) else None
