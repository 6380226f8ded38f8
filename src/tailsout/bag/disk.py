"""The only module of the room that writes, renames, removes or syncs.

What a system lacks (locks, directory sync, a rename that never replaces) has a plain fallback,
and `durability` then says `best effort`. Methods raise `OSError` as the system does, so that a
test may put a disk in their place that records or fails. Nothing here opens a source.
"""

import ctypes
import errno
import os
import shutil
import stat
import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from datetime import datetime
from pathlib import Path
from typing import Any, BinaryIO, cast

from tailsout.bag import volume
from tailsout.ground.errors import RefusedError, from_os_error

fcntl: Any
try:
    import fcntl
except ImportError:  # not a POSIX system
    fcntl = None

_CREATE = os.O_WRONLY | os.O_CREAT | os.O_EXCL
_APPEND = os.O_RDWR | os.O_CREAT | os.O_APPEND
for _name in ("O_NOFOLLOW", "O_CLOEXEC", "O_BINARY"):
    _APPEND |= getattr(os, _name, 0)
    _CREATE |= getattr(os, _name, 0)
_DIRECTORY = os.O_RDONLY
for _name in ("O_NOFOLLOW", "O_DIRECTORY", "O_CLOEXEC"):
    _DIRECTORY |= getattr(os, _name, 0)
_SYNCS_DIRECTORIES = hasattr(os, "O_DIRECTORY")
_AT_FDCWD = -100
_RENAME_NOREPLACE = 1
_NOT_OFFERED = frozenset({errno.EINVAL, errno.ENOSYS, errno.ENOTSUP, errno.EOPNOTSUPP})
NO_LOCK = -1
"""What `lock` returns where the system has no locks."""

_NO_DIRECTORY_SYNC = "It does not confirm that a name will outlast a power cut."
_NO_LOCKS = "It does not keep two builds of one package apart."
_NO_CAREFUL_RENAME = "It does not refuse a name that is taken at the very moment of naming."


def _find_renameat2() -> Callable[..., int] | None:
    with suppress(OSError, AttributeError, TypeError):
        call: Callable[..., int] = ctypes.CDLL(None, use_errno=True).renameat2
        return call
    return None


_renameat2 = _find_renameat2()


@contextmanager
def _where_modes_are_kept() -> Iterator[None]:
    """Pass over that a mode is refused to the owner of what was just made: FAT keeps none."""
    try:
        yield
    except OSError as error:
        if error.errno not in {errno.EPERM, errno.ENOTSUP, errno.EOPNOTSUPP}:
            raise


