"""Tells how long each description of a package takes, and the report with its drawings.

    python tests/bench/views_speed.py DIR [--seconds 3600] [--runs 3]

Takes the kept sample, and two packages that are made in DIR unless they stand there: the demo,
whose report has a plot by the plotting library, and one stereo capture of sound like programme at
96 kHz and 24 bit by `programme.py`. Each description is made by `tailsout show PACKAGE --as NAME`
in a process of its own, the report by `tailsout report PACKAGE`, every one as often as `--runs`
says: what is printed is the shortest and the longest time, the least time of the processor, how
large it is, and whether all runs gave the same octets. The page cache is warm.
"""

import argparse
import os
import resource
import subprocess
import sys
import time
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import programme_job

from tailsout.work.exports import VIEWS

SAMPLE = Path(__file__).resolve().parents[2] / "sample_packages/good/skerrow-light/package"


@dataclass(frozen=True, slots=True, kw_only=True)
class Run:
    """One process: what it took, and what it gave."""

    seconds: float
    processor: float
    content: bytes


def _tailsout(*arguments: str | Path) -> Run:
    command = [sys.executable, "-m", "tailsout", *map(str, arguments)]
    used, begun = _processor(), time.perf_counter()
    done = subprocess.run(command, check=True, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL)
    spent = time.perf_counter() - begun
    return Run(seconds=spent, processor=_processor() - used, content=done.stdout)


def _processor() -> float:
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime


def _closed(folder: Path, seconds: int) -> Path:
    package = folder / f"out-{seconds}" / "BENCH-1"
    if package.exists():
        return package
    job = programme_job.made(folder, seconds)
    closed = _tailsout("close", job, "-o", package.parent)
    print(f"closed {seconds} s of sound in {closed.seconds:.1f} s")
    return package


def _demo(folder: Path) -> Path:
    package = folder / "demo" / "packages" / "SKL-0007"
    if not package.exists():
        _tailsout("demo", folder / "demo")
    return package


def _told(name: str, runs: Sequence[Run]) -> None:
    times = [one.seconds for one in runs]
    same = "identical" if len({one.content for one in runs}) == 1 else "NOT THE SAME"
    print(
        f"  {name:12} {min(times):5.2f} to {max(times):5.2f} s, processor "
        f"{min(one.processor for one in runs):5.2f} s, {len(runs[0].content):>9,} octets, {same}"
    )


def main() -> None:
    parser = argparse.ArgumentParser(description="Take the time of descriptions and the report.")
    parser.add_argument("folder", type=Path)
    parser.add_argument("--seconds", type=int, default=3600)
    parser.add_argument("--runs", type=int, default=3)
    arguments = parser.parse_args()
    arguments.folder.mkdir(parents=True, exist_ok=True)
    print(f"{os.cpu_count()} cores, load {os.getloadavg()[0]:.2f}")
    packages = {
        "the sample": SAMPLE,
        "the demo": _demo(arguments.folder),
        f"{arguments.seconds} s of 24/96 stereo": _closed(arguments.folder, arguments.seconds),
    }
    for title, package in packages.items():
        print(title)
        for view in VIEWS:
            told = (
                ("report", package)
                if view.name == "report"
                else ("show", package, "--as", view.name)
            )
            _told(view.name, [_tailsout(*told) for _ in range(arguments.runs)])


if __name__ == "__main__":
    main()
