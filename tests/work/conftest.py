"""Ways to disturb a close: a progress that acts at a moment, a disk that fails at one."""

import errno
import os
from collections.abc import Callable
from typing import Any

import pytest

from tailsout.bag.disk import Disk


class Acting:
    """Counts what it is told; acts once, at the first octets that pass in a stretch of work."""

    def __init__(self, when: str, act: Callable[[], object]) -> None:
        self.when, self.act = when, act
        self.doing = ""
        self.lines: list[str] = []
        self.acted = False

    def begin(self, doing: str, octets: int) -> None:
        self.doing = doing

    def advance(self, octets: int) -> None:
        if self.doing.startswith(self.when) and not self.acted:
            self.acted = True
            self.act()

    def say(self, line: str) -> None:
        self.lines.append(line)


class FullDisk(Disk):
    """Takes so many octets, then is full."""

    def __init__(self, octets: int) -> None:
        super().__init__()
        self.octets_left = octets

    def write(self, descriptor: int, block: memoryview) -> int:
        if self.octets_left <= 0:
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
        written = super().write(descriptor, block[: self.octets_left])
        self.octets_left -= written
        return written


@pytest.fixture
def acting() -> Callable[..., Any]:
    return Acting


@pytest.fixture
def full_disk() -> Callable[[int], Disk]:
    return FullDisk
