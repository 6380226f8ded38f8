"""Damages a package built here in one place at a time and has it judged (T7).

    python tests/campaigns/flips.py --bits 10000 --each 1000 --seed 1

Every bit of every tag file, random bits of the whole package, and other damage: an octet more, a
sector of zeros, blocks that changed places, a file that is shorter, doubled, gone, under another
name or changed with another of its size. All must be detected and located: a finding that is to
mend names the file. What the bag alone can only note is counted apart: a hex digit in upper case
in a tag manifest says the same to RFC 8493 §2.4, and no list in a bag holds a tag manifest itself.
"""

import itertools
import random
import re
import shutil
from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path

from rig import SHAPES, BrokenError, Rig, parser, promise, tell, tree_of, workplace

from tailsout.ground.findings import Finding, Severity
from tailsout.ground.progress import Silent
from tailsout.work.check import check

SECTOR, BLOCK = 512, 4096

Judge = Callable[[Path], tuple[Finding, ...]]


def findings_of(base: Path) -> tuple[Finding, ...]:
    """What our check says of a bag: RFC 8493 alone."""
    return check(base, Silent(), bagit_only=True).judgement.findings


@dataclass(frozen=True, kw_only=True)
class Damage:
    """One thing done to a package, and how it is undone."""

    what: str
    files: tuple[str, ...]
    """Each of which would locate it."""
    do: Callable[[], object]
    undo: Callable[[], object]


@dataclass(kw_only=True)
class Report:
    """How many damages of each sort were made, and which of them a note alone told."""

    made: Counter[str] = field(default_factory=Counter)
    noted: Counter[str] = field(default_factory=Counter)
    missed: list[str] = field(default_factory=list)


