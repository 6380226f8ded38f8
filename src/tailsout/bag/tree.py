"""Descends into a directory that a stranger filled, without ever following a link.

Where the system has directory descriptors, every part of a path is opened below the one before it
and may not be a link (CWE-59, CWE-367). Elsewhere every part is looked at by its name first: that
withstands a link lying there, not one put there in between. Nothing is written.
"""

import errno
import os
import stat
import threading
from collections.abc import Iterator
from io import BufferedReader, FileIO
from pathlib import Path
from typing import Literal, NamedTuple

from tailsout.bag.names import from_disk, to_disk
from tailsout.bag.notes import Caps
from tailsout.ground.errors import MaterialError, NoFileError, from_os_error
from tailsout.ground.units import printable

HAS_DESCRIPTORS = (
    hasattr(os, "O_NOFOLLOW")
    and os.scandir in os.supports_fd
    and {os.open, os.stat} <= os.supports_dir_fd
)

# O_NONBLOCK: should a pipe take the file's place after it was looked at, the open does not wait.
_FILE_FLAGS = os.O_RDONLY
for _name in ("O_NOFOLLOW", "O_NONBLOCK", "O_CLOEXEC", "O_NOCTTY", "O_BINARY"):
    _FILE_FLAGS |= getattr(os, _name, 0)
_DIRECTORY_FLAGS = os.O_RDONLY
for _name in ("O_NOFOLLOW", "O_DIRECTORY", "O_CLOEXEC"):
    _DIRECTORY_FLAGS |= getattr(os, _name, 0)

_STAT_BLOCK = 512
"""Octets of a block of `st_blocks`, whatever the file system's own are."""

Sort = Literal["file", "directory", "link", "special", "unreadable", "too deep", "too many"]


class Met(NamedTuple):
    """One thing met on the way down."""

    path: str
    sort: Sort
    octets: int = 0
    hole_octets: int = 0
    """What the disk does not hold of a file: it reads as zeros."""
    names: int = 1
    """How many hard links a file has."""
    changed_ns: tuple[int, int] = (0, 0)
    """When a file's content and when its status changed last, in ns since 1970."""
    entries: int = 0
    """How many things a directory holds; 1 if it cannot be read."""
    why: str = ""
    """The system's words if it could not be read."""


