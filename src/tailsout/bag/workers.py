"""The threads that read files through, and what each needs for it."""

import threading
from collections.abc import Callable, Sequence
from concurrent.futures import Future, ThreadPoolExecutor, wait
from types import TracebackType
from typing import Self

from tailsout.ground.digests import BLOCK_OCTETS, BUFFERS
from tailsout.records.facts import FoundFile


class Workers:
    """Threads that read files through; all packages that are proved at once may share them.

    A context manager: at its end no thread is left. `spread` gives each algorithm a thread of its
    own whatever else there is to do: for a disk of which one file is read at a time.
    """

    def __init__(self, count: int = 2, *, spread: bool = False) -> None:
        self._spread = spread
        self._pool = ThreadPoolExecutor(count, "prove")
        self._count, self._unfinished = count, 0
        self._lock = threading.Lock()
        self._own = threading.local()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self._pool.shutdown(wait=True, cancel_futures=True)

    @property
    def has_idle(self) -> bool:
        """True while there is less work than workers."""
        return self._spread or self._unfinished < self._count

    def take(self, work: Callable[[], list[FoundFile]]) -> "Future[list[FoundFile]]":
        """Have a piece of work done, after what was handed in before."""
        self._count_work(1)
        return self._pool.submit(self._do, work)

    def let_go(self, pieces: "Sequence[Future[list[FoundFile]]]") -> None:
        """Have pieces not done that were not begun, and wait for those that were."""
        for piece in pieces:
            if piece.cancel():
                self._count_work(-1)
        wait(pieces)

    def buffers(self) -> list[memoryview]:
        """Return the buffers of the worker that asks, always the same ones."""
        if not hasattr(self._own, "buffers"):
            self._own.buffers = [memoryview(bytearray(BLOCK_OCTETS)) for _ in range(BUFFERS)]
        own: list[memoryview] = self._own.buffers
        return own

    def _do(self, work: Callable[[], list[FoundFile]]) -> list[FoundFile]:
        try:
            return work()
        finally:
            self._count_work(-1)

    def _count_work(self, more: int) -> None:
        with self._lock:
            self._unfinished += more
