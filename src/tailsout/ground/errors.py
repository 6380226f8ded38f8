"""What stops the work, as against findings, which are about the material.

    TailsoutError
    ├── MaterialError       exit 1   an unusable capture, package or form
    │   └── NoFileError     exit 1   a link, pipe, socket or device in a file's place
    ├── UsageError          exit 2   the command line, or a path that is not there
    ├── RefusedError        exit 3   the destination exists, or lies inside the job
    ├── SurroundingsError   exit 4   disk full, read-only, lock held, I/O, input changed while read
    └── CutOffError         exit 130 interrupted when something stood complete already

Every error is one sentence and what to do about it. `args` equals what `__init__` took, so that
errors survive pickling between processes.
"""

import errno
import os
from typing import ClassVar


class TailsoutError(Exception):
    """Base of every error this package raises on purpose."""

    exit_code: ClassVar[int] = 4

    def __init__(self, sentence: str, remedy: str = "") -> None:
        super().__init__(sentence, remedy)

    @property
    def sentence(self) -> str:
        """What went wrong, where: one sentence."""
        return str(self.args[0])

    @property
    def remedy(self) -> str:
        """What to do about it; may be empty."""
        return str(self.args[1])

    def __str__(self) -> str:
        return f"{self.sentence} {self.remedy}".rstrip()


class MaterialError(TailsoutError):
    """A capture, package or form that cannot be used."""

    exit_code: ClassVar[int] = 1


class NoFileError(MaterialError):
    """Where a regular file is asked for there is none, or the way to it leads over a link."""


class UsageError(TailsoutError):
    """The command line is off, or a path named on it does not exist."""

    exit_code: ClassVar[int] = 2


class RefusedError(TailsoutError):
    """Going on would overwrite or mix up something that is there."""

    exit_code: ClassVar[int] = 3


class SurroundingsError(TailsoutError):
    """Disk, permission, lock or another program stands in the way; the material may be fine."""

    exit_code: ClassVar[int] = 4


class UnprovedError(SurroundingsError):
    """What was written could not be read back to be judged; it may be whole."""


class CutOffError(TailsoutError):
    """The user interrupted the work, and what stands complete must be told."""

    exit_code: ClassVar[int] = 130


class ToldToEndError(KeyboardInterrupt):
    """The system or the terminal asks the program to end, as before a shutdown.

    Like an interruption it is caught by nothing but the outermost door; unlike one it is no wish to
    have the work thrown away.
    """


_REMEDIES = {
    errno.ENOSPC: "The disk is full: make room, then run the same command again.",
    errno.EDQUOT: "Your quota is used up: make room, then run the same command again.",
    errno.EROFS: "The file system is read-only: choose another place.",
    errno.EACCES: "Permission is refused: ask for it, or choose another place.",
    errno.EPERM: "Permission is refused: ask for it, or choose another place.",
    errno.EFBIG: "This file system or limit does not take files so large: choose another place.",
    errno.EIO: "The device reports a read or write fault: do not trust it before it is checked.",
    errno.ENAMETOOLONG: "A name is longer than this file system takes: choose a shorter one.",
}


def from_os_error(error: OSError, doing: str) -> SurroundingsError:
    """Turn an `OSError` met while `doing` something into one clear sentence."""
    what = os.strerror(error.errno) if error.errno else str(error)
    at = f" ({os.fsdecode(error.filename)})" if error.filename else ""
    remedy = _REMEDIES.get(error.errno or 0, "Nothing of the source was changed.")
    return SurroundingsError(f"{doing} failed: {what}{at}.", remedy)
