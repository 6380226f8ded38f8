"""Builds on disks of every size from 0.1 to 1.1 times the package, in steps of 64 KiB (T5).

    python tests/campaigns/full_disks.py --seed 1

As root the disk is a tmpfs of that size; else one that counts what is written to it. Each size is
met twice: told honestly, when nothing may be written at all, and by a system that says there is
room where there is none, as with a quota or with somebody else filling the disk. Where it did not
suffice, the disk is then made large and the build is taken up.
"""

import errno
import os
import shutil
import subprocess
from collections import Counter
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path

from children import warm_up
from rig import SHAPES, BrokenError, Rig, counts, parser, promise, tell, tree_of, workplace

from tailsout.bag.disk import Disk
from tailsout.ground.errors import SurroundingsError

STEP = 64 << 10
_AMPLE = 1 << 40


class Promising(Disk):
    """Says that there is room."""

    def free_octets(self, path: Path) -> int:
        return _AMPLE

    def free_files(self, path: Path) -> int | None:
        return None


class Counting(Promising):
    """Takes so many octets in all, and says that there is room for more."""

    def __init__(self, octets: int) -> None:
        super().__init__()
        self._left = octets

    def write(self, descriptor: int, block: memoryview) -> int:
        if self._left == 0:
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
        written = super().write(descriptor, block[: self._left])
        self._left -= written
        return written


Place = tuple[Path, Disk, Callable[[], None]]
"""A folder, a disk for it that promises too much, and what makes it large."""


@contextmanager
def tmpfs(root: Path, octets: int) -> Iterator[Place]:
    place = root / "disk"
    place.mkdir()

    def mount(options: str) -> None:
        subprocess.run(["mount", "-t", "tmpfs", "-o", options, "tmpfs", place], check=True)

    mount(f"size={octets}")
    try:
        yield place, Promising(), lambda: mount("remount,size=100m")
    finally:
        subprocess.run(["umount", place], check=True)
        place.rmdir()


@contextmanager
def counted(root: Path, octets: int) -> Iterator[Place]:
    place = root / "disk"
    place.mkdir()
    try:
        yield place, Counting(octets), lambda: None
    finally:
        shutil.rmtree(place)


@dataclass(kw_only=True)
class Report:
    """How many sizes, and what each came to."""

    sizes: int = 0
    left: Counter[str] = field(default_factory=Counter)


def run(rig: Rig, root: Path, *, step: int = STEP, real: bool) -> Report:
    """Go through the sizes. Raises BrokenError."""
    warm_up(root)
    report = Report()
    for octets in range(rig.octets // 10, rig.octets * 11 // 10 + step, step):
        with (tmpfs if real else counted)(root, octets) as (place, disk, enlarge):
            if real:
                _told_honestly(rig, place, f"{octets} octets")
            report.left[_told_wrongly(rig, place, disk, enlarge, f"{octets} octets")] += 1
        report.sizes += 1
    return report


def _told_honestly(rig: Rig, place: Path, trial: str) -> None:
    try:
        rig.build(place)
    except SurroundingsError:
        promise(not tree_of(place), f"{trial}: refused, and something was written")
        return
    promise(False, f"{trial}: was not refused, though there is no room to spare")


def _told_wrongly(
    rig: Rig, place: Path, disk: Disk, enlarge: Callable[[], None], trial: str
) -> str:
    try:
        rig.build(place, disk=disk)
    except SurroundingsError:
        enlarge()
        return rig.take_up(place, trial, disk=Promising())
    except Exception as error:
        raise BrokenError(f"{trial}: {error!r}") from error
    promise(rig.state(place, trial) == "whole", f"{trial}: told to stand")
    return "fitted"


def main() -> None:
    asked = parser(__doc__)
    asked.add_argument("--shape", choices=SHAPES, default="six")
    arguments = asked.parse_args()
    real = os.geteuid() == 0
    with workplace(arguments.dir) as root:
        rig = Rig(root, arguments.shape, arguments.seed)
        report = run(rig, root, real=real)
    tell(
        f"packages of {rig.octets:,} octets on {'tmpfs' if real else 'counted disks'} of 0.1 to "
        "1.1 times that size, in steps of 64 KiB",
        f"{report.sizes} sizes: 0 sources changed, 0 half packages, every resume identical; "
        f"they left: {counts(report.left)}",
    )


if __name__ == "__main__":
    main()
