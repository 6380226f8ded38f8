"""Builds good packages of every kind and has them judged: no alarm may be false (T11).

    python tests/campaigns/good_packages.py --packages 10000 --seed 1

Names, sizes, folders, algorithms, tag files and elements of bag-info.txt are drawn by lot within
what a plan allows, any script of Unicode among them. Our check must pass each without a word to
mend or to ask; while it is built the bagit library is asked besides.
"""

import random
import shutil
import unicodedata
from collections import Counter
from collections.abc import Callable, Mapping
from pathlib import Path

from children import warm_up
from flips import Judge, findings_of
from rig import counts, parser, promise, tell, workplace

from tailsout.bag.build import build
from tailsout.bag.disk import Disk
from tailsout.bag.plan import Made, Plan, Streamed, make_plan
from tailsout.ground.digests import ALGORITHMS
from tailsout.ground.errors import MaterialError
from tailsout.ground.findings import Severity, Verdict
from tailsout.ground.progress import Silent

_ORDINARY = "abcdefghijklmnopqrstuvwxyzABCXYZ0123456789-_.,;=+!#$&'()[]{}@^~ "
_SIZES = (0, 1, 2, 511, 512, 513, 4096, 65_535, 65_536, 70_000)


def character(chance: random.Random) -> str:
    """One that may stand in a name, of any script."""
    while True:
        one = chr(chance.choice((chance.randrange(0x80, 0x3000), chance.randrange(0x110000))))
        if one.isprintable() and unicodedata.normalize("NFC", one) == one:
            return one


def word(chance: random.Random, most: int = 24) -> str:
    manner = chance.randrange(3)

    def letter() -> str:
        plain = manner == 0 or (manner == 1 and chance.randrange(2) == 0)
        return chance.choice(_ORDINARY) if plain else character(chance)

    return "".join(letter() for _ in range(chance.randint(1, most)))


def path(chance: random.Random) -> str:
    return "/".join(word(chance) for _ in range(chance.choice((1, 1, 2, 3, 6))))


def draw(chance: random.Random) -> Plan:
    """One plan; what a plan refuses is drawn again."""
    while True:
        try:
            return _plan(chance)
        except MaterialError:
            continue


def _plan(chance: random.Random) -> Plan:
    return make_plan(
        name=word(chance),
        payload=[
            _file(chance, f"data/{path(chance)}") for _ in range(chance.choice((1, 2, 5, 12)))
        ],
        tags=[_file(chance, path(chance)) for _ in range(chance.choice((0, 0, 1, 3)))],
        bag_info=[
            (word(chance, 40).replace(":", ""), word(chance, chance.choice((10, 200))))
            for _ in range(chance.choice((0, 1, 4)))
        ],
        algorithms=chance.sample(sorted(ALGORITHMS), chance.randint(1, len(ALGORITHMS))),
    )


def _file(chance: random.Random, place: str) -> Streamed | Made:
    content = chance.randbytes(chance.choice((*_SIZES, chance.randrange(3000))))

    def write(take: Callable[[bytes | memoryview], object]) -> None:
        take(content)

    def make(_written: Mapping[str, object]) -> bytes:
        return content

    if chance.randrange(2):
        return Streamed(path=place, octets=len(content), write=write)
    return Made(path=place, make=make)


def run(root: Path, packages: int, seed: int, judge: Judge = findings_of) -> Counter[str]:
    """Return the notes that were met. Raises BrokenError at the first false alarm."""
    warm_up(root)
    notes: Counter[str] = Counter()
    for number in range(packages):
        plan = draw(random.Random(f"{seed}/{number}"))
        parent = root / "out"
        built = build(
            plan, parent, disk=Disk(), judge=lambda _stage: Verdict.PASS, progress=Silent()
        )
        found = judge(built.path)
        alarms = [f"{one.code} {one.place}: {one.text}" for one in found if _alarms(one.severity)]
        promise(not alarms, f"package {number} of seed {seed}, {plan.name!r}: {alarms}")
        notes.update({one.code for one in found})
        shutil.rmtree(parent)
    return notes


def _alarms(severity: Severity) -> bool:
    return severity is not Severity.NOTE


def main() -> None:
    asked = parser(__doc__)
    asked.add_argument("--packages", type=int, default=10_000)
    arguments = asked.parse_args()
    with workplace(arguments.dir) as root:
        notes = run(root, arguments.packages, arguments.seed)
    tell(
        "good packages drawn by lot, built, judged",
        f"{arguments.packages:,}: no false alarm; noted of packages: {counts(notes) or 'nothing'}",
    )


if __name__ == "__main__":
    main()
