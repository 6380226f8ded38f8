"""The sub-chunks of a `LIST` chunk: RIFF 1991 chapter 2.

    list type, four octets · sub-chunks of {id, u32 size, payload, a pad octet where it is odd}

A LIST inside a LIST is kept as it stands and never opened, so that no file decides how deep the
reading goes. What a sub-chunk says is for `info` and `adtl`.
"""

from collections.abc import Iterable
from dataclasses import dataclass

from tailsout.ground.damage import Damage
from tailsout.ground.errors import MaterialError
from tailsout.ground.units import counted
from tailsout.wave.chunk import HEADER, is_id, shown

MAX_PARTS = 10_000
"""Most sub-chunks that are read or written."""

_TYPE_OCTETS = 4
LISTS = frozenset({b"LIST", b"list", b"RIFF"})
"""Ids of chunks that hold sub-chunks; they are not opened."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """One chunk, inside a LIST or not, and where it lies."""

    id: bytes
    """Four octets as they stand: case and trailing spaces count."""
    offset: int
    """Of the payload, in octets from the start of the file."""
    payload: bytes
    """Without pad."""


def parts(payload: bytes, *, offset: int = 0) -> tuple[bytes, tuple[Part, ...], tuple[Damage, ...]]:
    """Return list type and sub-chunks of a LIST payload that lies at `offset` in the file.

    Of a sub-chunk that runs past the end of the list, what lies inside is kept. The type is empty
    where the payload is too short to have one.
    """
    if len(payload) < _TYPE_OCTETS:
        octets = counted(len(payload), "octet")
        text = f"The LIST chunk has {octets}, its type alone needs {_TYPE_OCTETS}."
        return b"", (), (Damage(kind="list-short", offset=offset, text=text),)
    reading = _Reading(payload, offset)
    reading.run()
    return payload[:_TYPE_OCTETS], tuple(reading.found), tuple(reading.damage)


def parts_of(
    list_type: bytes, payload: bytes, *, offset: int = 0
) -> tuple[tuple[Part, ...], tuple[Damage, ...]]:
    """Return the sub-chunks of a LIST that must be of a type; none where it is of another."""
    met, found, damage = parts(payload, offset=offset)
    if met and met != list_type:
        text = f"The LIST is of type {shown(met)}, not {shown(list_type)}; it is not read."
        return (), (Damage(kind="list-type", offset=offset, text=text),)
    return found, damage


def join(list_type: bytes, found: Iterable[tuple[bytes, bytes]]) -> bytes:
    """Return a LIST payload of sub-chunks, each an id and a payload, with their pads.

    Raises MaterialError for an id that is not four printable ASCII characters, and for more
    sub-chunks than are read.
    """
    pieces = [list_type]
    for chunk_id, payload in found:
        if not is_id(chunk_id):
            raise MaterialError(
                f"The id '{shown(chunk_id)}' is not four printable ASCII characters."
            )
        pieces += (HEADER.pack(chunk_id, len(payload)), payload, b"\0" * (len(payload) % 2))
    if len(pieces) > 3 * MAX_PARTS + 1:
        raise MaterialError(
            f"A LIST of type {shown(list_type)} would have more than {MAX_PARTS} sub-chunks.",
            "Leave some out.",
        )
    return b"".join(pieces)


class _Reading:
    """One list under reading, and what was wrong with it so far."""

    def __init__(self, payload: bytes, offset: int) -> None:
        self.payload = payload
        self.offset = offset
        self.name = shown(payload[:_TYPE_OCTETS])
        self.at = _TYPE_OCTETS
        self.found: list[Part] = []
        self.damage: list[Damage] = []

    def run(self) -> None:
        for _ in range(MAX_PARTS):
            if self.at >= len(self.payload):
                return
            self.step()
        if self.at < len(self.payload):
            what = f"has more than {MAX_PARTS} sub-chunks; the others are not read."
            self.fault("list-too-many", self.at, what)

    def step(self) -> None:
        """Take one sub-chunk and move on to where the next one should start, or to the end."""
        at, octets = self.at, len(self.payload)
        self.at = octets
        if octets - at < HEADER.size:
            self.leftover(at)
            return
        chunk_id, stated = HEADER.unpack_from(self.payload, at)
        if not is_id(chunk_id):
            self.bad_id(chunk_id, at)
            return
        start = at + HEADER.size
        end = start + stated
        inside = self.payload[start:end]
        self.found.append(Part(id=chunk_id, offset=self.offset + start, payload=inside))
        if chunk_id in LISTS:
            what = f"holds another {shown(chunk_id)}, which is kept as it stands and not opened."
            self.fault("list-nested", at, what)
        if end > octets:
            what = (
                f"has a sub-chunk {shown(chunk_id)} of {stated} octets, of which {octets - start} "
                "lie inside the list."
            )
            self.fault("list-part-long", at, what)
            return
        self.at = end + (self.pad(shown(chunk_id), end) if stated % 2 else 0)

    def bad_id(self, chunk_id: bytes, at: int) -> None:
        if not self.payload[at:].strip(b"\0"):
            self.leftover(at)
            return
        what = (
            f"has the id '{shown(chunk_id)}', which is not four printable ASCII characters; the "
            "rest is not read."
        )
        self.fault("list-bad-id", at, what)

    def leftover(self, at: int) -> None:
        what = f"ends with {len(self.payload) - at} octets that are no sub-chunk."
        self.fault("list-leftover", at, what)

    def pad(self, name: str, end: int) -> int:
        """Return how many pad octets lie at `end`, where a sub-chunk of odd size ends."""
        octet = self.payload[end : end + 1]
        if octet == b"\0":
            return 1
        if not octet or (self.starts_at(end) and not self.starts_at(end + 1)):
            what = f"has no pad octet behind the sub-chunk {name}, whose size is odd."
            self.fault("list-missing-pad", end, what)
            return 0
        what = f"has 0x{octet.hex()} for the pad octet behind the sub-chunk {name}, it must be 0."
        self.fault("list-pad-not-zero", end, what)
        return 1

    def starts_at(self, at: int) -> bool:
        """Say whether a sub-chunk could start at `at`, or else the list ends there."""
        octets = len(self.payload)
        if at > octets - HEADER.size:
            return at == octets
        chunk_id, stated = HEADER.unpack_from(self.payload, at)
        return is_id(chunk_id) and stated <= octets - at - HEADER.size

    def fault(self, kind: str, at: int, what: str) -> None:
        text = f"The LIST of type {self.name} {what}"
        self.damage.append(Damage(kind=kind, offset=self.offset + at, text=text))
