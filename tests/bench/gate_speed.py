"""Tells how soon `gate` answers before unloading: first, in the end, and when asked again.

    python tests/bench/gate_speed.py DIR [--seconds 3600] [--runs 3]

Writes a studio and a job into DIR unless they stand there, with one stereo capture of sound like
programme at 96 kHz and 24 bit by `programme.py`, then runs `tailsout gate` in a process of its own
and takes the time until its first answer and its end: with nothing kept, then with what it kept.
The page cache is warm after the first run; a cold disk is not measured.
"""

import argparse
import os
import subprocess
import sys
import time
from pathlib import Path

import programme_job


def _asked(job: Path) -> tuple[float, float, str]:
    """Return the seconds to the first answer and to the end, and the last word."""
    begun = time.perf_counter()
    first = 0.0
    word = ""
    arguments = [sys.executable, "-u", "-m", "tailsout", "gate", str(job), "--at", "unloading"]
    with subprocess.Popen(arguments, stdout=subprocess.PIPE, text=True) as running:
        for line in running.stdout or ():
            if "REEL" in line or "SAMPLES" in line:
                first = first or time.perf_counter() - begun
                word = line.strip() if "REEL" in line and not word else word
    return first, time.perf_counter() - begun, word


def main() -> None:
    parser = argparse.ArgumentParser(description="Take the time of the gate before unloading.")
    parser.add_argument("folder", type=Path)
    parser.add_argument("--seconds", type=int, default=3600)
    parser.add_argument("--runs", type=int, default=3)
    arguments = parser.parse_args()
    job = programme_job.made(arguments.folder, arguments.seconds)
    kept = job / ".gate-facts.json"
    print(f"{os.cpu_count()} cores, load {os.getloadavg()[0]:.2f}, {arguments.seconds} s of sound")
    for run in range(arguments.runs):
        kept.unlink(missing_ok=True)
        for name in ("nothing kept", "facts kept"):
            first, whole, word = _asked(job)
            print(f"run {run + 1}, {name:12}  first {first:5.2f} s, whole {whole:6.2f} s: {word}")


if __name__ == "__main__":
    main()
