"""Has every call to the disk fail, once and for good, with each error (T4).

    python tests/campaigns/faults.py --seed 1
    python tests/campaigns/faults.py --system-calls --seed 1

With `--system-calls` it is not the disk of the tests that fails but Linux itself, by strace.
Afterwards: the error is one of the surroundings, or of the package that was judged where a read
failed; nothing or the whole package has the name, the sources are untouched, and the resume, or a
new build where nothing was left, comes to identical octets. A short write is no fault.
"""

import errno
import os
import shutil
from collections import Counter
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from pathlib import Path

from children import STOPPED, warm_up
from rig import CALLS, SHAPES, Rig, Told, counts, parser, promise, tell, workplace
from system_calls import points_of, traced

from tailsout.bag.disk import Disk
from tailsout.ground.errors import SurroundingsError

ERRORS = ("EIO", "ENOSPC", "EDQUOT", "EINTR")
SYSTEM_CALLS = (
    *("openat", "write", "fsync", "close", "renameat2", "mkdir", "chmod", "fchmod", "unlink"),
    *("flock", "rmdir", "unlinkat"),
)


def failing(call: str, number: int, error: str, *, for_good: bool) -> Told:
    """A disk whose n-th call of a sort fails, or that one and all later ones of the sort."""

    def before(made: str) -> None:
        count = disk.calls.count(call)
        if made == call and (count == number or (for_good and count > number)):
            code = getattr(errno, error)
            raise OSError(code, os.strerror(code))

    disk = Told(before)
    return disk


class Short(Disk):
    """A disk that takes but a part of what it is given."""

    def __init__(self, most: Callable[[int], int]) -> None:
        super().__init__()
        self._most = most

    def write(self, descriptor: int, block: memoryview) -> int:
        return super().write(descriptor, block[: max(1, self._most(len(block)))])


SHORT: tuple[Callable[[int], int], ...] = (
    lambda octets: octets - 1,
    lambda octets: octets // 2,
    lambda octets: octets // 3 + 1,
    lambda _octets: 4096,
)


@dataclass(kw_only=True)
class Report:
    """How many faults of what sort, and what they left."""

    faults: int = 0
    short: int = 0
    left: Counter[str] = field(default_factory=Counter)


def run(rig: Rig, root: Path, errors: Iterable[str] = ERRORS, step: int = 1) -> Report:
    """Let every `step`-th call fail. Raises BrokenError."""
    report = Report()
    warm_up(root)
    whole = Told()
    place = root / "counted"
    place.mkdir()
    rig.build(place, disk=whole)
    shutil.rmtree(place)
    points = [(call, n + 1) for call in CALLS for n in range(whole.calls.count(call))]
    for call, number in points[::step]:
        for error in errors:
            for for_good in (False, True):
                disk = failing(call, number, error, for_good=for_good)
                trial = f"{call} {number} {error}{' for good' * for_good}"
                _fails(rig, root, disk, trial, report)
    for most in SHORT:
        _comes_short(rig, root, most)
        report.short += 1
    return report


def _fails(rig: Rig, root: Path, disk: Disk, trial: str, report: Report) -> None:
    place = root / "out"
    place.mkdir()
    said: Exception | None = None
    try:
        rig.build(place, disk=disk)
    except Exception as error:  # noqa: BLE001  what it is, is the question
        said = error
    promise(isinstance(said, SurroundingsError), f"{trial}: {said!r}")
    report.left[rig.take_up(place, trial)] += 1
    report.faults += 1
    shutil.rmtree(place)


def _comes_short(rig: Rig, root: Path, most: Callable[[int], int]) -> None:
    place = root / "out"
    try:
        rig.build(place, disk=Short(most))
    except Exception as error:  # noqa: BLE001  what it is, is the question
        promise(False, f"short writes: {error!r}")
    promise(rig.state(place, "short writes") == "whole", "short writes: not whole")
    shutil.rmtree(place)


def run_traced(
    rig: Rig, root: Path, errors: Iterable[str] = ERRORS, calls: Iterable[str] = SYSTEM_CALLS
) -> Report:
    """The same, the system's own calls failing. Raises BrokenError."""
    report = Report()
    warm_up(root)
    for call, count in _counted(rig, root, calls).items():
        for error in errors:
            for number in range(1, count + 1):
                # Python makes a call that was interrupted again (PEP 475): for good is for ever.
                for_good = [f"{number}+"] if error != "EINTR" else []
                for when in (f"{number}", *for_good):
                    _fails_traced(rig, root, f"inject={call}:error={error}:when={when}", report)
    return report


def _counted(rig: Rig, root: Path, calls: Iterable[str]) -> Mapping[str, int]:
    """How often the main thread of a build makes each of the calls."""
    place = root / "counted"
    place.mkdir()
    made = Counter(call for call, _ in points_of(lambda: rig.build(place), root / "strace"))
    shutil.rmtree(place)
    return {call: made[call] for call in calls}


def _fails_traced(rig: Rig, root: Path, inject: str, report: Report) -> None:
    place = root / "out"
    place.mkdir()
    code, said = traced(lambda: rig.build(place), inject)
    promise(code in {0, STOPPED}, f"{inject}: exit {code}: {said.decode()}")
    left = rig.take_up(place, inject)
    shutil.rmtree(place)
    promise(code != 0 or left == "whole", f"{inject}: told to stand, and {left}")
    report.left[left if code else "told to stand, and whole"] += 1
    report.faults += 1


def main() -> None:
    asked = parser(__doc__)
    asked.add_argument("--shape", choices=SHAPES, default="small")
    asked.add_argument("--system-calls", action="store_true")
    arguments = asked.parse_args()
    with workplace(arguments.dir) as root:
        rig = Rig(root, arguments.shape, arguments.seed)
        report = run_traced(rig, root) if arguments.system_calls else run(rig, root)
    whose = "system calls of a build" if arguments.system_calls else "calls to the disk"
    more = f" {report.short} manners of short writes: whole." if report.short else ""
    tell(
        f"{whose} failing, once and for good, by {', '.join(ERRORS)}",
        f"{report.faults:,} faults: 0 sources changed, 0 half packages, every resume identical; "
        f"they left: {counts(report.left)}.{more}",
    )


if __name__ == "__main__":
    main()
