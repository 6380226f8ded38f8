"""Kills a build before every call to the disk, and the resume that follows before every call (T2).

    python tests/campaigns/every_call.py --pairs 500 --seed 1

First before each call of a build; then, from a few places where a build was killed, before each
call of the resume; then at random pairs of both. Afterwards the same must hold as in `kills.py`.
"""

import os
import random
import shutil
import signal
from collections import Counter
from dataclasses import dataclass, field
from pathlib import Path

from children import Child, warm_up
from rig import SHAPES, Rig, Told, counts, parser, promise, tell, workplace


def killing(at: int) -> Told:
    """A disk before whose n-th call the process is killed."""

    def before(_call: str) -> None:
        if len(disk.calls) == at:
            os.kill(os.getpid(), signal.SIGKILL)

    disk = Told(before)
    return disk


def killed(rig: Rig, parent: Path, at: int, *, resume: bool = False) -> bool:
    """Build, killed before the n-th call; tell whether it came to that."""
    child = Child(lambda: rig.build(parent, disk=killing(at), resume=resume))
    child.go()
    code, said = child.end()
    promise(code in {0, -signal.SIGKILL}, f"call {at}: {said.decode()}")
    return code != 0


@dataclass(kw_only=True)
class Report:
    """How often what was killed, and what that left."""

    builds: int = 0
    resumes: int = 0
    left: Counter[str] = field(default_factory=Counter)


def calls_of(rig: Rig, root: Path) -> int:
    """How many calls to the disk one build makes."""
    disk = Told()
    place = root / "counted"
    place.mkdir()
    rig.build(place, disk=disk)
    shutil.rmtree(place)
    return len(disk.calls)


def run(rig: Rig, root: Path, *, pairs: int, starts: int = 4, step: int = 1) -> Report:
    """Kill at every `step`-th call. Raises BrokenError."""
    warm_up(root)
    report = Report()
    most = calls_of(rig, root)
    for at in range(1, most + 1, step):
        _trial(rig, root, report, at)
    for start in range(starts):
        # From a third of the way on: before that next to nothing is left to resume.
        at = most // 3 + (most - most // 3 - 1) * start // max(starts - 1, 1)
        again = 1
        while _trial(rig, root, report, at, again):
            again += step
    chance = random.Random(rig.seed)
    for _ in range(pairs):
        _trial(rig, root, report, chance.randint(1, most), chance.randint(1, most))
    return report


def _trial(rig: Rig, root: Path, report: Report, at: int, again: int = 0) -> bool:
    """Kill one build and, if wanted, its resume; tell whether the latter came to be killed."""
    place = root / "out"
    place.mkdir()
    was_killed = killed(rig, place, at)
    promise(was_killed, f"call {at} was never made")
    report.builds += 1
    trial = f"killed before call {at}"
    if again:
        left = rig.state(place, trial)
        resume = left not in {"nothing", "journal"}
        was_killed = left != "whole" and killed(rig, place, again, resume=resume)
        report.resumes += was_killed
        trial += f", then before call {again}"
    report.left[rig.take_up(place, trial)] += 1
    shutil.rmtree(place)
    return was_killed


def main() -> None:
    asked = parser(__doc__)
    asked.add_argument("--shape", choices=SHAPES, default="six")
    asked.add_argument("--pairs", type=int, default=500)
    arguments = asked.parse_args()
    with workplace(arguments.dir) as root:
        rig = Rig(root, arguments.shape, arguments.seed)
        report = run(rig, root, pairs=arguments.pairs)
    tell(
        "builds killed before each call to the disk, and resumes",
        f"{report.builds:,} builds and {report.resumes:,} resumes killed: 0 sources changed, 0 "
        f"half packages, every resume identical; they left: {counts(report.left)}",
    )


if __name__ == "__main__":
    main()
