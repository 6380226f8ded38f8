"""The blocks of a tar as we write it: POSIX.1-2017, utility pax, and always the same octets.

Owner 0, no names of owners, files 0644, directories 0755, one time for all. An extended header
stands only before a member whose path or size does not fit the plain one, or whose path is not
ASCII; octets that are not UTF-8 are announced by `hdrcharset=BINARY`, as pax has it.
"""

from tailsout.bag.archive.tar_header import BLOCK, CHECKSUM, MOST_IN_OCTAL
from tailsout.ground.portable import is_decoded

_NAME_OCTETS, _PREFIX_OCTETS = 100, 155
_RECORD_OCTETS = 20 * BLOCK
"""A tar is filled up to whole records, which old readers ask for."""
_EXTENDED_NAME = b"././@PaxHeader"


def entry(path: str, octets: int | None, time: int) -> bytes:
    """Return all that stands before a file's octets; `octets` is None for a directory.

    `path` begins with the base directory; `time` is in seconds since 1970.
    """
    raw = path.encode("utf-8", "surrogateescape") + (b"/" if octets is None else b"")
    size = octets or 0
    records = b""
    parts = _split(raw) if raw.isascii() else None
    if parts is None:
        if not is_decoded(path):
            records += record(b"hdrcharset", b"BINARY")
        records += record(b"path", raw)
        parts = b"", _stand_in(raw)
    if size > MOST_IN_OCTAL:
        records += record(b"size", b"%d" % size)
        size = 0
    flag = b"5" if octets is None else b"0"
    extended = b""
    if records:
        extended = _block(b"", _EXTENDED_NAME, len(records), b"x", time) + filled(records)
    return extended + _block(*parts, size, flag, time)


def filling(octets: int) -> bytes:
    """Return the zeros that follow so many octets of a file."""
    return bytes(-octets % BLOCK)


def filled(octets: bytes) -> bytes:
    """Return octets and the zeros that follow them."""
    return octets + filling(len(octets))


def end(octets: int) -> bytes:
    """Return the end of a tar that has so many octets without it."""
    return bytes(2 * BLOCK + -(octets + 2 * BLOCK) % _RECORD_OCTETS)


def record(key: bytes, value: bytes) -> bytes:
    """Return one record of an extended header: its length counts its own digits too."""
    rest = b" %s=%s\n" % (key, value)
    length = len(rest)
    while length != len(rest) + len(b"%d" % length):
        length = len(rest) + len(b"%d" % length)
    return b"%d" % length + rest


def _split(raw: bytes) -> tuple[bytes, bytes] | None:
    """Return prefix and name, parted at a slash if need be; None if they do not fit."""
    if len(raw) <= _NAME_OCTETS:
        return b"", raw
    at = raw.rfind(b"/", 0, min(_PREFIX_OCTETS + 1, len(raw) - 1))
    prefix, name = raw[: max(at, 0)], raw[at + 1 :]
    return (prefix, name) if prefix and len(name) <= _NAME_OCTETS else None


def _stand_in(raw: bytes) -> bytes:
    """Return what a reader without extended headers takes for the name."""
    shown = bytes(octet if octet < 0x80 else ord("_") for octet in raw)
    return shown[-_NAME_OCTETS:].lstrip(b"/")


def _block(prefix: bytes, name: bytes, octets: int, flag: bytes, time: int) -> bytes:
    block = bytearray(BLOCK)
    mode = b"0000755\0" if flag == b"5" else b"0000644\0"
    fields = (
        (0, name),
        (100, mode + b"0000000\0" * 2),
        (124, b"%011o\0%011o\0" % (octets, time)),
        (156, flag),
        (257, b"ustar\x0000"),
        # No device; some readers ask for digits there all the same.
        (329, b"0000000\0" * 2),
        (345, prefix),
    )
    for at, content in fields:
        block[at : at + len(content)] = content
    block[CHECKSUM] = b" " * 8
    block[CHECKSUM] = b"%06o\0 " % sum(block)
    return bytes(block)
