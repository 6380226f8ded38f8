"""What the campaigns share: plans on real sources, what must hold afterwards, the row that is told.

A campaign ends with one row of a table: what was done, by which command, and what came of it. The
first promise that is broken ends it with `BrokenError`, which names the trial.
"""

import argparse
import hashlib
import random
import shutil
import sys
import tempfile
from collections import Counter
from collections.abc import Callable, Iterator, Mapping
from collections.abc import Set as AbstractSet
from contextlib import contextmanager
from pathlib import Path
from typing import Any, Literal

from tailsout.bag.build import Built, build
from tailsout.bag.disk import Disk
from tailsout.bag.plan import Made, Plan, Streamed, Written, make_plan
from tailsout.ground.findings import Verdict
from tailsout.ground.progress import Silent
from tailsout.work.check import check

NAME = "skl-0007"

Tree = Mapping[str, tuple[int, str]]
Shape = Literal["six", "many", "small"]
SHAPES: tuple[Shape, ...] = ("six", "many", "small")

_SIZES: Mapping[Shape, tuple[int, ...]] = {
    "six": (1_900_000, 1_500_000, 450_000, 150_000),
    "small": (30_000, 20_000, 9_000, 500),
    "many": (),
}
_NAMES = ("audio/side-a.wav", "audio/side-b.wav", "images/box.jpg", "documents/Brief – 1.txt")
_BLOCK = 1 << 18


class BrokenError(Exception):
    """A promise was broken."""


def promise(kept: bool, what: str) -> None:
    if not kept:
        raise BrokenError(what)


def tree_of(base: Path) -> Tree:
    """Mode and SHA-256 of everything below, by path; links are not followed."""
    found = {}
    for path in sorted(base.rglob("*")):
        plain = path.is_file() and not path.is_symlink()
        digest = hashlib.sha256(path.read_bytes()).hexdigest() if plain else ""
        found[path.relative_to(base).as_posix()] = (path.lstat().st_mode, digest)
    return found


def strict(stage: Path) -> Verdict:
    """The judge of every build here: the code that judges strangers, RFC 8493 alone."""
    return check(stage, Silent(), bagit_only=True, just_built=True).judgement.verdict


Builder = Callable[..., Built]


class Rig:
    """One plan over sources that lie on a disk, and what its package is like undisturbed."""

    def __init__(
        self, root: Path, shape: Shape, seed: int, builder: Builder = build, **changed: Any
    ) -> None:
        """`builder` stands in the place of `bag.build`: a careless one must be found out."""
        self.seed, self.name = seed, NAME
        self._sources, self._builder, self._changed = root / "sources", builder, changed
        chance = random.Random(f"{seed}/{shape}")
        sizes = dict(zip((f"data/{one}" for one in _NAMES), _SIZES[shape], strict=False))
        if shape == "many":
            sizes = {
                f"data/{n % 9}/Stück {n:03d}.bin": chance.randrange(1, 40_000) for n in range(199)
            }
        self._files = {}
        for number, (path, octets) in enumerate(sizes.items()):
            source = self._sources / str(number)
            source.parent.mkdir(parents=True, exist_ok=True)
            source.write_bytes(chance.randbytes(octets))
            self._files[path] = source
        self.plan = self._plan(sidecars=shape != "many")
        self._before = self._marks()
        # Undisturbed, by the product itself, whatever builder is on trial.
        with tempfile.TemporaryDirectory(dir=root) as place:
            arguments = {"judge": strict, "progress": Silent(), "disk": Disk(), **changed}
            self.built = build(self.plan, Path(place), **arguments)
            self.reference = tree_of(self.built.path)
            self.octets = self.built.octets

    def _plan(self, *, sidecars: bool) -> Plan:
        payload: list[Streamed | Made] = []
        for path, source in self._files.items():
            # One source whose digest nobody knows beforehand: it is written anew by a resume.
            known = "" if path.endswith(".txt") else hashlib.sha256(source.read_bytes()).hexdigest()
            payload.append(
                Streamed(
                    path=path, octets=source.stat().st_size, write=_reading(source), source=known
                )
            )
            if path.endswith(".wav") and sidecars:
                payload.append(Made(path=f"{path[:-4]}.json", make=_sidecar(path)))
        return make_plan(
            name=NAME,
            payload=payload,
            tags=[Made(path="metadata/README.txt", make=_inventory)],
            bag_info=[("Source-Organization", "Saltpan Row"), ("Contact-Name", "Maren Skarv")],
            instant="2026-03-15T12:00:00Z",
            software="tailsout",
        )

    def build(self, parent: Path, **more: Any) -> Built:
        """Build the plan, on a plain disk unless told otherwise."""
        arguments = {"judge": strict, "progress": Silent(), **self._changed, **more}
        return self._builder(
            self.plan, parent, disk=arguments.pop("disk", None) or Disk(), **arguments
        )

    def _marks(self) -> Mapping[str, tuple[object, ...]]:
        return {
            one.name: (
                one.stat().st_ino,
                one.stat().st_mtime_ns,
                one.stat().st_mode,
                hashlib.sha256(one.read_bytes()).hexdigest(),
            )
            for one in self._sources.iterdir()
        }

    def state(self, parent: Path, trial: str) -> str:
        """Say what a build that was disturbed left: nothing, a stage, or the whole package.

        Raises BrokenError if a source was changed, or anything but the whole package stands under
        its name, or anything else lies there.
        """
        promise(self._marks() == self._before, f"{trial}: a source was changed")
        there = {one.name for one in parent.iterdir()} if parent.exists() else set()
        name, stage = self.name, f".{self.name}.part"
        journal = f"{stage}.journal"
        strange = there - {name, stage, journal} - self._beside(there)
        promise(not strange, f"{trial}: strange things lie there: {strange}")
        if name in there:
            promise(
                tree_of(parent / name) == self.reference, f"{trial}: no whole package has the name"
            )
            promise(stage not in there, f"{trial}: a stage beside the package")
            return "whole, its journal there" if journal in there else "whole"
        if stage in there:
            return "stage and journal" if journal in there else "stage"
        return "journal" if journal in there else "nothing"

    def _beside(self, there: AbstractSet[str]) -> AbstractSet[str]:
        """What else may lie there. Raises BrokenError if something is wanting."""
        return frozenset()

    def take_up(self, parent: Path, trial: str, **more: Any) -> str:
        """Resume, or build anew where nothing was left, and see that the package is identical.

        Returns what had been left. Raises BrokenError.
        """
        left = self.state(parent, trial)
        if left != "whole":
            resume = left in {"stage", "stage and journal", "whole, its journal there"}
            try:
                self.build(parent, resume=resume, **more)
            except Exception as error:
                raise BrokenError(f"{trial}: from {left} to no package: {error!r}") from error
            after = self.state(parent, trial)
            promise(after == "whole", f"{trial}: from {left} to {after}")
        return left


