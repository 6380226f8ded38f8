"""Receives a drive of many small packages, three of them hostile; tells speed, memory and lines.

    python tests/bench/receive_speed.py DIR [--packages 1000] [--sample NAME]

The drive is made in DIR, which must not be there yet, from copies of a kept package. It is received
once at each of two depths, each in a process of its own: as RFC 8493 asks, which is structure and
fixity, and with side-cars and all rules; and a tenth of it, to show that memory does not grow.
"""

import argparse
import resource
import shutil
import subprocess
import sys
import time
from pathlib import Path

SAMPLES = Path(__file__).resolve().parents[2] / "sample_packages" / "good"
MOST_LINES = 60
"""Of one screen that is not small."""


def make(drive: Path, count: int, sample: str) -> None:
    for number in range(count):
        package = drive / f"SKL-{number:04}"
        shutil.copytree(SAMPLES / sample / "package", package)
        if number == count // 4:
            (package / "data" / "out").symlink_to("/etc")
        elif number == count // 2:
            with (package / "manifest-sha512.txt").open("ab") as manifest:
                manifest.write(b"0" * 128 + b"  ../../../outside\n")
        elif number == 3 * count // 4:
            with (package / "bag-info.txt").open("ab") as info:
                info.write(b"External-Description: " + b"x" * (4 << 20) + b"\n")


def receive(drive: Path, into: Path, words: list[str]) -> None:
    from tailsout.doors.cli import run  # noqa: PLC0415  not wanted by the parent

    started = time.perf_counter()
    run(["receive", str(drive), "-o", str(into), *words])
    taken = time.perf_counter() - started
    packages = sum(path.is_dir() for path in drive.iterdir())
    peak_mb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * 1024 / 1e6
    told = f"{packages} packages in {taken:.1f} s, {packages / taken:.0f} a second"
    print(f"{told}, peak memory {peak_mb:.0f} MB", file=sys.stderr)


def main() -> None:
    parser = argparse.ArgumentParser(description="Receive a drive of many small packages.")
    parser.add_argument("folder", type=Path, metavar="DIR")
    parser.add_argument("--packages", type=int, default=1000)
    parser.add_argument("--sample", default="skerrow-light-told-afterwards")
    parser.add_argument("--into", type=Path, help=argparse.SUPPRESS)
    parser.add_argument("--words", default="", help=argparse.SUPPRESS)
    arguments = parser.parse_args()
    if arguments.into is not None:
        receive(arguments.folder, arguments.into, arguments.words.split())
        return
    folder = arguments.folder
    folder.mkdir(parents=True)
    for count, name in ((arguments.packages, "all"), (arguments.packages // 10, "tenth")):
        make(folder / name, count, arguments.sample)
        for words in ("--bagit-only", ""):
            into = folder / f"{name}-lists{words}"
            command = [sys.executable, __file__, str(folder / name), "--into", str(into)]
            done = subprocess.run(
                [*command, f"--words={words}"], check=True, capture_output=True, text=True
            )
            lines = len(done.stdout.splitlines())
            print(f"{words or 'side-cars and rules'}: {done.stderr.splitlines()[-1]}")
            print(f"  {lines} lines on the screen{'' if lines <= MOST_LINES else ', TOO MANY'}")


if __name__ == "__main__":
    main()
