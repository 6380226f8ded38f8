"""Opens a bag (RFC 8493) in a folder made by anybody, to be read file by file."""

import os
from collections.abc import Sequence
from io import BufferedReader
from pathlib import Path
from types import TracebackType
from typing import Self

from tailsout.bag.facts import read_facts
from tailsout.bag.names import from_disk
from tailsout.bag.notes import DEFAULT_CAPS, Caps, Notes
from tailsout.bag.readable import Mark, mark_of
from tailsout.bag.tree import Tree
from tailsout.ground.errors import UsageError, from_os_error
from tailsout.ground.units import printable
from tailsout.records.facts import PackageFacts


class OpenBag:
    """A bag held open for reading; a context manager."""

    def __init__(self, facts: PackageFacts, tree: Tree) -> None:
        self.facts = facts
        """What the bag's own files say and what is on disk; no digests taken yet."""
        self._tree = tree

    @property
    def order(self) -> Sequence[str]:
        """Empty: its files may be read in any order, several at once."""
        return ()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()

    def close(self) -> None:
        """Let go of the directory."""
        self._tree.close()

    def stream(self, path: str) -> BufferedReader:
        """Open one regular file of the bag for reading.

        Raises MaterialError if it is not a regular file or not a path within the bag,
        SurroundingsError if the system refuses.
        """
        return self._tree.stream(path)

    def read(self, path: str, cap: int) -> bytes:
        """Return the octets of one file. Raises as `stream`, MaterialError beyond `cap` octets."""
        return self._tree.read(path, cap)

    def mark(self, path: str, stream: BufferedReader) -> Mark:
        """Return the mark of the file that a stream from here reads. Raises OSError."""
        del path
        return mark_of(os.fstat(stream.fileno()))

    def mark_now(self, path: str) -> Mark:
        """Return the mark of what stands under a path now, links not followed. Raises OSError."""
        return mark_of(self._tree.status(path))


def open_bag(path: Path, caps: Caps = DEFAULT_CAPS) -> OpenBag:
    """Open the bag whose base directory is `path`; a directory without bagit.txt too.

    Raises UsageError if it is not a directory, SurroundingsError if it cannot be read.
    """
    try:
        if not path.is_dir():
            raise UsageError(
                f"{printable(str(path))} is not a directory.", "Name the bag's folder."
            )
        name, tree = from_disk(path.resolve().name), Tree(path)
    except OSError as error:
        raise from_os_error(error, f"Opening {printable(str(path))}") from error
    try:
        return OpenBag(read_facts(tree, name, caps, Notes()), tree)
    except BaseException:
        tree.close()
        raise
