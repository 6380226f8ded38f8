"""Tells how fast a wave file is measured, all meters and digests included, against real time.

    python tests/bench/measure_speed.py DIR [--seconds 600] [--runs 3] [--without-other]

Writes both sorts of `programme.py` into DIR unless they stand there, measures them in turn so that
a busy machine slows all alike, and prints the best and the worst run, and the processor time, which
others on the machine disturb less. In the same turns `pyebur128` gives its five figures (integrated
loudness, range, maxima polled every 10 ms, true peak) of the first minute of the same file. With
`--seconds 7600` the files pass 4 GiB. The page cache is warm after the first run; a cold disk is
not measured.
"""

import argparse
import math
import os
import platform
import resource
import subprocess
import sys
import time
from collections.abc import Callable
from functools import partial
from pathlib import Path

import numba
import numpy as np

from tailsout.ground.pcm import Pcm
from tailsout.measure.onepass import measure

_KINDS = ("programme", "noise")
_DATA_OFFSET = 80
_RATE_HZ = 96_000
_OTHERS_SECONDS = 60
_PCM = Pcm(is_float=False, sample_rate_hz=_RATE_HZ, channels=2, container_bits=24, valid_bits=24)


def _made(folder: Path, kind: str, seconds: int) -> Path:
    path = folder / f"{kind}-{seconds}.wav"
    if not path.exists():
        script = Path(__file__).with_name("programme.py")
        subprocess.run([sys.executable, script, kind, str(seconds), path], check=True)
    return path


def _timed(work: Callable[[], None]) -> tuple[float, float]:
    """Return how long it took, and the processor time of all threads."""
    begun, used = time.perf_counter(), time.process_time()
    work()
    return time.perf_counter() - begun, time.process_time() - used


def _measure(path: Path) -> None:
    octets = path.stat().st_size
    with path.open("rb") as stream:
        measure(
            stream,
            _PCM,
            data_offset=_DATA_OFFSET,
            data_octets=octets - _DATA_OFFSET,
            file_octets=octets,
            advance=lambda _octets: None,
        )


def _five_figures(path: Path) -> None:
    """Have libebur128 tell what it can of the first minute."""
    import pyebur128 as ebu  # noqa: PLC0415  only in the oracles extra

    modes = ebu.MeasurementMode
    wanted = modes.MODE_I | modes.MODE_S | modes.MODE_LRA | modes.MODE_TRUE_PEAK
    state = ebu.R128State(2, _RATE_HZ, wanted)
    hop = _RATE_HZ // 100
    momentary = short_term = -math.inf
    with path.open("rb") as stream:
        stream.seek(_DATA_OFFSET)
        for _ in range(_OTHERS_SECONDS):
            raw = np.frombuffer(stream.read(_RATE_HZ * 6), np.uint8).reshape(-1, 3)
            words = np.zeros((raw.shape[0], 4), np.uint8)
            words[:, 1:] = raw
            samples = words.view("<i4").ravel() / np.float32(2**31)
            for at in range(0, samples.size, 2 * hop):
                state.add_frames(samples[at : at + 2 * hop], hop)
                momentary = max(momentary, ebu.get_loudness_momentary(state))
                short_term = max(short_term, ebu.get_loudness_shortterm(state))
    figures = (
        ebu.get_loudness_global(state),
        ebu.get_loudness_range(state),
        momentary,
        short_term,
        max(ebu.get_true_peak(state, c) for c in (0, 1)),
    )
    if not all(map(math.isfinite, figures)):
        raise ValueError(f"no figures of {path}")


def _processor() -> str:
    try:
        lines = Path("/proc/cpuinfo").read_text(encoding="utf-8").splitlines()
    except OSError:
        return platform.processor()
    return next((one.split(":")[1].strip() for one in lines if one.startswith("model name")), "")


def _print(name: str, seconds: int, taken: list[tuple[float, float]]) -> float:
    walls = [wall for wall, _ in taken]
    best, worst = seconds / min(walls), seconds / max(walls)
    used = min(used for _, used in taken) / seconds * 1000
    print(
        f"{name:12} best {best:5.0f} × real time, worst {worst:5.0f} ×, of {len(taken)};"
        f" processor {used:5.2f} ms a second"
    )
    return best


def main() -> None:
    parser = argparse.ArgumentParser(description="Measure speed against real time.")
    parser.add_argument("folder", type=Path)
    parser.add_argument("--seconds", type=int, default=600)
    parser.add_argument("--runs", type=int, default=3)
    parser.add_argument("--without-other", action="store_true")
    arguments = parser.parse_args()
    print(f"{_processor()}, {os.cpu_count()} cores, load {os.getloadavg()[0]:.2f}")
    print(f"Python {platform.python_version()}, numpy {np.__version__}, numba {numba.__version__}")
    paths = {kind: _made(arguments.folder, kind, arguments.seconds) for kind in _KINDS}
    times: dict[str, list[tuple[float, float]]] = {kind: [] for kind in _KINDS}
    others: dict[str, list[tuple[float, float]]] = {kind: [] for kind in _KINDS}
    for _ in range(arguments.runs):
        for kind, path in paths.items():
            times[kind].append(_timed(partial(_measure, path)))
            if not arguments.without_other:
                others[kind].append(_timed(partial(_five_figures, path)))
    for kind in _KINDS:
        best = _print(kind, arguments.seconds, times[kind])
        if others[kind]:
            other = _print("  pyebur128", _OTHERS_SECONDS, others[kind])
            print(f"{'':12} {best / other:.1f} times as fast")
    peak_mb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * 1024 / 1e6
    print(f"peak memory {peak_mb:.0f} MB")


if __name__ == "__main__":
    main()
