"""What a bag offers to whoever reads it, be it a folder or an archive that was not unpacked."""

import os
from collections.abc import Iterator, Sequence
from io import BufferedReader
from types import TracebackType
from typing import Protocol, Self

from tailsout.bag.notes import Caps
from tailsout.bag.tree import Met
from tailsout.records.facts import PackageFacts

Mark = tuple[int, ...]
"""How many octets something has, then whatever shows that it was replaced or written to."""


def mark_of(status: os.stat_result) -> Mark:
    """Return the mark of a file on disk."""
    return (status.st_size, status.st_dev, status.st_ino, status.st_mtime_ns)


class Below(Protocol):
    """All that lies below a base directory, for the reader of its structure."""

    def walk(self, caps: Caps) -> Iterator[Met]:
        """Yield everything below, every directory before what lies in it."""

    def read(self, path: str, cap: int) -> bytes:
        """Return the octets of one file.

        Raises MaterialError if it is not a regular file or has more than `cap` octets,
        SurroundingsError if it cannot be read.
        """


class ReadableBag(Protocol):
    """A bag held open for reading; a context manager."""

    def __enter__(self) -> Self: ...

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None: ...

    @property
    def facts(self) -> PackageFacts:
        """What the bag's own files say and what is there; no digests taken yet."""

    @property
    def order(self) -> Sequence[str]:
        """Paths in the order in which they must be read through, one at a time.

        Empty if any order will do and several may be read at once.
        """

    def close(self) -> None:
        """Let go of what is held open."""

    def stream(self, path: str) -> BufferedReader:
        """Open one regular file of the bag for reading; it need not have a descriptor.

        Raises MaterialError if it is not a regular file or not a path within the bag,
        SurroundingsError if the system refuses.
        """

    def read(self, path: str, cap: int) -> bytes:
        """Return the octets of one file. Raises as `stream`, MaterialError beyond `cap` octets."""

    def mark(self, path: str, stream: BufferedReader) -> Mark:
        """Return the mark of what a stream from here reads. Raises OSError."""

    def mark_now(self, path: str) -> Mark:
        """Return the mark of what stands under a path now. Raises OSError."""
