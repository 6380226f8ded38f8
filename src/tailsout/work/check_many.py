"""Judges many packages: several at once, in the order given, their files read by shared workers.

As many packages are open at once as there are workers, which take the files of the first one open
before those of the next, so that none rests while a package has its last file read. What lies on a
rotating disk is read one package and one file at a time, beside the others.
"""

import os
import threading
from collections.abc import Callable, Generator, Mapping, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, ThreadPoolExecutor, wait
from contextlib import ExitStack
from dataclasses import dataclass
from pathlib import Path

from tailsout.bag.fingerprint import archive_fingerprint, fingerprint_of
from tailsout.bag.open import open_bag
from tailsout.bag.receipt_beside import find
from tailsout.bag.rotating import rotating_disk
from tailsout.bag.workers import Workers
from tailsout.ground.errors import TailsoutError
from tailsout.ground.progress import Progress
from tailsout.ground.units import printable
from tailsout.mapping.report import Entry
from tailsout.records.bagit_profile import BagItProfile
from tailsout.records.dossier import Depth
from tailsout.work.check import Checked, check
from tailsout.work.parallel import Stoppable

_USUAL_MOST = 4


@dataclass(frozen=True, slots=True, kw_only=True)
class Wish:
    """What is to be looked at in each package."""

    depth: Depth = Depth.FULL
    bagit_only: bool = False
    bagit_profile: BagItProfile | None = None
    schemas: Mapping[str, bytes] | None = None
    """Official ones for descriptions in XML, by file name."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Told:
    """What came of one package: exactly one of the three."""

    package: str
    checked: Checked | None = None
    earlier: Entry | None = None
    """Its entry in an earlier report, where nothing was written to it since."""
    error: TailsoutError | None = None


def usual_jobs() -> int:
    """Return how many files to read at once where nobody said."""
    mine = getattr(os, "sched_getaffinity", None)
    return min(_USUAL_MOST, len(mine(0)) if mine else os.cpu_count() or 1)


def check_all(
    packages: Sequence[str],
    wish: Wish,
    *,
    jobs: int | None = None,
    progress_of: Callable[[str], Progress],
    say: Callable[[str], None],
    earlier: Mapping[str, Entry],
) -> Generator[Told, None, None]:
    """Judge packages and yield each as soon as it is done; close the iterator to break it all off.

    `jobs` is how many files to read at once, even of a rotating disk; None leaves it to the
    machine. `earlier` holds by package what was told of it before and may be told again.
    """
    stop = threading.Event()

    def one(package: str, workers: Workers) -> Told:
        progress = Stoppable(progress_of(package), stop)
        try:
            known = earlier.get(printable(package))
            if known is not None and _is_unchanged(Path(package), known):
                return Told(package=package, earlier=known)
            checked = check(
                Path(package),
                progress,
                depth=wish.depth,
                bagit_only=wish.bagit_only,
                bagit_profile=wish.bagit_profile,
                schemas=wish.schemas,
                workers=workers,
            )
        except TailsoutError as error:
            return Told(package=package, error=error)
        return Told(package=package, checked=checked)

    with ExitStack() as stack:
        pools = _Pools(stack, jobs, say)
        under_way = set[Future[Told]]()
        try:
            for package in packages:
                pool, workers = pools.of(package)
                under_way.add(pool.submit(one, package, workers))
            while under_way:
                done, under_way = wait(under_way, return_when=FIRST_COMPLETED)
                while done:
                    yield done.pop().result()
        finally:
            # Before the pools are left, which waits for what they are at.
            stop.set()


class _Pools:
    """Who works on what: a pool and its workers for each rotating disk, one for everything else."""

    def __init__(self, stack: ExitStack, jobs: int | None, say: Callable[[str], None]) -> None:
        self._stack, self._jobs, self._say = stack, jobs, say
        self._made: dict[str, tuple[ThreadPoolExecutor, Workers]] = {}

    def of(self, package: str) -> tuple[ThreadPoolExecutor, Workers]:
        """Return the pool that a package is a task of, and the workers that read its files."""
        disk = rotating_disk(Path(package)) if self._jobs is None else ""
        if disk not in self._made:
            if disk:
                self._say(f"{disk} is a rotating disk: it is read one file at a time.")
            self._made[disk] = self._new(1 if disk else self._jobs or usual_jobs(), disk)
        return self._made[disk]

    def _new(self, count: int, disk: str) -> tuple[ThreadPoolExecutor, Workers]:
        workers = self._stack.enter_context(Workers(count, spread=bool(disk)))
        pool = ThreadPoolExecutor(count, "package")
        self._stack.callback(pool.shutdown, wait=True, cancel_futures=True)
        return pool, workers


def _is_unchanged(package: Path, known: Entry) -> bool:
    """Tell whether a package is the one judged then, by all that shows without reading it."""
    if not package.is_dir():
        return archive_fingerprint(package) == known.fingerprint
    with open_bag(package) as bag:
        return fingerprint_of(bag, find(package)) == known.fingerprint
