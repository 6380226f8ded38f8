"""Walks a zip by its central directory, and holds every local header against it.

Nothing may stand before the first member, between two of them or after the end but what APPNOTE 6.3
puts there; no two members may share an octet. Else two readers find different things (CWE-436), or
one finds far more than is there. Files stored or deflated are yielded, nothing is unpacked here.
"""

import stat
from collections.abc import Iterator
from dataclasses import dataclass
from io import BufferedReader

from tailsout.bag.archive import zip_records as records
from tailsout.bag.archive.limits import Limits
from tailsout.bag.archive.source import StoppedError
from tailsout.bag.archive.tar import Member
from tailsout.bag.archive.zip_records import Entry, ambiguous, damaged
from tailsout.bag.notes import Notes
from tailsout.ground.units import printable

_MOST_COMMENT = 0xFFFF
_ENCRYPTED, _HAS_DESCRIPTOR, _PATCHED, _STRONG, _UTF_8, _MASKED = 0, 3, 5, 6, 11, 13
_SECRET = 1 << _ENCRYPTED | 1 << _STRONG | 1 << _MASKED | 1 << _PATCHED
_DECISIVE = _SECRET | 1 << _HAS_DESCRIPTOR | 1 << _UTF_8
STORED, DEFLATED = 0, 8
_METHODS = {
    9: " (Deflate64)",
    12: " (bzip2)",
    14: " (LZMA)",
    93: " (Zstandard)",
    95: " (XZ)",
    98: " (PPMd)",
}
"""As APPNOTE 6.3 §4.4.5 calls them, from memory."""
_NEWEST = 63
"""Of the format that is read here, times ten (§4.4.3)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Placed:
    """An entry and where its octets lie."""

    entry: Entry
    start: int
    end: int


def walk(
    stream: BufferedReader, octets: int, limits: Limits, notes: Notes, archive: str
) -> Iterator[Member]:
    """Yield the members in the order they lie in. Raises StoppedError where one cannot go on."""
    end, directory_end = _end(stream, octets)
    entries = _entries(stream, end, directory_end, limits)
    placed = [_placed(stream, entry, end.directory_offset, limits) for entry in entries]
    placed.sort(key=lambda one: one.entry.offset)
    _check_spans(stream, placed, end.directory_offset)
    for one in placed:
        member = _member(one, notes, archive)
        if member is not None:
            yield member


def _read(stream: BufferedReader, offset: int, octets: int) -> bytes:
    stream.seek(offset)
    return stream.read(octets)


def _end(stream: BufferedReader, octets: int) -> tuple[records.End, int]:
    """Find the one end record; return it and where the central directory is to end."""
    start = max(0, octets - records.END_OCTETS - _MOST_COMMENT)
    tail = _read(stream, start, octets - start)
    found = []
    at = tail.find(records.END)
    while at >= 0:
        record = tail[at : at + records.END_OCTETS]
        if len(record) == records.END_OCTETS:
            whole = records.END_OCTETS + records.comment_octets(record)
            if at + whole == len(tail):
                found.append(at)
        at = tail.find(records.END, at + 1)
    if not found:
        if records.END in tail:
            raise ambiguous("something stands after its end, or its end is cut short")
        raise damaged("it has no end record")
    if len(found) > 1 or tail.rfind(records.END) != found[0]:
        raise ambiguous("it has two end records")
    at = start + found[0]
    locator = _read(stream, max(0, at - records.LOCATOR_OCTETS), records.LOCATOR_OCTETS)
    record = tail[found[0] : found[0] + records.END_OCTETS]
    if at < records.LOCATOR_OCTETS or not locator.startswith(records.LOCATOR_64):
        return records.parse_end(record, b"", b""), at
    offset = records.locator_offset(locator)
    end_64 = _read(stream, offset, records.END_64_OCTETS) if offset < at else b""
    if len(end_64) < records.END_64_OCTETS or not end_64.startswith(records.END_64):
        raise ambiguous("its 64-bit end record is not where its locator says")
    if offset + records.end_64_octets(end_64) != at - records.LOCATOR_OCTETS:
        raise ambiguous("its 64-bit end record does not reach its locator")
    return records.parse_end(record, locator, end_64), offset


def _entries(
    stream: BufferedReader, end: records.End, directory_end: int, limits: Limits
) -> list[Entry]:
    if end.entries > limits.members:
        text = f"It has more than {limits.members} members; none was read."
        raise StoppedError("too-many", text)
    if end.directory_octets > limits.zip_directory_octets:
        text = f"Its directory has more than {limits.zip_directory_octets} octets."
        raise StoppedError("archive-beyond-limits", text)
    if end.directory_offset + end.directory_octets != directory_end:
        raise ambiguous("its directory does not reach from where it begins to its end record")
    directory = _read(stream, end.directory_offset, end.directory_octets)
    found, position = [], 0
    while position < len(directory):
        entry, position = records.parse_central(directory, position)
        found.append(entry)
        if len(found) > end.entries:
            break
    if len(found) != end.entries:
        raise ambiguous(f"its directory does not have the {end.entries} entries it is said to have")
    return found


def _placed(stream: BufferedReader, entry: Entry, most: int, limits: Limits) -> _Placed:
    """Hold a local header against the directory (D05)."""
    shown = printable(entry.name.decode("utf-8", "replace"), 200)
    if entry.offset + records.LOCAL_OCTETS > most:
        raise damaged(f"the local header of {shown!r} would lie beyond the members")
    head, name_octets, extra_octets = records.parse_local(
        _read(stream, entry.offset, records.LOCAL_OCTETS)
    )
    if max(name_octets, extra_octets) > limits.header_octets:
        raise StoppedError("archive-beyond-limits", "A local header is larger than is read.")
    rest = stream.read(name_octets + extra_octets)
    local = records.with_extra(head, rest[:name_octets], rest[name_octets:])
    has_later = entry.flags >> _HAS_DESCRIPTOR & 1
    figures = (entry.crc32, entry.packed_octets, entry.octets)
    told = (local.crc32, local.packed_octets, local.octets)
    agrees = told == figures or (has_later and not any(told))
    same_kind = (entry.flags ^ local.flags) & _DECISIVE == 0 and entry.method == local.method
    if not (agrees and same_kind and entry.name == local.name):
        raise ambiguous(f"directory and local header differ on {shown!r}")
    start = entry.offset + records.LOCAL_OCTETS + name_octets + extra_octets
    if start + entry.packed_octets > most:
        raise damaged(f"the octets of {shown!r} would reach into its directory")
    return _Placed(entry=entry, start=start, end=start + entry.packed_octets)


def _check_spans(stream: BufferedReader, placed: list[_Placed], directory: int) -> None:
    """See that members lie side by side, with nothing else between them (D03, D06)."""
    position = 0
    for count, one in enumerate(placed):
        if one.entry.offset < position:
            text = "Of the zip: two members of it share octets."
            raise StoppedError("archive-overlap", text)
        if one.entry.offset > position:
            raise ambiguous(
                f"something stands before octet {one.entry.offset} that is not a member"
            )
        following = placed[count + 1].entry.offset if count + 1 < len(placed) else directory
        position = one.end
        if one.entry.flags >> _HAS_DESCRIPTOR & 1:
            behind = _read(stream, one.end, min(24, max(0, following - one.end)))
            if behind not in records.descriptors(one.entry):
                raise ambiguous("what follows a member is not the record announced")
            position += len(behind)
    if position != directory:
        raise ambiguous("something stands before its directory that is not a member")


def _member(one: _Placed, notes: Notes, archive: str) -> Member | None:
    """Return a file or directory; note anything else."""
    entry = one.entry
    path = _path(entry, notes)
    sort = stat.S_IFMT(entry.mode)
    is_folder = path.endswith("/")
    if sort == stat.S_IFLNK:
        notes.add("archive-link", path or archive, None, "It is a symbolic link.")
    elif sort not in {0, stat.S_IFDIR if is_folder else stat.S_IFREG}:
        notes.add("archive-special", path or archive, None, "It is not a plain file or directory.")
    elif entry.flags & _SECRET:
        _unreadable(notes, path or archive, "It is encrypted.")
    elif entry.method not in {STORED, DEFLATED}:
        how = _METHODS.get(entry.method, "")
        text = f"It is packed by method {entry.method}{how}; stored and deflated are read here."
        _unreadable(notes, path or archive, text)
    elif entry.version > _NEWEST:
        _unreadable(notes, path or archive, f"It needs a reader of version {entry.version / 10}.")
    elif entry.method == STORED and entry.packed_octets != entry.octets:
        raise ambiguous("a member that is stored has two sizes")
    elif is_folder and entry.octets:
        raise ambiguous("a directory is said to have octets of its own")
    elif is_folder:
        return Member(path=path, sort="directory")
    else:
        return Member(
            path=path,
            sort="file",
            octets=entry.octets,
            offset=one.start,
            packed_octets=entry.packed_octets if entry.method == DEFLATED else None,
            crc32=entry.crc32,
        )
    return None


def _unreadable(notes: Notes, path: str, text: str) -> None:
    notes.add("archive-method", path, None, text)
    # What lacks in the bag may be what was not read.
    notes.unseen.add("")


def _path(entry: Entry, notes: Notes) -> str:
    """Return a name as text: by the flag for UTF-8, else by what its octets are (§4.4.4, D.1)."""
    raw = entry.name
    if b"\0" in raw:
        raise damaged("a name holds an octet of zeros")
    if entry.flags >> _UTF_8 & 1 or raw.isascii():
        return _read_name(raw)
    if entry.other_name is not None:
        return _read_name(entry.other_name)
    try:
        path, how = raw.decode("utf-8"), "UTF-8"
    except UnicodeDecodeError:
        path, how = raw.decode("cp437"), "code page 437"
    text = f"It does not say in what encoding it is; it was read as {how}."
    notes.add("archive-name-encoding", path, None, text)
    return path


def _read_name(raw: bytes) -> str:
    try:
        return raw.decode("utf-8")
    except UnicodeDecodeError as error:
        # Some readers stop at such a name, others each make something else of it.
        raise damaged("a name is said to be UTF-8 and is not") from error