def _reading(source: Path) -> Callable[[Callable[[bytes | memoryview], object]], None]:
    def write(take: Callable[[bytes | memoryview], object]) -> None:
        with source.open("rb") as stream:
            while block := stream.read(_BLOCK):
                take(block)

    return write


def _sidecar(path: str) -> Callable[[Mapping[str, Written]], bytes]:
    return lambda written: f'{{"sha256": "{written[path].digests["sha256"]}"}}\n'.encode()


def _inventory(written: Mapping[str, Written]) -> bytes:
    return "".join(f"{one.octets:>10} {path}\n" for path, one in sorted(written.items())).encode()


# Each call to the disk

CALLS = (
    *("is_there", "free_octets", "free_files", "file_system", "make_directory", "set_mode"),
    *("create", "write", "sync_file", "close", "sync_directory", "rename_no_replace"),
    *("lock", "release", "append_line", "remove", "remove_tree"),
)


class Told(Disk):
    """A disk that tells of every call before it is made."""

    def __init__(self, before: Callable[[str], None] = lambda _call: None) -> None:
        super().__init__()
        self.before = before
        self.calls: list[str] = []


def _telling(call: str) -> Any:
    def method(self: Told, *arguments: Any) -> Any:
        self.calls.append(call)
        self.before(call)
        return getattr(Disk, call)(self, *arguments)

    return method


for _call in CALLS:
    setattr(Told, _call, _telling(_call))


# The command line


def parser(about: str | None) -> argparse.ArgumentParser:
    """What every campaign is asked for."""
    made = argparse.ArgumentParser(description=(about or "").partition("\n")[0])
    made.add_argument("--seed", type=int, default=1)
    made.add_argument("--dir", type=Path, help="where to work; a temporary folder is made in it")
    return made


@contextmanager
def workplace(where: Path | None) -> Iterator[Path]:
    """A folder that goes when the campaign ends."""
    place = Path(tempfile.mkdtemp(prefix="campaign-", dir=where))
    try:
        yield place
    finally:
        shutil.rmtree(place, ignore_errors=True)


def tell(what: str, figure: str) -> None:
    """Print one row: what, command, figure."""
    command = " ".join([Path(sys.argv[0]).name, *sys.argv[1:]])
    print(f"| {what} | `{command}` | {figure} |", flush=True)


def counts(met: Counter[str]) -> str:
    return ", ".join(f"{count:,} {word}" for word, count in met.most_common())