class Tree:
    """A directory, held open; everything below it is reached from there."""

    def __init__(self, base: Path) -> None:
        self._base = base
        # The base itself may be a link: the user named it.
        flags = _DIRECTORY_FLAGS & ~getattr(os, "O_NOFOLLOW", 0)
        self._descriptor = os.open(self._base, flags) if HAS_DESCRIPTORS else -1
        self._here = threading.local()
        self._held: set[int] = set()

    def close(self) -> None:
        """Let go of the directory; no other thread may still be at work in it."""
        for below in self._held:
            os.close(below)
        self._held.clear()
        self._here = threading.local()
        if self._descriptor >= 0:
            os.close(self._descriptor)
            self._descriptor = -1

    def walk(self, caps: Caps) -> Iterator[Met]:
        """Yield everything below, directories first, then each directory's entries by name."""
        left = caps.entries
        todo = [""]
        while todo:
            path = todo.pop()
            try:
                found = self._entries(path, left + 1)
            except OSError as error:
                if path:
                    yield Met(path=path, sort="directory", entries=1)
                yield Met(path=path, sort="unreadable", why=os.strerror(error.errno or 0))
                continue
            left -= len(found)
            if path:
                yield Met(path=path, sort="directory", entries=len(found))
            if left < 0:
                for one in (path, *todo):
                    yield Met(path=one, sort="too many")
                return
            below = []
            for met in sorted(found, key=lambda m: m.path):
                if met.sort != "directory":
                    yield met
                elif met.path.count("/") + 1 >= caps.depth:
                    yield Met(path=met.path, sort="too deep")
                else:
                    below.append(met.path)
            todo.extend(reversed(below))

    def open(self, path: str) -> int:
        """Open a regular file for reading and return its descriptor.

        Raises MaterialError if it is anything else, OSError if the system refuses.
        """
        _check_parts(path)
        head, _, name = path.rpartition("/")
        try:
            place = self._entered(head)
            _check_regular(path, _stat(place, name))
            if isinstance(place, int):
                descriptor = os.open(to_disk(name), _FILE_FLAGS, dir_fd=place)
            else:
                descriptor = os.open(place / to_disk(name), _FILE_FLAGS)
        except OSError as error:
            # So the system speaks of a link, or of a socket, that took its place meanwhile.
            if error.errno in {errno.ELOOP, errno.ENOTDIR, errno.ENXIO}:
                raise NoFileError(
                    f"{printable(path)!r} is a link, lies behind one, or is not a regular file."
                ) from error
            raise
        try:
            _check_regular(path, os.fstat(descriptor))
        except MaterialError:
            os.close(descriptor)
            raise
        return descriptor

    def stream(self, path: str) -> BufferedReader:
        """Open a regular file for reading.

        Raises MaterialError if it is anything else or no path within, SurroundingsError if the
        system refuses.
        """
        try:
            # `os.fdopen` would ask of every file whether it is a terminal.
            return BufferedReader(FileIO(self.open(path)))
        except OSError as error:
            raise from_os_error(error, f"Opening {printable(path)}") from error

    def read(self, path: str, cap: int) -> bytes:
        """Return the octets of one file. Raises as `stream`, MaterialError beyond `cap` octets."""
        with self.stream(path) as source:
            try:
                content = source.read(cap + 1)
            except OSError as error:
                raise from_os_error(error, f"Reading {printable(path)}") from error
        if len(content) > cap:
            raise MaterialError(f"{printable(path)!r} is larger than {cap} octets.")
        return content

    def status(self, path: str) -> os.stat_result:
        """Return what stands under the path now. Raises OSError."""
        head, _, name = path.rpartition("/")
        return _stat(self._entered(head), name)

    def _entries(self, path: str, most: int) -> list[Met]:
        prefix = f"{path}/" if path else ""
        found: list[Met] = []
        with os.scandir(self._entered(path)) as entries:
            for entry in entries:
                found.append(_meet(entry, prefix))
                if len(found) >= most:
                    break
        return found

    def _entered(self, path: str) -> int | Path:
        """Return a directory below to reach what lies in it, until this thread asks for another.

        Each thread keeps the one it entered last: many small files lie in one folder.
        """
        parts = path.split("/") if path else []
        if not HAS_DESCRIPTORS:
            return self._entered_by_name(parts)
        if not path:
            return self._descriptor
        if getattr(self._here, "path", None) == path:
            descriptor: int = self._here.descriptor
            return descriptor
        self._leave()
        place = self._descriptor
        for part in parts:
            try:
                below = os.open(to_disk(part), _DIRECTORY_FLAGS, dir_fd=place)
            finally:
                if place != self._descriptor:
                    os.close(place)
            place = below
        self._here.path, self._here.descriptor = path, place
        self._held.add(place)
        return place

    def _leave(self) -> None:
        """Let go of the directory that this thread entered last."""
        if getattr(self._here, "path", None) is not None:
            self._here.path = None
            self._held.discard(self._here.descriptor)
            os.close(self._here.descriptor)

    def _entered_by_name(self, parts: list[str]) -> Path:
        place = self._base
        for part in parts:
            place = place / to_disk(part)
            if not stat.S_ISDIR(place.lstat().st_mode):
                raise NotADirectoryError(errno.ENOTDIR, os.strerror(errno.ENOTDIR), str(place))
        return place


def _stat(place: int | Path, name: str) -> os.stat_result:
    if isinstance(place, int):
        return os.stat(to_disk(name), dir_fd=place, follow_symlinks=False)
    return (place / to_disk(name)).lstat()


def _meet(entry: os.DirEntry[str], prefix: str) -> Met:
    path = prefix + from_disk(entry.name)
    try:
        status = entry.stat(follow_symlinks=False)
    except OSError as error:
        return Met(path=path, sort="unreadable", why=os.strerror(error.errno or 0))
    if stat.S_ISDIR(status.st_mode):
        return Met(path=path, sort="directory")
    if stat.S_ISLNK(status.st_mode):
        return Met(path=path, sort="link")
    if not stat.S_ISREG(status.st_mode):
        return Met(path=path, sort="special")
    blocks = getattr(status, "st_blocks", None)
    held = status.st_size if blocks is None else blocks * _STAT_BLOCK
    return Met(
        path=path,
        sort="file",
        octets=status.st_size,
        hole_octets=max(0, status.st_size - held),
        names=status.st_nlink,
        changed_ns=(status.st_mtime_ns, status.st_ctime_ns),
    )


def _check_parts(path: str) -> None:
    # Where the backslash parts paths and the colon opens drives and streams, neither is let in.
    foreign = os.sep != "/" and ("\\" in path or ":" in path)
    if foreign or "\0" in path or any(part in {"", ".", ".."} for part in path.split("/")):
        raise MaterialError(f"{printable(path)!r} is not a path within the bag and was not opened.")


def _check_regular(path: str, status: os.stat_result) -> None:
    if not stat.S_ISREG(status.st_mode):
        raise NoFileError(f"{printable(path)!r} is not a regular file and was not opened.")
