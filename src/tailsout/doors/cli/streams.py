"""Standard streams as a run needs them: all three there, none able to stop the work in mid-air.

Danger: where one of the descriptors 0 to 2 is closed, the next file opened gets its number, and
what is meant for the screen would go into that file (POSIX.1-2017, execve, on such descriptors).
"""

import io
import os
import sys
from typing import TYPE_CHECKING, TextIO

if TYPE_CHECKING:
    from _typeshed import ReadableBuffer


class _Lenient(io.FileIO):
    """Loses what cannot be written: a full log must not end a build."""

    def write(self, octets: "ReadableBuffer", /) -> int:
        try:
            return super().write(octets) or 0
        except OSError:
            return memoryview(octets).nbytes


def settle() -> None:
    """Make the three streams what the doors take them for."""
    _occupy()
    sys.stdin = sys.stdin or _text(0, "r")
    sys.stdout = sys.stdout or _text(1, "w")
    encoding = getattr(sys.stderr, "encoding", None) or "utf-8"
    sys.stderr = io.TextIOWrapper(
        io.BufferedWriter(_Lenient(2, "w", closefd=False)),
        encoding=encoding,
        # A terminal that cannot show a character gets its number, not a traceback.
        errors="backslashreplace",
        line_buffering=True,
    )
    if isinstance(sys.stdout, io.TextIOWrapper):
        sys.stdout.reconfigure(errors="backslashreplace")
    if isinstance(sys.stdin, io.TextIOWrapper):
        # What is typed in another encoding is kept as octets.
        sys.stdin.reconfigure(errors="surrogateescape")


def silence_output() -> None:
    """Send what the interpreter still flushes at its end into nothing."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def _occupy() -> None:
    for number in (0, 1, 2):
        try:
            os.fstat(number)
        except OSError:
            os.open(os.devnull, os.O_RDWR)


def _text(number: int, mode: str) -> TextIO:
    return open(number, mode, encoding="utf-8", closefd=False)  # type: ignore[return-value]
