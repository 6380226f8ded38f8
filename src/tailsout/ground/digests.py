"""Several digests of one stream of octets in one read."""

import hashlib
from collections.abc import Mapping, Sequence
from concurrent.futures import Future, ThreadPoolExecutor
from types import TracebackType
from typing import Self

BLOCK_OCTETS = 1 << 20
"""Octets to read at a time: larger blocks gain nothing, smaller ones lose to call overhead."""

ALGORITHMS: Mapping[str, int] = {"md5": 32, "sha1": 40, "sha256": 64, "sha512": 128}
"""Algorithm names as BagIt spells them (RFC 8493 §2.4) and their length in hex digits."""

_SMALL = 1 << 16


class Hashing:
    """Feeds every block to all algorithms, each in a thread of its own.

    `hashlib` releases the interpreter lock, so on two cores the slowest algorithm sets the pace.
    The block handed to `update` must not change until the next call returns: at most one block a
    algorithm is under way. Use it as a context manager, so that its threads end.
    """

    def __init__(self, algorithms: Sequence[str]) -> None:
        self._hashes = {name: hashlib.new(name, usedforsecurity=False) for name in algorithms}
        self._pool: ThreadPoolExecutor | None = None
        self._under_way: list[Future[None]] = []

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        if self._pool is not None:
            self._pool.shutdown(wait=True)

    def update(self, block: bytes | bytearray | memoryview) -> None:
        """Take in the next octets."""
        self._wait()
        if len(self._hashes) == 1 or len(block) < _SMALL:
            for one in self._hashes.values():
                one.update(block)
            return
        if self._pool is None:
            self._pool = ThreadPoolExecutor(len(self._hashes), "digest")
        self._under_way = [self._pool.submit(one.update, block) for one in self._hashes.values()]

    def hexdigests(self) -> dict[str, str]:
        """Return the digests so far, lower-case hex, by algorithm."""
        self._wait()
        return {name: one.hexdigest() for name, one in self._hashes.items()}

    def _wait(self) -> None:
        for one in self._under_way:
            one.result()
        self._under_way = []


def digests_of(content: bytes, algorithms: Sequence[str]) -> dict[str, str]:
    """Return the digests of octets in memory."""
    return {n: hashlib.new(n, content, usedforsecurity=False).hexdigest() for n in algorithms}
