"""Several digests of one stream of octets in one read."""

import hashlib
from collections import deque
from collections.abc import Mapping, Sequence
from concurrent.futures import Future, ThreadPoolExecutor
from types import TracebackType
from typing import Self

BLOCK_OCTETS = 1 << 20
"""Octets to read at a time: larger blocks gain nothing, smaller ones lose to call overhead."""

ALGORITHMS: Mapping[str, int] = {"md5": 32, "sha1": 40, "sha256": 64, "sha512": 128}
"""Algorithm names as BagIt spells them (RFC 8493 §2.4) and their length in hex digits."""

BUFFERS = 3
"""How many buffers must take turns for `Hashing`, the one being filled among them."""

_SMALL = 1 << 16


class Hashing:
    """Feeds every block to all algorithms, each in a thread of its own.

    `hashlib` releases the interpreter lock, so on two cores the slowest algorithm sets the pace.
    A block handed to `update` must not change before `BUFFERS - 1` more calls have returned: so
    many are under way, for with one alone each algorithm would wait for the other at every block.
    Use it as a context manager, so that its threads end.
    """

    def __init__(self, algorithms: Sequence[str]) -> None:
        self._hashes = {name: hashlib.new(name, usedforsecurity=False) for name in algorithms}
        self._threads: dict[str, ThreadPoolExecutor] = {}
        self._under_way: deque[list[Future[None]]] = deque()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        for thread in self._threads.values():
            thread.shutdown(wait=True)

    def update(self, block: bytes | bytearray | memoryview, *, here: bool = False) -> None:
        """Take in the next octets; `here` and now if other work has a use for the cores."""
        if here or len(self._hashes) == 1 or len(block) < _SMALL:
            self._wait(0)
            for one in self._hashes.values():
                one.update(block)
            return
        self._wait(BUFFERS - 2)
        if not self._threads:
            # One thread an algorithm, so that its blocks stay in order.
            self._threads = {name: ThreadPoolExecutor(1, f"digest-{name}") for name in self._hashes}
        self._under_way.append(
            [self._threads[name].submit(one.update, block) for name, one in self._hashes.items()]
        )

    def hexdigests(self) -> dict[str, str]:
        """Return the digests so far, lower-case hex, by algorithm."""
        self._wait(0)
        return {name: one.hexdigest() for name, one in self._hashes.items()}

    def _wait(self, most: int) -> None:
        """Wait until at most so many blocks are under way."""
        while len(self._under_way) > most:
            for one in self._under_way.popleft():
                one.result()


def digests_of(content: bytes, algorithms: Sequence[str]) -> dict[str, str]:
    """Return the digests of octets in memory."""
    return {n: hashlib.new(n, content, usedforsecurity=False).hexdigest() for n in algorithms}
