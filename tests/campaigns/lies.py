"""Builds on a disk that keeps one bit other than it was given, and says nothing (T6).

    python tests/campaigns/lies.py --bits 10000 --seed 1

The bit is drawn by lot over everything that a build writes, its journal included. The package is
not let pass, or it is whole and identical because the bit was none of its own.
"""

import random
import shutil
from collections import Counter
from pathlib import Path

from children import warm_up
from rig import SHAPES, Rig, counts, parser, promise, tell, workplace

from tailsout.bag.disk import Disk
from tailsout.ground.errors import MaterialError


class Lying(Disk):
    """Keeps one bit of all that is written the other way round."""

    def __init__(self, octet: int, bit: int) -> None:
        super().__init__()
        self._at, self._bit = octet, bit
        self.octets = 0

    def write(self, descriptor: int, block: memoryview) -> int:
        at = self._at - self.octets
        if 0 <= at < len(block):
            kept = bytearray(block)
            kept[at] ^= 1 << self._bit
            block = memoryview(kept)
        written = super().write(descriptor, block)
        self.octets += written
        return written


def run(rig: Rig, root: Path, bits: int, *, tail: int = 0) -> Counter[str]:
    """Return what became of the builds. Raises BrokenError.

    With `tail` the bit lies within so many octets from the end: the manifests and what follows.
    """
    warm_up(root)
    place = root / "out"
    honest = Lying(-1, 0)
    rig.build(place, disk=honest)
    shutil.rmtree(place)
    chance = random.Random(rig.seed)
    met: Counter[str] = Counter()
    for _ in range(bits):
        octet = chance.randrange(max(honest.octets - tail, 0) if tail else 0, honest.octets)
        bit = chance.randrange(8)
        place.mkdir()
        trial = f"bit {bit} of octet {octet}"
        try:
            rig.build(place, disk=Lying(octet, bit))
        except MaterialError:
            left = rig.state(place, trial)
            promise(left == "nothing", f"{trial}: not let pass, and left {left}")
            met["not let pass"] += 1
        else:
            promise(rig.state(place, trial) == "whole", f"{trial}: not whole")
            met["whole, the bit being the journal's"] += 1
        shutil.rmtree(place)
    return met


def main() -> None:
    asked = parser(__doc__)
    asked.add_argument("--shape", choices=SHAPES, default="small")
    asked.add_argument("--bits", type=int, default=10_000)
    asked.add_argument("--tail", type=int, default=0, help="only in so many octets from the end")
    arguments = asked.parse_args()
    with workplace(arguments.dir) as root:
        rig = Rig(root, arguments.shape, arguments.seed)
        met = run(rig, root, arguments.bits, tail=arguments.tail)
    tell("a disk that keeps one bit otherwise", f"{arguments.bits:,} builds: {counts(met)}")


if __name__ == "__main__":
    main()
