"""Kills a night of several jobs before calls to the disk, and takes it up again (T2).

    python tests/campaigns/nights.py --kills 400 --seed 1

Jobs of one session are closed in one run, one after the other and two at once by turns. After each
kill forms and captures are untouched, and under each name stands the whole package or none. The
same run with `--resume` then comes to identical packages, receipts and logbooks, and the capture of
the session's calibration tape lies in the package of the job named first.
"""

import os
import random
import shutil
import signal
import struct
from collections import Counter
from collections.abc import Mapping
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from children import Child, warm_up
from every_call import killing
from rig import Told, Tree, counts, parser, promise, tell, tree_of, workplace

from tailsout.bag.disk import Disk
from tailsout.ground.pcm import Pcm
from tailsout.ground.progress import Silent
from tailsout.wave import fmt
from tailsout.work.batch import Wish, close_all
from tailsout.work.surroundings import Surroundings

_LONG_AGO = 1_700_000_000
_PCM = Pcm(is_float=False, sample_rate_hz=48_000, channels=1, container_bits=16, valid_bits=16)
_STUDIO = {
    "studio.toml": 'name = "Saltpan Row"\n',
    "machines/left.toml": 'id = "left"\nmaker = "Tidewright"\nmodel = "Mark 3"\n',
    "sessions/2026-03-14-left.toml": 'id = "2026-03-14-left"\non = 2026-03-14\nmachine = "left"\n'
    '[[settings]]\nid = "7-nab"\ncapture = "tones.wav"\n',
}
_TONES = "sessions/2026-03-14-left/tones.wav"
_JOB = """\
job_id = "0b4e3c1e-6a0e-4e0b-9a53-6d1f5f3b2c{number:02}"
package_id = "SKL-{number}"
studio = "../../studio"
[reel]
title = "Reel {number}"
[[passes]]
id = "p1"
session = "2026-03-14-left"
on = 2026-03-14
[[captures]]
id = "a"
file = "captures/a.wav"
started = 2026-03-14
"""


_MAY_LIE_THERE = (
    *(".{}.part", ".{}.part.journal", "{}"),
    *(".{}.receipt.json.part", "{}.receipt.json", ".{}.label.svg.part", "{}.label.svg"),
)


