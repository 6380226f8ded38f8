"""Tells how fast a wave file is measured, digests included, against real time.

    python tests/bench/measure_speed.py DIR [--seconds 600] [--runs 3]

Writes both sorts of `programme.py` into DIR unless they stand there, measures them in turn so that
a busy machine slows both alike, and prints the best and the worst run. With `--seconds 7600` the
files pass 4 GiB. The page cache is warm after the first run; a cold disk is not measured.
"""

import argparse
import os
import platform
import resource
import subprocess
import sys
import time
from pathlib import Path

import numba
import numpy as np

from tailsout.ground.pcm import Pcm
from tailsout.measure.onepass import measure

_KINDS = ("programme", "noise")
_DATA_OFFSET = 80
_RATE_HZ = 96_000
_PCM = Pcm(is_float=False, sample_rate_hz=_RATE_HZ, channels=2, container_bits=24, valid_bits=24)


def _made(folder: Path, kind: str, seconds: int) -> Path:
    path = folder / f"{kind}-{seconds}.wav"
    if not path.exists():
        script = Path(__file__).with_name("programme.py")
        subprocess.run([sys.executable, script, kind, str(seconds), path], check=True)
    return path


def _seconds_to_measure(path: Path) -> float:
    octets = path.stat().st_size
    begun = time.perf_counter()
    with path.open("rb") as stream:
        measure(
            stream,
            _PCM,
            data_offset=_DATA_OFFSET,
            data_octets=octets - _DATA_OFFSET,
            file_octets=octets,
            advance=lambda _octets: None,
        )
    return time.perf_counter() - begun


def _processor() -> str:
    try:
        lines = Path("/proc/cpuinfo").read_text(encoding="utf-8").splitlines()
    except OSError:
        return platform.processor()
    return next((one.split(":")[1].strip() for one in lines if one.startswith("model name")), "")


def main() -> None:
    parser = argparse.ArgumentParser(description="Measure speed against real time.")
    parser.add_argument("folder", type=Path)
    parser.add_argument("--seconds", type=int, default=600)
    parser.add_argument("--runs", type=int, default=3)
    arguments = parser.parse_args()
    print(f"{_processor()}, {os.cpu_count()} cores, load {os.getloadavg()[0]:.2f}")
    print(f"Python {platform.python_version()}, numpy {np.__version__}, numba {numba.__version__}")
    paths = {kind: _made(arguments.folder, kind, arguments.seconds) for kind in _KINDS}
    times: dict[str, list[float]] = {kind: [] for kind in _KINDS}
    for _ in range(arguments.runs):
        for kind, path in paths.items():
            times[kind].append(_seconds_to_measure(path))
    for kind, taken in times.items():
        best, worst = (arguments.seconds / one for one in (min(taken), max(taken)))
        print(f"{kind:10} best {best:5.0f} × real time, worst {worst:5.0f} ×, of {len(taken)}")
    peak_mb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * 1024 / 1e6
    print(f"peak memory {peak_mb:.0f} MB")


if __name__ == "__main__":
    main()
