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

from tailsout.work.exports import VIEWS

_FORM = """job_id = "00000000-0000-4000-8000-000000000001"
package_id = "BENCH-1"
studio = "../studio"

[reel]
title = "A reel to take the time by"
diameter_in = 10.5

[[reel.sides]]
id = "A"

[[reel.sides.regions]]
id = "A1"
kind = "line-up tone"
capture = "a"
start = "0:00"
end = "0:20"
speed_ips = 7.5

[[reel.sides.regions]]
id = "A2"
kind = "programme"
capture = "a"
start = "0:20"
speed_ips = 7.5
equalisation = {{ standard = "NAB", t1_us = 3180, t2_us = 50 }}
tracks = "half-track stereo"

[[passes]]
id = "p1"
sides = ["A"]

[[captures]]
id = "a"
file = "captures/a-{seconds}.wav"
pass_id = "p1"
started = 2026-03-14

[[signal_notes]]
capture = "a"
start = "0:30"
end = "0:40"
heard = "a crackle that comes and goes"
lives_in = "undecided"
"""
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
    job = folder / f"job-{seconds}"
    capture = job / "captures" / f"a-{seconds}.wav"
    capture.parent.mkdir(parents=True, exist_ok=True)
    (folder / "studio").mkdir(exist_ok=True)
    (folder / "studio" / "studio.toml").write_text('name = "Saltpan Row"\n', encoding="utf-8")
    (job / "job.toml").write_text(_FORM.format(seconds=seconds), encoding="utf-8")
    script = Path(__file__).with_name("programme.py")
    subprocess.run([sys.executable, script, "programme", str(seconds), capture], check=True)
    os.utime(capture, (1_700_000_000, 1_700_000_000))
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
