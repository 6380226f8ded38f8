"""Kills packing and unpacking before every call to the disk (T2).

    python tests/campaigns/handing_over.py

What is packed is the kept package of the sample job, what is unpacked the tar made of it. Neither
is resumed: after a kill the next run must find its own way. The package and the tar that are read
must stay as they are, nothing half-made may have a final name, and the next run comes to identical
octets. A tar that got its name just before the kill is whole, and may be without its digest.
"""

import shutil
import signal
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path

from children import Child, warm_up
from every_call import killing
from rig import Told, counts, parser, promise, tell, tree_of, workplace

from tailsout.bag.disk import Disk
from tailsout.ground.progress import Silent
from tailsout.work.pack import pack
from tailsout.work.unpack import unpack

_SAMPLE = Path(__file__).resolve().parents[2] / "sample_packages/good/skerrow-light/package"

Work = Callable[[Path, Disk], object]


@dataclass(kw_only=True)
class Verb:
    """Packing or unpacking of one thing, and what it comes to undisturbed."""

    source: Path
    work: Work
    reference: dict[str, str | None] = field(default_factory=dict)
    """What lies there afterwards, by path: the digest of a file, None for a folder."""
    most: int = 0
    """Calls to the disk that it makes."""

    def settle(self, place: Path) -> None:
        """Do it once, undisturbed."""
        disk = Told()
        place.mkdir()
        self.work(place, disk)
        self.reference, self.most = _seen(place), len(disk.calls)
        shutil.rmtree(place)

    def killed(self, place: Path, at: int) -> str:
        """Do it, killed before the n-th call; say what was left and do it again, if need be."""
        before = _seen(self.source.parent)
        trial = f"killed before call {at}"
        place.mkdir()
        child = Child(lambda: self.work(place, killing(at)))
        child.go()
        code, said = child.end()
        promise(code == -signal.SIGKILL, f"{trial}: {said.decode()}")
        left = self._left(place, trial)
        if left in {"nothing", "stage"}:
            self.work(place, Disk())
            promise(_seen(place) == self.reference, f"{trial}: the next run came to other octets")
        promise(_seen(self.source.parent) == before, f"{trial}: what was read was changed")
        shutil.rmtree(place)
        return left

    def _left(self, place: Path, trial: str) -> str:
        there = _seen(place)
        named = {path: digest for path, digest in there.items() if not path.startswith(".")}
        if not named:
            return "stage" if there else "nothing"
        for path, digest in named.items():
            known = path in self.reference and self.reference[path] == digest
            promise(known, f"{trial}: {path} is not what it is to be")
        missing = self.reference.keys() - named.keys()
        if missing:
            # Danger: for a folder this would be half a package.
            promise(all(one.endswith(".sha512") for one in missing), f"{trial}: {missing} wanting")
            return "whole, its digest wanting"
        return "whole" if named == there else "whole, its stage there"


def _seen(base: Path) -> dict[str, str | None]:
    return {
        path: digest if (base / path).is_file() else None
        for path, (_, digest) in tree_of(base).items()
    }


def run(root: Path, *, step: int = 1) -> dict[str, Counter[str]]:
    """Kill both at every `step`-th call; return what was left. Raises BrokenError."""
    warm_up(root)
    package = root / "package" / "SKL-0008"
    shutil.copytree(_SAMPLE, package)  # makes the folders above it too

    def packing(place: Path, disk: Disk) -> None:
        promise(pack(package, place, disk=disk, progress=Silent()).packed is not None, "not packed")

    (root / "tar").mkdir()
    packing(root / "tar", Disk())
    tar = root / "tar" / f"{package.name}.tar"

    def unpacking(place: Path, disk: Disk) -> None:
        done = unpack(tar, place, disk=disk, progress=Silent()).unpacked
        promise(done is not None, "not unpacked")

    left = {}
    for name, verb in {
        "pack": Verb(source=package, work=packing),
        "unpack": Verb(source=tar, work=unpacking),
    }.items():
        verb.settle(root / "undisturbed")
        left[name] = Counter(verb.killed(root / "out", at) for at in range(1, verb.most + 1, step))
    return left


def main() -> None:
    asked = parser(__doc__)
    asked.add_argument("--step", type=int, default=1)
    arguments = asked.parse_args()
    with workplace(arguments.dir) as root:
        left = run(root, step=arguments.step)
    kills = ", ".join(f"{count.total():,} of {verb}" for verb, count in left.items())
    tell(
        "packing and unpacking killed before each call to the disk",
        f"{kills}: nothing that was read changed, nothing half-made, every next run identical; "
        f"they left: {'; '.join(counts(one) for one in left.values())}",
    )


if __name__ == "__main__":
    main()
