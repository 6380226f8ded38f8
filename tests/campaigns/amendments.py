"""Kills an amendment before every call to the disk, and the resume that follows (T2).

    python tests/campaigns/amendments.py --seed 1
    python tests/campaigns/amendments.py --system-calls --step 5

What is amended is the kept package of the sample job. The old version is the source here: it must
stay as it is. The new one is not whole without its receipt.
"""

import shutil
from collections.abc import Set as AbstractSet
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import every_call
import system_calls
from rig import Rig, counts, parser, promise, tell, tree_of, workplace

from tailsout.bag.disk import Disk
from tailsout.ground.progress import Silent
from tailsout.work.amend import amend
from tailsout.work.surroundings import Surroundings

_SAMPLE = Path(__file__).resolve().parents[2] / "sample_packages/good/skerrow-light/package"
_FORM = """\
by = "isolde"
on = 2026-05-02
why = "the owner's letter of 28 April"
[[statements]]
at = "reel.title"
change = "corrected"
now = "Log of the winter"
"""


class Amending(Rig):
    """One amendment of one package, and what the new version is like undisturbed."""

    def __init__(self, root: Path, seed: int) -> None:
        self.seed, self.name = seed, "SKL-0008.v2"
        self._old, self._form = root / "old" / "SKL-0008", root / "amendment.toml"
        shutil.copytree(_SAMPLE, self._old)  # makes the folders above it too
        self._form.write_text(_FORM, encoding="utf-8")
        self._before = self._marks()
        place = root / "undisturbed"
        place.mkdir()
        self.build(place)
        self.reference = tree_of(place / self.name)
        self.octets = sum(one.stat().st_size for one in place.rglob("*") if one.is_file())

    def build(self, parent: Path, **more: Any) -> Any:
        """Amend the package; what it comes to is looked at by the campaign."""
        around = Surroundings(
            instant=datetime(2026, 5, 3, 8, 0, tzinfo=UTC),
            software="tailsout campaign",
            seconds_now=lambda: 4e9,
            disk=more.get("disk") or Disk(),
            progress=Silent(),
        )
        resume = more.get("resume", False)
        amended = amend(self._old, self._form, parent, around, resume=resume)
        promise(amended.outcome.built is not None, f"{amended.outcome.judgement.findings}")
        return amended.outcome.built

    def _marks(self) -> Any:
        times = {str(one): one.stat().st_mtime_ns for one in sorted(self._old.rglob("*"))}
        return tree_of(self._old), times

    def _beside(self, there: AbstractSet[str]) -> AbstractSet[str]:
        beside = {f"{self.name}.receipt.json", f"{self.name}.label.svg"}
        if self.name in there and f".{self.name}.part.journal" not in there:
            promise(beside <= there, "no receipt or no label, and no journal that tells of it")
            return beside
        # They are written under other names first.
        return {*beside, *(f".{one}.part" for one in beside)} if self.name in there else frozenset()


def main() -> None:
    asked = parser(__doc__)
    asked.add_argument("--pairs", type=int, default=50)
    asked.add_argument("--step", type=int, default=1)
    asked.add_argument("--first", type=int, default=0)
    asked.add_argument("--system-calls", action="store_true")
    arguments = asked.parse_args()
    with workplace(arguments.dir) as root:
        rig = Amending(root, arguments.seed)
        if arguments.system_calls:
            left, builds, resumes = system_calls.run(
                rig, root, step=arguments.step, first=arguments.first
            )
        else:
            report = every_call.run(rig, root, pairs=arguments.pairs, starts=1, step=arguments.step)
            left, builds, resumes = report.left, report.builds, report.resumes
    tell(
        "amendments killed before each call to the "
        + ("system" if arguments.system_calls else "disk"),
        f"{builds:,} amendments and {resumes:,} resumes killed: 0 octets of the old version "
        f"changed, 0 half packages, every resume identical; they left: {counts(left)}",
    )


if __name__ == "__main__":
    main()
