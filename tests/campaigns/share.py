"""A short share of every campaign that needs no rights: under a minute in all.

    python tests/campaigns/share.py --seed 1

As root and with strace and mkfs.ext4 at hand, a share of those that need them too.
"""

import os
import shutil
from collections.abc import Callable
from pathlib import Path

import at_once
import every_call
import faults
import flips
import full_disks
import good_packages
import handing_over
import kills
import lies
import nights
import power_cuts
import system_calls
from rig import BrokenError, Rig, parser, tell, workplace


def shares(rig: Rig, seed: int) -> dict[str, Callable[[Path], object]]:
    """What is done, by what it is called."""
    made: dict[str, Callable[[Path], object]] = {
        "20 kills": lambda place: kills.run(rig, place, 20),
        "kills before every ninth call": lambda place: every_call.run(
            rig, place, pairs=3, starts=1, step=9
        ),
        "every seventh call failing": lambda place: faults.run(
            rig, place, ("EIO", "ENOSPC"), step=7
        ),
        "full disks": lambda place: full_disks.run(rig, place, step=8_000, real=os.geteuid() == 0),
        "every 97th bit of the tag files, 200 at random, other damage": lambda place: _damage(
            rig, place, seed
        ),
        "60 bits kept otherwise": lambda place: lies.run(rig, place, 60),
        "200 good packages": lambda place: good_packages.run(place, 200, seed),
        "packing and unpacking killed before every sixth call": lambda place: handing_over.run(
            place, step=6
        ),
        "4 nights of two jobs killed": lambda place: nights.run(place, 4, seed, jobs=2),
        "12 rounds of eight builders": lambda place: at_once.run(rig, place, 12),
    }
    if shutil.which("strace"):
        made["kills before every 60th system call"] = lambda place: system_calls.run(
            rig, place, step=60
        )
    if os.geteuid() == 0 and shutil.which("mkfs.ext4"):
        made["12 power cuts"] = lambda place: power_cuts.run(rig, place, 12)
    return made


def _damage(rig: Rig, place: Path, seed: int) -> None:
    package = flips.Package(rig.build(place / "out").path, seed)
    report = flips.run(package, bits=200, each=20, tag_bits_step=97)
    if report.missed:
        raise BrokenError(report.missed)


def main() -> None:
    arguments = parser(__doc__).parse_args()
    with workplace(arguments.dir) as root:
        rig = Rig(root, "small", arguments.seed)
        for number, (what, share) in enumerate(shares(rig, arguments.seed).items()):
            place = root / f"share-{number}"
            place.mkdir()
            share(place)
            tell(what, "no promise broken")


if __name__ == "__main__":
    main()
