"""Streams on the files inside an archive. None has a descriptor: that of the archive is not theirs.

A file that lies there as it is can be read anywhere. One that is packed can be read from its start
to its end, and anywhere in what was kept of it; a reader that goes back elsewhere is told so by
`io.UnsupportedOperation`, for it would have the whole archive unpacked again and again.
"""

import errno
import io
from abc import abstractmethod
from collections.abc import Callable
from typing import TYPE_CHECKING

from tailsout.bag.archive.kept import Ends
from tailsout.bag.archive.source import Source, StoppedError

if TYPE_CHECKING:
    from _typeshed import WriteableBuffer

_BUFFER_OCTETS = 1 << 16


class _Seekable(io.RawIOBase):
    """What both have in common: a length and a place."""

    def __init__(self, octets: int) -> None:
        super().__init__()
        self._octets, self._at = octets, 0

    def readable(self) -> bool:
        return True

    def seekable(self) -> bool:
        return True

    def seek(self, offset: int, whence: int = io.SEEK_SET) -> int:
        start = {io.SEEK_SET: 0, io.SEEK_CUR: self._at, io.SEEK_END: self._octets}[whence]
        if start + offset < 0:
            raise OSError(errno.EINVAL, "before the start")
        self._at = start + offset
        return self._at

    def readinto(self, buffer: "WriteableBuffer", /) -> int:
        view = memoryview(buffer).cast("B")
        wanted = min(len(view), self._octets - self._at)
        if wanted <= 0:
            return 0
        part = self._part(wanted)
        view[: len(part)] = part
        self._at += len(part)
        return len(part)

    @abstractmethod
    def _part(self, wanted: int) -> bytes:
        """Return at most so many octets from where the stream is; fewer only at an end."""


class _Window(_Seekable):
    def __init__(self, archive: io.FileIO, offset: int, octets: int) -> None:
        super().__init__(octets)
        self._archive, self._offset = archive, offset

    def _part(self, wanted: int) -> bytes:
        self._archive.seek(self._offset + self._at)
        return self._archive.read(wanted)

    def close(self) -> None:
        if not self.closed:
            self._archive.close()
        super().close()


class _Packed(_Seekable):
    def __init__(
        self,
        octets: int,
        ends: Ends,
        unpack: Callable[[], Source],
        archive: io.BufferedReader | None,
    ) -> None:
        super().__init__(octets)
        self._archive = archive
        self._head, self._tail, self._unpack = ends.head, ends.tail, unpack
        self._tail_at = octets - len(ends.tail)
        self._source: Source | None = None
        self._start = 0

    def _part(self, wanted: int) -> bytes:
        if self._at < len(self._head):
            return self._head[self._at : self._at + wanted]
        if self._at >= self._tail_at:
            start = self._at - self._tail_at
            return self._tail[start : start + wanted]
        try:
            return self._unpacked(min(wanted, self._tail_at - self._at))
        except StoppedError as error:
            raise OSError(errno.EIO, error.text) from error

    def _unpacked(self, wanted: int) -> bytes:
        if self._source is None:
            self._source = self._unpack()
            self._start = self._source.position
        ahead = self._start + self._at - self._source.position
        # Behind it, or another stream has gone on with the same source.
        if ahead < 0 or self._source.position < self._start:
            raise io.UnsupportedOperation("what lies in a packed archive is read in one go")
        self._source.skip(ahead)
        part = self._source.some(wanted)
        if not part:
            raise OSError(errno.EIO, "the packed archive ends early")
        return part

    def close(self) -> None:
        if not self.closed and self._archive is not None:
            self._archive.close()
        super().close()


def window(archive: io.FileIO, offset: int, octets: int) -> io.BufferedReader:
    """Return a stream on a stretch of an open file, which is closed with it."""
    return io.BufferedReader(_Window(archive, offset, octets), _BUFFER_OCTETS)


def packed(
    octets: int,
    ends: Ends,
    unpack: Callable[[], Source],
    archive: io.BufferedReader | None = None,
) -> io.BufferedReader:
    """Return a stream on a packed file of so many octets.

    `unpack` returns a source that stands at its first octet. `archive`, if it is read from that
    alone, is closed with the stream.
    """
    return io.BufferedReader(_Packed(octets, ends, unpack, archive), _BUFFER_OCTETS)
