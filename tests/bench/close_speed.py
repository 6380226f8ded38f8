"""Sets `close` beside what it cannot do without: measuring, a copy on disk, one verifying read.

    python tests/bench/close_speed.py DIR [--seconds 600] [--rounds 3]

Every round runs, on the same master and in this order: `measure`; `cp` and `sync` of the file; a
read of the copy through SHA-512, the slower of the two digests; then `close` of a job that holds
the master. The page cache is warm. What is printed is each time and the ratio of `close` to the
sum of the other three, round by round.
"""

import argparse
import hashlib
import os
import shutil
import statistics
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

_JOB = """\
job_id = "00000000-0000-4000-8000-000000000001"
package_id = "bench"
studio = "../studio"
[[captures]]
id = "c"
file = "captures/programme.wav"
started = 2026-03-14
"""


def _timed(work: Callable[[], object]) -> float:
    os.sync()
    begun = time.perf_counter()
    work()
    return time.perf_counter() - begun


def _prepared(folder: Path, seconds: int) -> Path:
    captures = folder / "job" / "captures"
    captures.mkdir(parents=True, exist_ok=True)
    master = captures / "programme.wav"
    script = Path(__file__).with_name("programme.py")
    subprocess.run([sys.executable, script, "programme", str(seconds), master], check=True)
    os.utime(master, (0, 0))
    (folder / "studio").mkdir(exist_ok=True)
    (folder / "studio" / "studio.toml").write_text('name = "Saltpan Row"\n', encoding="utf-8")
    (folder / "job" / "job.toml").write_text(_JOB, encoding="utf-8")
    return master


def _tailsout(*arguments: str | Path) -> None:
    command = [sys.executable, "-m", "tailsout", *map(str, arguments)]
    subprocess.run(command, check=True, stdout=subprocess.DEVNULL)


def _copy_and_sync(source: Path, target: Path) -> None:
    subprocess.run(["cp", source, target], check=True)
    subprocess.run(["sync", target, target.parent], check=True)


def _verify(path: Path) -> None:
    with path.open("rb") as stream:
        hashlib.file_digest(stream, "sha512")


def _round(folder: Path, master: Path) -> tuple[float, ...]:
    copy = folder / "copy.wav"
    times = (
        _timed(lambda: _tailsout("measure", master)),
        _timed(lambda: _copy_and_sync(master, copy)),
        _timed(lambda: _verify(copy)),
        _timed(lambda: _tailsout("close", folder / "job", "-o", folder / "out")),
    )
    copy.unlink()
    shutil.rmtree(folder / "out")
    return times


def main() -> None:
    parser = argparse.ArgumentParser(description="close against the sum of what it needs.")
    parser.add_argument("folder", type=Path)
    parser.add_argument("--seconds", type=int, default=600)
    parser.add_argument("--rounds", type=int, default=3)
    arguments = parser.parse_args()
    master = _prepared(arguments.folder, arguments.seconds)
    print(f"{master.stat().st_size / 1e6:.0f} MB, load {os.getloadavg()[0]:.2f}")
    print("measure  cp+sync  sha512   close    close / sum of the three")
    ratios = []
    for _ in range(arguments.rounds):
        measure, copied, verified, closed = _round(arguments.folder, master)
        ratios.append(closed / (measure + copied + verified))
        print(f"{measure:6.2f}s {copied:7.2f}s {verified:6.2f}s {closed:7.2f}s  {ratios[-1]:.2f}")
    print(f"median ratio {statistics.median(ratios):.2f}")


if __name__ == "__main__":
    main()