class Package:
    """A package and the damage that can be done to it."""

    def __init__(self, base: Path, seed: int) -> None:
        self.base, self._chance = base, random.Random(seed)
        self._content = {
            one.relative_to(base).as_posix(): one.read_bytes()
            for one in sorted(base.rglob("*"))
            if one.is_file()
        }
        self.tags = [path for path in self._content if not path.startswith("data/")]
        self.octets = sum(map(len, self._content.values()))

    def every_tag_bit(self, step: int = 1) -> Iterator[Damage]:
        places = (
            (path, octet, bit)
            for path in self.tags
            for octet in range(len(self._content[path]))
            for bit in range(8)
        )
        for path, octet, bit in itertools.islice(places, 0, None, step):
            yield self._flip(path, octet, bit)

    def random_bit(self) -> Damage:
        at = self._chance.randrange(self.octets)
        for path, content in self._content.items():
            if at < len(content):
                return self._flip(path, at, self._chance.randrange(8))
            at -= len(content)
        raise AssertionError

    def _flip(self, path: str, octet: int, bit: int) -> Damage:
        content = self._content[path]
        changed = content[octet] ^ 1 << bit
        return self._rewritten(
            f"bit {bit} of octet {octet} of {path}",
            {path: content[:octet] + bytes([changed]) + content[octet + 1 :]},
        )

    def _rewritten(self, what: str, contents: dict[str, bytes]) -> Damage:
        def write(to: dict[str, bytes]) -> None:
            for path in contents:
                (self.base / path).write_bytes(to[path])

        return Damage(
            what=what,
            files=tuple(contents),
            do=lambda: write(contents),
            undo=lambda: write(self._content),
        )

    # Other damage, each at a place drawn by lot

    def octet_more(self) -> Damage:
        path, content = self._any()
        at, octet = self._chance.randrange(len(content) + 1), self._chance.randbytes(1)
        return self._rewritten(
            f"octet {octet!r} before {at} of {path}", {path: content[:at] + octet + content[at:]}
        )

    def sector_zeroed(self) -> Damage:
        path, content = self._any()
        at = self._chance.randrange(len(content)) // SECTOR * SECTOR
        gone = bytes(len(content[at : at + SECTOR]))
        return self._rewritten(
            f"zeros from {at} of {path}", {path: content[:at] + gone + content[at + SECTOR :]}
        )

    def blocks_swapped(self) -> Damage:
        path, content = self._any(least=2 * BLOCK + 1)
        one, other = sorted(self._chance.sample(range(-(-len(content) // BLOCK)), 2))
        blocks = [content[at : at + BLOCK] for at in range(0, len(content), BLOCK)]
        blocks[one], blocks[other] = blocks[other], blocks[one]
        return self._rewritten(f"blocks {one} and {other} of {path}", {path: b"".join(blocks)})

    def truncated(self) -> Damage:
        path, content = self._any()
        at = self._chance.choice((len(content) - 1, self._chance.randrange(len(content))))
        return self._rewritten(f"{path} ends at {at}", {path: content[:at]})

    def doubled(self) -> Damage:
        path, _ = self._any()
        new = self._beside(path)
        return Damage(
            what=f"{path} doubled as {new}",
            files=(new,),
            do=lambda: shutil.copy2(self.base / path, self.base / new),
            undo=(self.base / new).unlink,
        )

    def gone(self) -> Damage:
        path, content = self._any()
        return Damage(
            what=f"{path} gone",
            files=(path,),
            do=(self.base / path).unlink,
            undo=lambda: (self.base / path).write_bytes(content),
        )

    def renamed(self) -> Damage:
        path, _ = self._any()
        new = self._beside(path)
        return Damage(
            what=f"{path} renamed {new}",
            files=(path, new),
            do=lambda: (self.base / path).rename(self.base / new),
            undo=lambda: (self.base / new).rename(self.base / path),
        )

    def exchanged(self) -> Damage:
        """Two files of one size under each other's names."""
        sizes: dict[int, list[str]] = {}
        for path, content in self._content.items():
            sizes.setdefault(len(content), []).append(path)
        pairs = [pair for paths in sizes.values() for pair in itertools.combinations(paths, 2)]
        one, other = self._chance.choice(pairs)
        return self._rewritten(
            f"{one} and {other} exchanged", {one: self._content[other], other: self._content[one]}
        )

    def _any(self, least: int = 1) -> tuple[str, bytes]:
        paths = [path for path, content in self._content.items() if len(content) >= least]
        path = self._chance.choice(paths)
        return path, self._content[path]

    def _beside(self, path: str) -> str:
        """A name that is not taken: a copy's, another case, another folder."""
        folder, slash, name = path.rpartition("/")
        stem, dot, ending = name.rpartition(".")
        names = (
            f"{stem} (1){dot}{ending}",
            f"{name}.bak",
            f"{stem.upper()}{dot}{ending}",
            f"x-{name}",
            f"{stem}{dot}{ending[:-1]}",
        )
        new = [f"{folder}{slash}{one}" for one in names]
        taken = self._content.keys()
        return self._chance.choice([one for one in new if one not in taken])

    def sorts(self) -> dict[str, Callable[[], Damage]]:
        return {
            "octet more": self.octet_more,
            "sector of zeros": self.sector_zeroed,
            "blocks that changed places": self.blocks_swapped,
            "shorter": self.truncated,
            "doubled": self.doubled,
            "gone": self.gone,
            "renamed": self.renamed,
            "exchanged": self.exchanged,
        }


def run(
    package: Package, *, bits: int, each: int, tag_bits_step: int = 1, judge: Judge = findings_of
) -> Report:
    """Make all the damage, one at a time; the package is whole again afterwards."""
    report = Report()
    promise(not judge(package.base), "the package is not good to begin with")
    before = tree_of(package.base)
    for damage in package.every_tag_bit(tag_bits_step):
        _judged(package, "bit of a tag file", damage, report, judge)
    for _ in range(bits):
        _judged(package, "random bit", package.random_bit(), report, judge)
    for sort, draw in package.sorts().items():
        for _ in range(each):
            _judged(package, sort, draw(), report, judge)
    promise(tree_of(package.base) == before, "the campaign left damage behind")
    return report


def _judged(package: Package, sort: str, damage: Damage, report: Report, judge: Judge) -> None:
    damage.do()
    try:
        found = judge(package.base)
    finally:
        damage.undo()
    report.made[sort] += 1
    naming = [one for one in found if any(_names(one, path) for path in damage.files)]
    if any(one.severity is Severity.MEND for one in naming):
        return
    if naming:
        report.noted[f"{sort}: {', '.join(sorted({one.code for one in naming}))}"] += 1
        return
    report.missed.append(f"{damage.what}: {[f'{one.code} {one.place}' for one in found]}")


def _names(finding: Finding, path: str) -> bool:
    said = f"{finding.place.file} {finding.text}"
    return re.search(rf"(?<![\w./-]){re.escape(path)}(?![\w/-])", said) is not None


def main() -> None:
    asked = parser(__doc__)
    asked.add_argument("--shape", choices=SHAPES, default="small")
    asked.add_argument("--bits", type=int, default=10_000)
    asked.add_argument("--each", type=int, default=1_000)
    asked.add_argument("--tag-bits-step", type=int, default=1, help="1: every bit of tag files")
    arguments = asked.parse_args()
    with workplace(arguments.dir) as root:
        rig = Rig(root, arguments.shape, arguments.seed)
        package = Package(rig.build(root / "out").path, arguments.seed)
        report = run(
            package,
            bits=arguments.bits,
            each=arguments.each,
            tag_bits_step=arguments.tag_bits_step,
        )
    for what in report.missed[:40]:
        print(what)
    for what, count in sorted(report.noted.items()):
        print(f"noted, not to mend: {count:,} {what}")
    made = ", ".join(f"{count:,} {sort}" for sort, count in report.made.items())
    tell(
        f"damage to a package of {len(rig.reference)} files and folders, {rig.octets:,} octets",
        f"{sum(report.made.values()):,} ({made}): {len(report.missed)} missed or not located, "
        f"{sum(report.noted.values()):,} of them told by a note alone",
    )
    if report.missed:
        raise BrokenError(f"{len(report.missed)} missed or not located")


if __name__ == "__main__":
    main()