class Night:
    """Jobs of one session, and what they are closed to undisturbed."""

    def __init__(self, root: Path, seed: int, jobs: int = 3) -> None:
        chance = random.Random(f"{seed}/night")
        self._studio, self._sources = root / "studio", root / "jobs"
        for name, text in _STUDIO.items():
            _put(self._studio / name, text.encode())
        _put(self._studio / _TONES, _wave(chance, 1_000))
        self.names = [f"SKL-{number}" for number in range(1, jobs + 1)]
        self.jobs = [str(self._sources / name) for name in self.names]
        for number, job in enumerate(self.jobs, 1):
            _put(Path(job) / "job.toml", _JOB.format(number=number).encode())
            _put(Path(job) / "captures/a.wav", _wave(chance, 4_800 * number))
        self._before = self._marks()
        place, disk = root / "undisturbed", Told()
        self.close(place, disk=disk)
        self.calls = len(disk.calls)
        """To the disk, of a run that nobody disturbs."""
        self.reference, self._log = tree_of(place), self._logged()
        self.forget()

    def close(self, parent: Path, *, disk: Disk, resume: bool = False, at_once: int = 1) -> None:
        """Close every job. Raises BrokenError for one that does not become its package."""
        around = Surroundings(
            instant=datetime(2026, 3, 15, 8, 0, tzinfo=UTC),
            software="tailsout campaign",
            seconds_now=lambda: 4e9,
            disk=disk,
            progress=Silent(),
        )
        wish = Wish(resume=resume)
        for done in close_all(
            self.jobs, parent, around, wish, jobs=at_once, progress_of=lambda _: Silent()
        ):
            came = done.came
            stands = came is not None and (came.finished or (came.outcome and came.outcome.built))
            promise(
                bool(stands), f"{done.name} is not a package: {done.error or done.fault or came}"
            )

    def killed(self, place: Path, at: int, *, at_once: int) -> str | None:
        """Close all, killed before the n-th call, and take it up; say what was left.

        None if it had come to its end before that call. Raises BrokenError.
        """
        trial = f"{at_once} at once, killed before call {at}"
        child = Child(lambda: self.close(place, disk=killing(at), at_once=at_once))
        child.go()
        code, said = child.end()
        promise(code in {0, -signal.SIGKILL}, f"{trial}: {said.decode()}")
        left = self._state(place, trial)
        self.close(place, disk=Disk(), resume=True, at_once=at_once)
        promise(self._state(place, trial) == f"{len(self.names)} whole", f"{trial}: not all whole")
        self._compare(tree_of(place), trial)
        promise(self._logged() == self._log, f"{trial}: the logbooks came to {self._logged()}")
        self.forget()
        shutil.rmtree(place)
        return left if code != 0 else None

    def _state(self, place: Path, trial: str) -> str:
        promise(self._marks() == self._before, f"{trial}: forms or captures were changed")
        there = tree_of(place) if place.exists() else {}
        top = {path.partition("/")[0] for path in there}
        known = {part.format(name) for name in self.names for part in _MAY_LIE_THERE}
        promise(top <= known, f"{trial}: strange things lie there: {top - known}")
        whole = [name for name in self.names if name in top]
        for name in whole:
            promise(_of(there, name) == _of(self.reference, name), f"{trial}: {name} is not whole")
            has_receipt, has_journal = f"{name}.receipt.json" in top, f".{name}.part.journal" in top
            promise(has_receipt or has_journal, f"{trial}: {name} has no receipt, and no journal")
        begun = sum(f".{name}.part" in top for name in self.names)
        return f"{len(whole)} whole" + (f" and {begun} begun" if begun else "")

    def _compare(self, there: Tree, trial: str) -> None:
        differing = {path for path, _ in there.items() ^ self.reference.items()}
        promise(not differing, f"{trial}: the resume came to other octets: {sorted(differing)[:9]}")

    def _logged(self) -> Mapping[str, list[bytes]]:
        """Lines of each logbook; jobs closed at once may come in any order."""
        books = sorted((self._studio / "logbook").glob("*"))
        return {one.name: sorted(one.read_bytes().splitlines()) for one in books}

    def forget(self) -> None:
        """Take the logbooks away, so that the next night begins as the first."""
        shutil.rmtree(self._studio / "logbook", ignore_errors=True)

    def _marks(self) -> Any:
        sources = [self._sources, *(self._studio / one for one in (*_STUDIO, _TONES))]
        files = [one for base in sources for one in (base, *sorted(base.rglob("*")))]
        return [(str(one), one.stat().st_mtime_ns) for one in files], tree_of(self._sources)


def _of(tree: Tree, name: str) -> Tree:
    return {path: one for path, one in tree.items() if path == name or path.startswith(f"{name}/")}


def _put(path: Path, content: bytes) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(content)
    os.utime(path, (_LONG_AGO, _LONG_AGO))


def _wave(chance: random.Random, frames: int) -> bytes:
    form, audio = fmt.encode(_PCM), chance.randbytes(frames * _PCM.frame_octets)
    chunks = b"".join(
        struct.pack("<4sI", name, len(one)) + one
        for name, one in ((b"fmt ", form), (b"data", audio))
    )
    return struct.pack("<4sI4s", b"RIFF", 4 + len(chunks), b"WAVE") + chunks


def run(root: Path, kills: int, seed: int, jobs: int = 3) -> tuple[Counter[str], int]:
    """Return what the kills left, and how many came too late. Raises BrokenError."""
    warm_up(root)
    night = Night(root / "night", seed, jobs)
    chance = random.Random(seed)
    left: Counter[str] = Counter()
    missed = 0
    for number in range(kills):
        # An even spread that does not follow the order of the trials.
        share = ((number * 617) % kills + chance.random()) / kills
        at = 1 + int(share * night.calls)
        found = night.killed(root / "out", at, at_once=1 + number % 2)
        if found is None:
            missed += 1
        else:
            left[found] += 1
    return left, missed


def main() -> None:
    asked = parser(__doc__)
    asked.add_argument("--kills", type=int, default=400)
    asked.add_argument("--jobs", type=int, default=3)
    arguments = asked.parse_args()
    with workplace(arguments.dir) as root:
        left, missed = run(root, arguments.kills, arguments.seed, arguments.jobs)
    tell(
        f"nights of {arguments.jobs} jobs killed before calls to the disk, one or two at once",
        f"{arguments.kills:,} kills: 0 sources changed, 0 half packages, every night taken up to "
        f"identical packages, receipts and logbooks; they left: {counts(left)} "
        f"({missed} more came too late)",
    )


if __name__ == "__main__":
    main()
