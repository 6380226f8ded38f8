"""Walks a tar from header to header and yields its files and directories.

Links, devices, sparse files and whatever else there may be are noted and passed over; what two
readers may take differently ends the walk (POSIX.1-2017, utility pax; CWE-436). Nothing is
unpacked, no owner, mode or time is looked at.
"""

from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from typing import Literal

from tailsout.bag.archive import tar_header
from tailsout.bag.archive.limits import Limits
from tailsout.bag.archive.source import BLOCK_OCTETS, Source, StoppedError, take
from tailsout.bag.archive.tar_header import BLOCK, Header
from tailsout.bag.notes import Notes
from tailsout.ground.units import printable

_OLD_FILE = b"\0"
_FILES = frozenset({b"0", _OLD_FILE})
_DIRECTORY, _RECORDS, _GLOBAL, _LONG_NAME, _LONG_LINK = b"5", b"x", b"g", b"L", b"K"
_EXTENDED = frozenset({_RECORDS, _GLOBAL, _LONG_NAME, _LONG_LINK})
_LINKS = {b"1": "hard link", b"2": "symbolic link"}
_SPECIAL = {
    b"3": "character device",
    b"4": "block device",
    b"6": "pipe",
    b"7": "contiguous file",
    b"S": "sparse file",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Member:
    """A file or directory as the archive lists it."""

    path: str
    """As it stands there; octets that are not UTF-8 as surrogates."""
    sort: Literal["file", "directory"]
    octets: int = 0
    offset: int = 0
    """Where its octets begin: in the unpacked tar, in the zip as it is."""
    packed_octets: int | None = None
    """How many octets it takes in a zip if it is deflated there."""
    crc32: int = 0
    """As a zip states it."""


@dataclass(slots=True)
class _Ahead:
    """What extended headers say of the member that follows them."""

    name: bytes | None = None
    octets: int | None = None
    is_sparse: bool = False
    met: set[bytes] = field(default_factory=set)


def walk(source: Source, limits: Limits, notes: Notes, archive: str) -> Iterator[Member]:
    """Yield the members. The octets of a file may be read from the source before the next is asked.

    Raises StoppedError where the walk cannot go on.
    """
    ahead, last = _Ahead(), b""
    for header in _headers(source):
        start, last = source.position, header.sort
        if header.sort in _EXTENDED:
            _extend(ahead, header, source, limits)
        else:
            one = replace(header, octets=_octets(ahead, header))
            met = _member(ahead, one, notes, archive)
            if met is not None:
                yield replace(met, offset=start)
            ahead = _Ahead()
            _pass(source, start + one.octets)
        _pad(source, start)
    if last in _EXTENDED:
        raise _damaged("it ends after an extended header")
    _look_behind(source, limits, notes, archive)


def _damaged(why: str) -> StoppedError:
    return StoppedError("archive-damaged", f"Of the tar: {why}.")


def _ambiguous(why: str) -> StoppedError:
    return StoppedError("archive-ambiguous", f"Of the tar: {why}.")


def _headers(source: Source) -> Iterator[Header]:
    """Yield headers until two blocks of zeros."""
    while True:
        at = source.position
        block = take(source, BLOCK)
        if len(block) < BLOCK:
            raise _damaged(f"it ends at octet {at + len(block)} without two blocks of zeros")
        if not any(block):
            if take(source, BLOCK) != bytes(BLOCK):
                raise _damaged(f"a block of zeros stands alone at octet {at}")
            return
        header = tar_header.parse(block)
        if isinstance(header, str):
            raise _damaged(f"{header}, at octet {at}")
        yield header


def _pass(source: Source, end: int) -> None:
    wanted = end - source.position
    if wanted > 0 and source.skip(wanted) < wanted:
        raise _damaged(f"it ends at octet {source.position} within a member of it")


def _pad(source: Source, start: int) -> None:
    _pass(source, source.position + (start - source.position) % BLOCK)


def _extend(ahead: _Ahead, header: Header, source: Source, limits: Limits) -> None:
    """Take in an extended header."""
    if header.octets > limits.header_octets:
        text = (
            f"It has an extended header of {header.octets} octets; {limits.header_octets} at most."
        )
        raise StoppedError("archive-beyond-limits", text)
    if header.sort in ahead.met and header.sort != _GLOBAL:
        raise _ambiguous("two extended headers of one sort stand before a member")
    content = take(source, header.octets)
    if len(content) < header.octets:
        raise _damaged("it ends within an extended header")
    if header.sort != _GLOBAL:
        ahead.met.add(header.sort)
    if header.sort == _LONG_NAME:
        _name_ahead(ahead, content.partition(b"\0")[0])
    elif header.sort in {_RECORDS, _GLOBAL}:
        _records_ahead(ahead, content, is_global=header.sort == _GLOBAL)


def _records_ahead(ahead: _Ahead, content: bytes, *, is_global: bool) -> None:
    found = tar_header.records(content)
    if isinstance(found, str):
        raise _damaged(found)
    if is_global:
        if not tar_header.DECISIVE.isdisjoint(found):
            raise _ambiguous("a global header states a path or size for all that follows")
        return
    ahead.is_sparse = any(key.startswith(b"GNU.sparse.") for key in found)
    if found.get(b"path"):
        _name_ahead(ahead, found[b"path"])
    if found.get(b"size"):
        ahead.octets = tar_header.record_size(found[b"size"])
        if ahead.octets is None:
            raise _damaged("an extended header states a size that is not a number")


def _name_ahead(ahead: _Ahead, name: bytes) -> None:
    if ahead.name not in {None, name}:
        raise _ambiguous("two extended headers name one member differently")
    ahead.name = name


def _octets(ahead: _Ahead, header: Header) -> int:
    """Return how many octets follow; where readers would differ, the walk ends."""
    octets = header.octets if ahead.octets is None else ahead.octets
    if octets != header.octets and octets <= tar_header.MOST_IN_OCTAL:
        raise _ambiguous(f"a member has {header.octets} octets by one header, {octets} by another")
    if octets and (header.sort == _DIRECTORY or header.sort in _LINKS):
        raise _ambiguous("a directory or link is said to have octets of its own")
    return octets


def _member(ahead: _Ahead, header: Header, notes: Notes, archive: str) -> Member | None:
    """Return a file or directory; note anything else."""
    raw = header.name if ahead.name is None else ahead.name
    path = raw.decode("utf-8", "surrogateescape")
    if header.sort in _LINKS:
        notes.add("archive-link", path or archive, None, f"It is a {_LINKS[header.sort]}.")
        return None
    if header.sort == _DIRECTORY or (header.sort in _FILES and _is_old_directory(header, path)):
        return Member(path=path, sort="directory")
    if header.sort in _FILES and not ahead.is_sparse:
        return Member(path=path, sort="file", octets=header.octets)
    flag = printable(header.sort.decode("latin-1"))
    sort = (
        "sparse file" if ahead.is_sparse else _SPECIAL.get(header.sort, f"member of type {flag!r}")
    )
    notes.add("archive-special", path or archive, None, f"It is a {sort}.")
    return None


def _is_old_directory(header: Header, path: str) -> bool:
    """Tell a directory of the time before they had a type, which is a slash at the end alone.

    Some readers go by the slash with any type, some with the old one only, some by the name in
    the header though another stands before it: where they would differ, the walk ends.
    """
    slashes = {path.endswith("/"), header.name.endswith(b"/")}
    if slashes == {True} and header.sort == _OLD_FILE and not header.octets:
        return True
    if True in slashes:
        raise _ambiguous("the name of a plain file ends with a slash, like a directory's")
    return False


def _look_behind(source: Source, limits: Limits, notes: Notes, archive: str) -> None:
    """Note what stands after the end, but for the zeros that fill the last record."""
    at, gone = source.position, 0
    while part := source.some(BLOCK_OCTETS):
        gone += len(part)
        if part.count(0) < len(part):
            text = f"Something stands after its end at octet {at}; it was not looked at."
            notes.add("archive-trailing", archive, None, text)
            return
        if gone > limits.tail_octets:
            text = f"More than {limits.tail_octets} zeros follow its end at octet {at}."
            notes.add("archive-trailing", archive, None, text)
            return
