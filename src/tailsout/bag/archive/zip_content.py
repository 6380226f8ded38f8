"""The octets of a member of a zip, unpacked as they come and held against its sizes and CRC-32."""

import zlib
from collections.abc import Iterator
from io import BufferedReader

from tailsout.bag.archive.limits import Limits
from tailsout.bag.archive.source import BLOCK_OCTETS, Plain, Source, Unpacked
from tailsout.bag.archive.tar import Member
from tailsout.bag.archive.zip_records import damaged
from tailsout.ground.units import counted, printable


def source(stream: BufferedReader, member: Member, limits: Limits) -> Source:
    """Return the octets of a member from its first on; `stream` is the whole archive."""
    stream.seek(member.offset)
    if member.packed_octets is None:
        return Plain(stream, member.octets)
    return Unpacked(Plain(stream, member.packed_octets), "deflate", limits)


def proved(stream: BufferedReader, member: Member, limits: Limits) -> Iterator[bytes]:
    """Yield the octets of a member.

    Raises StoppedError at once if there are more than it states, at the end if there are fewer, if
    something is left over, or if they have another CRC-32 (D04, D13).
    """
    from_zip = source(stream, member, limits)
    octets = crc32 = 0
    shown = printable(member.path, 200)
    while block := from_zip.some(BLOCK_OCTETS):
        octets += len(block)
        if octets > member.octets:
            raise damaged(
                f"{shown!r} holds more than the {counted(member.octets, 'octet')} it states"
            )
        crc32 = zlib.crc32(block, crc32)
        yield block
    if octets < member.octets:
        raise damaged(f"{shown!r} holds {counted(octets, 'octet')} and states {member.octets}")
    if isinstance(from_zip, Unpacked) and from_zip.has_tail:
        raise damaged(f"{shown!r} holds packed octets beyond its end")
    if crc32 != member.crc32:
        raise damaged(f"{shown!r} has another CRC-32 than it states")
