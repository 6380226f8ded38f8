"""Kills a build before every system call of it, and the resume that follows; needs strace (T2).

    python tests/campaigns/system_calls.py --seed 1

First a build is written down by strace, then one is killed before each call of its main thread,
from the making of the stage on. strace counts the calls of each name by themselves, in each thread
by itself: a point is a name and a number.
"""

import shutil
import signal
import subprocess
from collections import Counter
from collections.abc import Callable, Sequence
from pathlib import Path

from children import Child, wait_traced, warm_up
from rig import SHAPES, Rig, counts, parser, promise, tell, workplace

Point = tuple[str, int]
"""A system call by its name, and which of that name."""


def traced(
    work: Callable[[], object], asked: str, log: str | Path = "/dev/null"
) -> tuple[int, bytes]:
    """Do it in a child while strace does what is asked of it; return how it ended."""
    child = Child(work)
    command = ["strace", "-f", "-qq", "-o", str(log), "-e", asked, "-p", str(child.pid)]
    tracer = subprocess.Popen(command, stderr=subprocess.PIPE)
    try:
        wait_traced(child.pid)
    except BaseException:
        child.kill()
        raise
    finally:
        child.go()
        ended = child.end()
        _, told = tracer.communicate()
    promise(b"nvalid" not in told, told.decode())
    return ended


def points_of(work: Callable[[], object], log: Path, first: str = "") -> list[Point]:
    """Return the calls of the main thread in their order, from the first of that name on."""
    traced(work, "trace=all", log)
    lines = log.read_text(encoding="utf-8", errors="replace").splitlines()
    # 4711 openat(…) = 3: process, call. The end of a call that was interrupted has no such form.
    told = [tuple(line.partition("(")[0].split()) for line in lines if "(" in line]
    made = [one[1] for one in told if len(one) == 2 and one[0] == told[0][0]]
    count: Counter[str] = Counter()
    points = []
    for call in made:
        count[call] += 1
        points.append((call, count[call]))
    return points[made.index(first) if first else 0 :]


def killed(rig: Rig, parent: Path, at: Point, *, resume: bool = False) -> bool:
    """Build, killed before that call; tell whether it came to that."""
    call, number = at
    code, said = traced(
        lambda: rig.build(parent, resume=resume), f"inject={call}:signal=KILL:when={number}"
    )
    promise(code in {0, -signal.SIGKILL}, f"{call} {number}: {said.decode()}")
    return code != 0


def run(rig: Rig, root: Path, *, step: int = 1, first: int = 0) -> tuple[Counter[str], int, int]:
    """Return what was left, and how many builds and resumes were killed. Raises BrokenError.

    Every `step`-th call from the `first` on, so that several runs may share the work. Threads wait
    now more, now less often: a point that a build does not come to is not counted.
    """
    warm_up(root)
    left: Counter[str] = Counter()
    place, log = root / "written-down", root / "strace"
    place.mkdir()
    build = points_of(lambda: rig.build(place), log, "mkdir")
    shutil.rmtree(place)
    builds = _every(rig, root, left, build[first::step])
    # Where the stage is about to get its name most is there to be taken up.
    cut = build[[call for call, _ in build].index("renameat2")]
    place.mkdir()
    killed(rig, place, cut)
    resume = points_of(lambda: rig.build(place, resume=True), log)
    shutil.rmtree(place)
    resumes = _every(rig, root, left, resume[first::step], cut)
    return left, builds, resumes


def _every(
    rig: Rig, root: Path, left: Counter[str], points: Sequence[Point], cut: Point | None = None
) -> int:
    """Kill at every point, a resume if the build before it is to be cut off; tell how often."""
    kills = 0
    for at in points:
        place = root / "out"
        place.mkdir()
        resume = cut is not None and killed(rig, place, cut)
        was_killed = killed(rig, place, at, resume=resume)
        what = rig.take_up(place, f"{'resume ' * resume}killed before {at[0]} {at[1]}")
        shutil.rmtree(place)
        if was_killed:
            left[what] += 1
            kills += 1
    return kills


def main() -> None:
    asked = parser(__doc__)
    asked.add_argument("--shape", choices=SHAPES, default="small")
    asked.add_argument("--step", type=int, default=1)
    asked.add_argument("--first", type=int, default=0)
    arguments = asked.parse_args()
    with workplace(arguments.dir) as root:
        rig = Rig(root, arguments.shape, arguments.seed)
        left, builds, resumes = run(rig, root, step=arguments.step, first=arguments.first)
    tell(
        "builds killed before each system call, and resumes",
        f"{builds:,} builds and {resumes:,} resumes killed: 0 sources changed, 0 half packages, "
        f"every resume identical; they left: {counts(left)}",
    )


if __name__ == "__main__":
    main()
