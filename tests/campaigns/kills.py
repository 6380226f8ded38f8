"""Kills builds at times spread evenly over the time a build takes (T1).

    python tests/campaigns/kills.py --shape six --kills 1000 --seed 1

The window is measured on builds that nobody disturbs, again every fifty kills. Only a kill that
met a running build counts. After each: the sources are untouched, nothing or the whole package
has the name, and the resume, or a new build where nothing was left, comes to identical octets.
"""

import random
import shutil
import signal
import statistics
from collections import Counter
from pathlib import Path

from children import Child, seconds_of, warm_up
from rig import SHAPES, Rig, counts, parser, promise, tell, workplace

_MEASURED, _AGAIN = 7, 50


def window(rig: Rig, root: Path, builds: int = _MEASURED) -> float:
    """Seconds that a build takes, the median of several."""
    taken = []
    place = root / "undisturbed"
    for _ in range(builds):
        place.mkdir()
        taken.append(seconds_of(lambda: rig.build(place)))
        shutil.rmtree(place)
    return statistics.median(taken)


def run(rig: Rig, root: Path, kills: int) -> tuple[Counter[str], int]:
    """Return what the kills left, and how many came too late. Raises BrokenError."""
    chance = random.Random(rig.seed)
    left: Counter[str] = Counter()
    missed = 0
    warm_up(root)
    seconds = 0.0
    place = root / "out"
    for number in range(kills):
        if number % _AGAIN == 0:
            seconds = window(rig, root)
        # An even spread that does not follow the order of the trials.
        share = ((number * 617) % kills + chance.random()) / kills
        while True:
            place.mkdir()
            child = Child(lambda: rig.build(place))
            child.go()
            too_late = child.finished_within(share * seconds)
            child.kill()
            code, said = child.end()
            # It may have come to its end between the look and the kill.
            if not too_late and code == -signal.SIGKILL and not said:
                break
            promise(not said or said == b"C", f"kill {number}: {said.decode()}")
            missed += 1
            shutil.rmtree(place)
            share *= 0.98
        left[rig.take_up(place, f"kill {number} of seed {rig.seed} at {share:.3f}")] += 1
        shutil.rmtree(place)
    return left, missed


def main() -> None:
    asked = parser(__doc__)
    asked.add_argument("--shape", choices=SHAPES, default="six")
    asked.add_argument("--kills", type=int, default=1000)
    arguments = asked.parse_args()
    with workplace(arguments.dir) as root:
        rig = Rig(root, arguments.shape, arguments.seed)
        left, missed = run(rig, root, arguments.kills)
    tell(
        f"builds of {len(rig.reference)} files and folders killed ({rig.octets:,} octets)",
        f"{arguments.kills:,} kills: 0 sources changed, 0 half packages, every resume identical; "
        f"they left: {counts(left)} ({missed} more came too late)",
    )


if __name__ == "__main__":
    main()
