"""Cuts the power of an ext4 in a file while a build runs on it; needs root and mkfs.ext4 (T3).

    python tests/campaigns/power_cuts.py --cuts 1000 --seed 1
    python tests/campaigns/power_cuts.py --cuts 100 --without sync_file --without sync_directory
    python tests/campaigns/power_cuts.py --cuts 100 --without sync_file --unjudged

The cut is the shutdown ioctl of ext4 (FS_IOC_SHUTDOWN without flushing the log, Linux
include/uapi/linux/fs.h): from then on nothing reaches the image, and what was not synced is gone
when it is mounted again. It is not a model of torn sectors or of a drive that lies about its cache.

`--without` leaves out a call of the disk. It is the negative control: packages that were told to
stand must then be lost, or the campaign sees nothing. Where the files alone are not synced, the
judge must be left out too: it has them read from the disk itself, which writes them out first, and
ext4 then waits for them when the folders are synced.
"""

import argparse
import fcntl
import os
import random
import shutil
import struct
import subprocess
from collections import Counter
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from children import STOPPED, Child, warm_up
from kills import window
from rig import SHAPES, BrokenError, Rig, counts, parser, promise, tell, workplace

from tailsout.bag.disk import Disk
from tailsout.ground.findings import Verdict

_SHUTDOWN, _NO_LOG_FLUSH = 0x8004587D, 2
_IMAGE_OCTETS = 64 << 20
_AGAIN = 50


def quietly(*command: str | Path) -> None:
    subprocess.run(command, check=True, capture_output=True)


class Drive:
    """An ext4 in a file, mounted; its power can be cut."""

    def __init__(self, root: Path) -> None:
        self._image, self.place = root / "drive.img", root / "drive"
        self.place.mkdir()
        with self._image.open("wb") as stream:
            stream.truncate(_IMAGE_OCTETS)
        quietly("mkfs.ext4", "-q", "-F", self._image)

    @contextmanager
    def mounted(self) -> Iterator[Path]:
        quietly("mount", "-o", "loop", self._image, self.place)
        try:
            yield self.place
        finally:
            quietly("umount", self.place)

    def cut(self) -> None:
        """Cut the power."""
        descriptor = os.open(self.place, os.O_RDONLY)
        try:
            fcntl.ioctl(descriptor, _SHUTDOWN, struct.pack("I", _NO_LOG_FLUSH))
        finally:
            os.close(descriptor)

    def examine(self, trial: str) -> None:
        """Have e2fsck look at it, unmounted, changing nothing."""
        done = subprocess.run(
            ["e2fsck", "-f", "-n", self._image], check=False, capture_output=True, text=True
        )
        promise(done.returncode == 0, f"{trial}: e2fsck: {done.stdout}")


@dataclass(kw_only=True)
class Report:
    """What the cuts came to."""

    cuts: int = 0
    after_committed: int = 0
    lost: int = 0
    """Said to be committed, and gone or not whole after the cut. Without a control: none."""
    half: int = 0
    """Under the final name and not whole."""
    left: Counter[str] = field(default_factory=Counter)


def without(calls: Sequence[str]) -> type[Disk]:
    """A disk that leaves out some of its calls."""

    def nothing(self: Disk, *arguments: Any) -> None:
        return None

    return type("Without", (Disk,), dict.fromkeys(calls, nothing))


def run(rig: Rig, root: Path, cuts: int, omitted: Sequence[str] = ()) -> Report:
    """Cut the power so often. Raises BrokenError, save for what a control is bound to lose.

    Every tenth cut comes right after a build has told that its package is committed; so does every
    second one of a control.
    """
    chance = random.Random(rig.seed)
    report = Report()
    warm_up(root)
    drive = Drive(root)
    seconds = 0.0
    for number in range(cuts):
        if number % _AGAIN == 0:
            with drive.mounted() as place:
                seconds = window(rig, place, 5)
        after = number % (2 if omitted else 10) == 0
        share = None if after else ((number * 617) % cuts + chance.random()) / cuts
        trial = f"cut {number} of seed {rig.seed}"
        committed = _cut(rig, drive, omitted, None if share is None else share * seconds, trial)
        report.cuts += 1
        report.after_committed += committed
        _after(rig, drive, report, committed=committed, control=bool(omitted), trial=trial)
    return report


def _cut(rig: Rig, drive: Drive, omitted: Sequence[str], after: float | None, trial: str) -> bool:
    """Build, and cut the power some seconds later, or once it is done; tell whether it was done."""
    with drive.mounted() as place:
        parent = place / "out"
        parent.mkdir()
        quietly("sync", "-f", place)
        child = Child(lambda: rig.build(parent, disk=without(omitted)()))
        child.go()
        child.finished_within(60 if after is None else after)
        drive.cut()
        # What it says from here on it says by a disk that refuses everything.
        code, said = child.end()
        promise(code in {0, STOPPED}, f"{trial}: exit {code}: {said.decode()}")
    return code == 0


def _after(
    rig: Rig, drive: Drive, report: Report, *, committed: bool, control: bool, trial: str
) -> None:
    """Mount again and look."""
    with drive.mounted() as place:
        parent = place / "out"
        try:
            state = rig.state(parent, trial)
        except BrokenError:
            if not control:
                raise
            report.half += (parent / rig.name).exists()
            state = "half"
        is_lost = committed and not state.startswith("whole")
        promise(control or not is_lost, f"{trial}: committed and lost: {state}")
        report.lost += is_lost
        report.left[state] += 1
        if not control:
            rig.take_up(parent, trial)
        shutil.rmtree(parent)
    drive.examine(trial)


def main() -> None:
    asked = parser(__doc__)
    asked.add_argument("--shape", choices=SHAPES, default="six")
    asked.add_argument("--cuts", type=int, default=1000)
    asked.add_argument("--without", action="append", default=[], help="a call to leave out")
    asked.add_argument("--unjudged", action="store_true", help="no judge reads what was written")
    arguments: argparse.Namespace = asked.parse_args()
    with workplace(arguments.dir) as root:
        judge: dict[str, Any] = {"judge": lambda _stage: Verdict.PASS} if arguments.unjudged else {}
        rig = Rig(root, arguments.shape, arguments.seed, **judge)
        report = run(rig, root, arguments.cuts, arguments.without)
    what = "power cuts on ext4 while a package is built"
    if arguments.without:
        judged = ", and the judge" * arguments.unjudged
        what += f", {' and '.join(arguments.without)} left out{judged}"
        promise(report.lost > 0, "the control lost nothing: the campaign is blind")
    tell(
        what,
        f"{report.cuts:,} cuts, {report.after_committed:,} after *committed*: {report.lost:,} of "
        f"these lost, {report.half:,} half packages; after mounting again: {counts(report.left)}",
    )


if __name__ == "__main__":
    main()
