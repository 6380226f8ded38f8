"""Tells how long a large file of many chunks takes to be walked.

    python tests/bench/walk_speed.py DIR [--chunks 9000] [--gigabytes 4.5] [--runs 5]

Writes an RF64 file into DIR whose audio is a hole, half of its chunks before the audio and half
behind, each of 20 octets with one in three odd. What is printed is the best and the worst run of
`read_layout`, of `survey`, and the peak memory.
"""

import argparse
import os
import resource
import time
from collections.abc import Callable
from pathlib import Path

from tailsout.ground.pcm import Pcm
from tailsout.wave import ds64, fmt
from tailsout.wave.chunk import HEADER
from tailsout.wave.ds64 import UNSTATED
from tailsout.wave.riff import read_layout
from tailsout.work.survey import survey

_PCM = Pcm(is_float=False, sample_rate_hz=96_000, channels=2, container_bits=24, valid_bits=24)


def _small(count: int) -> bytes:
    some = [bytes(19 if n % 3 else 20) for n in range(count)]
    return b"".join(HEADER.pack(b"note", len(one)) + one + bytes(len(one) % 2) for one in some)


def _made(path: Path, chunks: int, gigabytes: float) -> Path:
    audio = int(gigabytes * 1e9) // _PCM.frame_octets * _PCM.frame_octets
    before, behind = _small(chunks // 2), _small(chunks - chunks // 2)
    shape = fmt.encode(_PCM)
    body = HEADER.pack(b"fmt ", len(shape)) + shape + before + HEADER.pack(b"data", UNSTATED)
    riff = 4 + HEADER.size + ds64.FIXED_OCTETS + len(body) + audio + len(behind)
    sizes = ds64.encode(riff=riff, data=audio, samples=audio // _PCM.frame_octets)
    head = HEADER.pack(b"RF64", UNSTATED) + b"WAVE" + HEADER.pack(b"ds64", len(sizes)) + sizes
    with path.open("wb") as out:
        out.write(head + body)
        out.seek(audio, os.SEEK_CUR)
        out.write(behind)
    return path


def _seconds(path: Path, work: Callable[[Path], object], runs: int) -> list[float]:
    taken = []
    for _ in range(runs):
        begun = time.perf_counter()
        work(path)
        taken.append(time.perf_counter() - begun)
    return taken


def _walk(path: Path) -> None:
    with path.open("rb") as stream:
        layout = read_layout(stream)
    if layout.damage:
        raise SystemExit(f"the file should be sound: {layout.damage[0].text}")


def _survey(path: Path) -> None:
    with path.open("rb") as stream:
        survey(stream, path.name)


def main() -> None:
    parser = argparse.ArgumentParser(description="Walk a large file of many chunks.")
    parser.add_argument("folder", type=Path)
    parser.add_argument("--chunks", type=int, default=9000)
    parser.add_argument("--gigabytes", type=float, default=4.5)
    parser.add_argument("--runs", type=int, default=5)
    arguments = parser.parse_args()
    path = _made(arguments.folder / "chunks.wav", arguments.chunks, arguments.gigabytes)
    print(f"{path.stat().st_size / 1e9:.2f} GB, load {os.getloadavg()[0]:.2f}")
    for name, work in (("walk", _walk), ("survey", _survey)):
        taken = _seconds(path, work, arguments.runs)
        print(f"{name:7} best {min(taken):.3f} s, worst {max(taken):.3f} s, of {len(taken)}")
    peak_mb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * 1024 / 1e6
    print(f"peak memory {peak_mb:.0f} MB")
    path.unlink()


if __name__ == "__main__":
    main()