class Disk:
    """Writes to the file system; modes are set outright, whatever the umask."""

    def __init__(self) -> None:
        self._directories_synced = _SYNCS_DIRECTORIES
        self._not_promised: set[str] = set() if _SYNCS_DIRECTORIES else {_NO_DIRECTORY_SYNC}

    @property
    def durability(self) -> str:
        """`fsynced` if files and directories were; `best effort` if the system cannot say so."""
        return "fsynced" if self._directories_synced else "best effort"

    def is_there(self, path: Path) -> bool:
        """Tell whether anything stands under the path, be it a dangling link."""
        try:
            os.lstat(path)
        except FileNotFoundError:
            return False
        return True

    def scratch(self, folder: Path) -> BinaryIO:
        """Return an empty file on the file system of a folder that is or will be there.

        It has no name, or loses it when it is closed.
        """
        there = next(up for up in (folder, *folder.absolute().parents) if up.is_dir())
        return cast("BinaryIO", tempfile.TemporaryFile(dir=there))

    @property
    def not_promised(self) -> tuple[str, ...]:
        """What the system did not offer of what was asked of it so far, one sentence each."""
        return tuple(sorted(self._not_promised))

    def file_system(self, path: Path) -> str:
        """Return the kind of file system a directory lies on; empty if that is not known."""
        return volume.kind_of(path)

    def free_files(self, path: Path) -> int | None:
        """Return how many files may still be made below a directory; None if not counted."""
        return volume.free_files(path)

    def free_octets(self, path: Path) -> int:
        """Return what may still be written below a directory."""
        return shutil.disk_usage(path).free

    def make_directory(self, path: Path, mode: int = 0o755) -> None:
        """Make one directory. Raises FileExistsError if anything stands there."""
        path.mkdir(mode)
        try:
            self.set_mode(path, mode)
        except BaseException:
            with suppress(OSError):
                path.rmdir()
            raise

    def set_mode(self, path: Path, mode: int) -> None:
        """Set the permissions of a directory just made, where its file system keeps any."""
        with _where_modes_are_kept():
            path.chmod(mode)

    def set_time(self, path: Path, modified: datetime) -> None:
        """Set when a file says it was last changed."""
        os.utime(path, (modified.timestamp(), modified.timestamp()))

    def create(self, path: Path) -> int:
        """Make a new file for writing and return its descriptor. Never opens an existing one."""
        descriptor = os.open(path, _CREATE, 0o644)
        try:
            if hasattr(os, "fchmod"):
                with _where_modes_are_kept():
                    os.fchmod(descriptor, 0o644)
        except OSError:
            os.close(descriptor)
            raise
        return descriptor

    def write(self, descriptor: int, block: memoryview) -> int:
        """Write what the system takes at once; return how many octets that were."""
        return os.write(descriptor, block)

    def write_all(self, descriptor: int, block: bytes | memoryview) -> None:
        """Write all of a block, however little the system takes at once."""
        left = memoryview(block)
        while left:
            left = left[self.write(descriptor, left) :]

    def begin_sync(self, descriptor: int) -> None:
        """Have the system begin to write out what a file holds, without waiting for it."""
        if hasattr(os, "posix_fadvise"):
            # Linux starts the writing when it is told that the pages are wanted no more.
            os.posix_fadvise(descriptor, 0, 0, os.POSIX_FADV_DONTNEED)

    def sync_file(self, descriptor: int) -> None:
        """Have the device hold the file's content."""
        # macOS: fsync leaves the content in the drive's own memory, this call does not.
        full = getattr(fcntl, "F_FULLFSYNC", None)
        if full is None:
            os.fsync(descriptor)
        else:
            fcntl.fcntl(descriptor, full)

    def close(self, descriptor: int) -> None:
        """Close a file; the error of a late write may come here."""
        os.close(descriptor)

    def sync_directory(self, path: Path) -> None:
        """Have the device hold the directory's entries."""
        if not _SYNCS_DIRECTORIES:
            return
        # The link of a parent the user named is followed; our own directories are none.
        descriptor = os.open(path, _DIRECTORY & ~os.O_NOFOLLOW)
        try:
            os.fsync(descriptor)
        except OSError as error:
            # Some network file systems know no such call; any other fault is a fault.
            if error.errno not in _NOT_OFFERED:
                raise
            self._directories_synced = False
            self._not_promised.add(_NO_DIRECTORY_SYNC)
        finally:
            os.close(descriptor)

    def rename_no_replace(self, source: Path, target: Path) -> None:
        """Rename. Raises FileExistsError if anything stands under the target."""
        if _renameat2 is not None:
            old, new = os.fsencode(source), os.fsencode(target)
            if _renameat2(_AT_FDCWD, old, _AT_FDCWD, new, _RENAME_NOREPLACE) == 0:
                return
            code = ctypes.get_errno()
            if code not in _NOT_OFFERED:
                raise OSError(code, os.strerror(code), str(source), None, str(target))
        self._not_promised.add(_NO_CAREFUL_RENAME)
        # Danger: a plain rename replaces an empty directory. Here is a gap nobody can close.
        if self.is_there(target):
            raise FileExistsError(errno.EEXIST, os.strerror(errno.EEXIST), str(target))
        source.rename(target)

    def remove_tree(self, path: Path) -> None:
        """Remove a directory and all below it; links are removed, not followed."""
        shutil.rmtree(path)

    def remove(self, path: Path) -> None:
        """Remove one file."""
        path.unlink()

    def lock(self, path: Path) -> int:
        """Lock a directory until `release`; return the lock's descriptor, or NO_LOCK.

        Raises BlockingIOError if somebody else holds it, FileNotFoundError if it was removed
        meanwhile.
        """
        if fcntl is None:
            self._not_promised.add(_NO_LOCKS)
            return NO_LOCK
        descriptor = os.open(path, _DIRECTORY)
        try:
            fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)
            if not os.path.samestat(os.fstat(descriptor), os.lstat(path)):
                raise FileNotFoundError(errno.ENOENT, os.strerror(errno.ENOENT), str(path))
        except OSError as error:
            os.close(descriptor)
            if error.errno in _NOT_OFFERED or error.errno == errno.ENOLCK:
                self._not_promised.add(_NO_LOCKS)
                return NO_LOCK
            raise
        return descriptor

    def release(self, lock: int) -> None:
        """Give a lock back."""
        if lock != NO_LOCK:
            os.close(lock)

    def append_line(self, path: Path, line: bytes) -> None:
        """Add a line to the end of a text file and sync it; makes the file if there is none.

        A last line that a crash left without its end is ended first, so that it harms no other.
        Raises OSError.
        """
        self._append(path, line, synced=True)

    def append_unsynced(self, path: Path, line: bytes) -> None:
        """Add a line that need not outlive a power cut; otherwise as `append_line`."""
        self._append(path, line, synced=False)

    def _append(self, path: Path, line: bytes, *, synced: bool) -> None:
        is_new = not self.is_there(path)
        descriptor = os.open(path, _APPEND, 0o644)
        try:
            if is_new and hasattr(os, "fchmod"):
                with _where_modes_are_kept():
                    os.fchmod(descriptor, 0o644)
            torn = False
            if os.lseek(descriptor, 0, os.SEEK_END) > 0:
                os.lseek(descriptor, -1, os.SEEK_END)
                torn = os.read(descriptor, 1) != b"\n"
            self.write_all(descriptor, b"\n" + line if torn else line)
            if synced:
                self.sync_file(descriptor)
        finally:
            self.close(descriptor)
        if is_new and synced:
            self.sync_directory(path.parent)

    def write_beside(self, path: Path, content: bytes) -> None:
        """Write a small file whole: it stands under its name complete and synced, or not at all.

        The caller sees to it that no two write the same path at once. Raises RefusedError if
        something stands there, SurroundingsError if the system refuses.
        """
        temporary = path.with_name(f".{path.name}.part")
        try:
            if self.is_there(path):
                raise RefusedError(f"{path} is there already.", "Move it away first.")
            self._drop(temporary)
            try:
                self._write_whole(temporary, content)
                self.rename_no_replace(temporary, path)
            except BaseException:
                with suppress(OSError):
                    self.remove(temporary)
                raise
            self.sync_directory(path.parent)
        except OSError as error:
            raise from_os_error(error, f"Writing {path}") from error

    def write_anew(self, path: Path, content: bytes) -> None:
        """Write a small file whole in place of the one that stands there, if any; raises OSError.

        For what can be made again at any time: it is not synced.
        """
        temporary = path.with_name(f".{path.name.removeprefix('.')}.part")
        self._drop(temporary)
        descriptor = self.create(temporary)
        try:
            self.write_all(descriptor, content)
        finally:
            self.close(descriptor)
        os.replace(temporary, path)  # noqa: PTH105  the one call that replaces on every system

    def _drop(self, temporary: Path) -> None:
        """Remove what a run that was cut off left behind; only a regular file is removed."""
        if self.is_there(temporary) and stat.S_ISREG(os.lstat(temporary).st_mode):
            self.remove(temporary)

    def _write_whole(self, path: Path, content: bytes) -> None:
        descriptor = self.create(path)
        try:
            self.write_all(descriptor, content)
            self.sync_file(descriptor)
        finally:
            self.close(descriptor)
