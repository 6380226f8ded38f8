"""Has eight builders at one package at once, and readers looking on (T13).

    python tests/campaigns/at_once.py --rounds 1000 --seed 1

Exactly one builder wins. The others are refused or told that another is at it, and leave nothing.
A reader sees no package or the whole of it.
"""

import os
import random
import shutil
import signal
import time
from collections import Counter
from collections.abc import Callable
from pathlib import Path

from children import Child, warm_up
from rig import SHAPES, Rig, counts, parser, promise, tell, tree_of, workplace

from tailsout.bag.build import Built
from tailsout.ground.errors import RefusedError, SurroundingsError


class Reader:
    """Looks at the place of a package until it is told to stop; ends with what it saw wrong."""

    def __init__(self, rig: Rig, parent: Path) -> None:
        self._stop = False
        self._rig, self._parent = rig, parent

    def look(self) -> None:
        signal.signal(signal.SIGTERM, lambda *_: setattr(self, "_stop", True))
        looked = False
        while not (self._stop and looked):
            looked = True
            if os.path.lexists(self._parent / self._rig.name):
                promise(
                    tree_of(self._parent / self._rig.name) == self._rig.reference, "half a package"
                )


def run(rig: Rig, root: Path, rounds: int, builders: int = 8, readers: int = 2) -> Counter[str]:
    """Return what the losers were told. Raises BrokenError."""
    warm_up(root)
    chance = random.Random(rig.seed)
    told: Counter[str] = Counter()
    for number in range(rounds):
        place = root / "out"
        place.mkdir()
        trial = f"round {number} of seed {rig.seed}"
        looking = [Child(Reader(rig, place).look) for _ in range(readers)]
        building = [
            Child(_late(rig, place, chance.choice((0, 0, chance.random() * 0.3))))
            for _ in range(builders)
        ]
        for child in (*looking, *building):
            child.go()
        ends = [child.end() for child in building]
        for child in looking:
            os.kill(child.pid, signal.SIGTERM)
        seen = [child.end() for child in looking]
        promise(all(code == 0 for code, _ in seen), f"{trial}: a reader saw {seen}")
        won = [code for code, _ in ends if code == 0]
        promise(len(won) == 1, f"{trial}: {len(won)} won: {[said for _, said in ends]}")
        for code, said in ends:
            why = said.partition(b"(")[0].decode()
            lost = {RefusedError.__name__, SurroundingsError.__name__}
            promise(code == 0 or why in lost, f"{trial}: {said.decode()}")
            told["found it there" if why == RefusedError.__name__ else "found it in use"] += (
                code != 0
            )
        promise(rig.state(place, trial) == "whole", f"{trial}: something was left")
        shutil.rmtree(place)
    return told


def _late(rig: Rig, place: Path, seconds: float) -> Callable[[], Built]:
    def work() -> Built:
        time.sleep(seconds)
        return rig.build(place)

    return work


def main() -> None:
    asked = parser(__doc__)
    asked.add_argument("--shape", choices=SHAPES, default="small")
    asked.add_argument("--rounds", type=int, default=1000)
    arguments = asked.parse_args()
    with workplace(arguments.dir) as root:
        rig = Rig(root, arguments.shape, arguments.seed)
        told = run(rig, root, arguments.rounds)
    tell(
        "eight builders at one package, two readers looking on",
        f"{arguments.rounds:,} rounds: one won in each, the readers saw nothing or the whole; of "
        f"the others {counts(told)}",
    )


if __name__ == "__main__":
    main()
