"""Tells how long each description of a package takes, and the report with its drawings.

    python tests/bench/views_speed.py DIR [--seconds 3600] [--runs 3]

Takes the kept sample, and a package that is closed in DIR unless it stands there: one stereo
capture of sound like programme at 96 kHz and 24 bit by `programme.py`, with regions, notes and a
reel. Each description is made by `tailsout show PACKAGE --as NAME` in a process of its own, the
report by `tailsout report PACKAGE`, every one as often as `--runs` says: what is printed is the
shortest and the longest time, how large it is, and whether all runs gave the same octets. The page
cache is warm. Nothing here is a test: another machine has other figures.
"""

import argparse
import os
import subprocess
import sys
import time
from collections.abc import Sequence
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


def _tailsout(*arguments: str | Path) -> tuple[float, bytes]:
    command = [sys.executable, "-m", "tailsout", *map(str, arguments)]
    begun = time.perf_counter()
    done = subprocess.run(command, check=True, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL)
    return time.perf_counter() - begun, done.stdout


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
    spent, _ = _tailsout("close", job, "-o", package.parent)
    print(f"closed {seconds} s of sound in {spent:.1f} s")
    return package


def _report(package: Path, page: Path) -> tuple[float, bytes]:
    page.unlink(missing_ok=True)
    spent, _ = _tailsout("report", package, "-o", page)
    return spent, page.read_bytes()


def _told(name: str, runs: Sequence[tuple[float, bytes]]) -> None:
    times = [spent for spent, _ in runs]
    octets = {content for _, content in runs}
    same = "identical" if len(octets) == 1 else "NOT THE SAME"
    size = len(runs[0][1])
    print(f"  {name:12} {min(times):5.2f} to {max(times):5.2f} s {size:>9,} octets  {same}")


def main() -> None:
    parser = argparse.ArgumentParser(description="Take the time of descriptions and the report.")
    parser.add_argument("folder", type=Path)
    parser.add_argument("--seconds", type=int, default=3600)
    parser.add_argument("--runs", type=int, default=3)
    arguments = parser.parse_args()
    arguments.folder.mkdir(parents=True, exist_ok=True)
    page = arguments.folder / "report.html"
    print(f"{os.cpu_count()} cores, load {os.getloadavg()[0]:.2f}")
    for package in (SAMPLE, _closed(arguments.folder, arguments.seconds)):
        print(package.name if package != SAMPLE else "the sample")
        for view in VIEWS:
            runs = range(arguments.runs)
            _told(view.name, [_tailsout("show", package, "--as", view.name) for _ in runs])
        _told("report -o", [_report(package, page) for _ in range(arguments.runs)])


if __name__ == "__main__":
    main()
