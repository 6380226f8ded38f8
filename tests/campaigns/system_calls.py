"""Kills a build before every system call of it, and the resume that follows; needs strace (T2).

    python tests/campaigns/system_calls.py --seed 1

strace counts the calls of each thread by itself: the n-th call is that of the thread which gets to
it first. It is attached before the first call of the stage, when everything is imported.
"""

import shutil
import signal
import subprocess
from collections import Counter
from collections.abc import Callable, Iterable
from pathlib import Path

from children import Child, wait_traced, warm_up
from rig import SHAPES, Rig, counts, parser, promise, tell, workplace

_MOST = 20_000
UNTOUCHED = 20
"""Builds in a row that came to their end before the campaign ends: threads wait now more, now less
often, so that no two builds make quite the same calls."""


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


def killed(rig: Rig, parent: Path, at: int, *, resume: bool = False) -> bool:
    """Build, killed before the n-th system call; tell whether it came to that."""
    code, said = traced(
        lambda: rig.build(parent, resume=resume), f"inject=all:signal=KILL:when={at}"
    )
    promise(code in {0, -signal.SIGKILL}, f"system call {at}: {said.decode()}")
    return code != 0


def run(
    rig: Rig, root: Path, *, first: int = 1, step: int = 1, untouched: int = UNTOUCHED
) -> tuple[Counter[str], int, int]:
    """Return what was left, and how many builds and resumes were killed. Raises BrokenError."""
    warm_up(root)
    left: Counter[str] = Counter()
    points = range(first, _MOST, step)
    builds = _every(rig, root, left, points, untouched)
    # Half way, so that there is something to be taken up.
    half = first + builds * step // 2
    resumes = _every(rig, root, left, points, untouched, cut_first=half)
    return left, builds, resumes


def _every(
    rig: Rig,
    root: Path,
    left: Counter[str],
    points: Iterable[int],
    untouched: int,
    *,
    cut_first: int = 0,
) -> int:
    """Kill at every point, a resume if the build before it is to be cut off; tell how often."""
    kills = in_a_row = 0
    for at in points:
        place = root / "out"
        place.mkdir()
        if cut_first:
            killed(rig, place, cut_first)
        was_killed = killed(rig, place, at, resume=bool(cut_first))
        what = rig.take_up(place, f"{'resume ' * bool(cut_first)}killed before system call {at}")
        shutil.rmtree(place)
        if was_killed:
            left[what] += 1
            kills += 1
            in_a_row = 0
        else:
            in_a_row += 1
            if in_a_row == untouched:
                break
    return kills


def main() -> None:
    asked = parser(__doc__)
    asked.add_argument("--shape", choices=SHAPES, default="small")
    asked.add_argument("--step", type=int, default=1)
    arguments = asked.parse_args()
    with workplace(arguments.dir) as root:
        rig = Rig(root, arguments.shape, arguments.seed)
        left, builds, resumes = run(rig, root, step=arguments.step)
    tell(
        "builds killed before each system call, and resumes",
        f"{builds:,} builds and {resumes:,} resumes killed: 0 sources changed, 0 half packages, "
        f"every resume identical; they left: {counts(left)}",
    )


if __name__ == "__main__":
    main()
