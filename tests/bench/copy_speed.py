"""Sets the copy under a new header beside `cp` and the slower of its digests.

    python tests/bench/copy_speed.py DIR [--megabytes 1000] [--rounds 5]

Every round runs, on the same file and in this order: `cp` and `sync` of the file, with a read of it
through SHA-512; then the copy that closing a job makes: new header, SHA-512 and SHA-256 of the file
as it is written, SHA-256 of its samples as they are read, and `fsync`. The page cache is warm. What
is printed is each time, the ratio of the two, round by round, and the peak memory of the copy.
"""

import argparse
import hashlib
import os
import resource
import statistics
import subprocess
import time
from collections.abc import Callable
from pathlib import Path

from tailsout.bag.disk import Disk
from tailsout.ground.digests import Hashing
from tailsout.ground.pcm import Pcm
from tailsout.wave import bext, embed, fmt
from tailsout.wave.chunk import HEADER
from tailsout.wave.riff import read_layout

_PCM = Pcm(is_float=False, sample_rate_hz=96_000, channels=2, container_bits=24, valid_bits=24)
_FLUSH_OCTETS = 32 << 20
_BEXT = bext.encode(bext.Bext(originator="Saltpan Row"))


def _made(path: Path, megabytes: int) -> Path:
    audio = megabytes * 1_000_000 // _PCM.frame_octets * _PCM.frame_octets
    shape = fmt.encode(_PCM)
    body = b"WAVE" + HEADER.pack(b"fmt ", len(shape)) + shape + HEADER.pack(b"data", audio)
    with path.open("wb") as out:
        out.write(HEADER.pack(b"RIFF", len(body) + audio) + body)
        while audio:
            octets = min(audio, 1 << 20)
            out.write(os.urandom(octets))
            audio -= octets
    return path


def _timed(work: Callable[[], object]) -> float:
    os.sync()
    begun = time.perf_counter()
    work()
    return time.perf_counter() - begun


def _plain(source: Path, target: Path) -> None:
    subprocess.run(["cp", source, target], check=True)
    subprocess.run(["sync", target], check=True)
    with source.open("rb") as stream:
        hashlib.file_digest(stream, "sha512")


def _through(source: Path, target: Path) -> None:
    """Write as the writer of packages does."""
    disk = Disk()
    descriptor = disk.create(target)
    written = 0
    with (
        Hashing(["sha512", "sha256"]) as whole,
        Hashing(["sha256"]) as essence,
        source.open("rb") as stream,
    ):

        def take(block: bytes | memoryview) -> None:
            nonlocal written
            owned = bytes(block)
            whole.update(owned)
            disk.write_all(descriptor, owned)
            written += len(owned)
            if written % _FLUSH_OCTETS < len(owned):
                disk.begin_sync(descriptor)

        recipe = embed.plan(read_layout(stream), bext=_BEXT)
        embed.copy(stream, recipe, take, essence=essence.update, advance=lambda _octets: None)
        whole.hexdigests()
        essence.hexdigests()
    disk.sync_file(descriptor)
    disk.close(descriptor)


def main() -> None:
    parser = argparse.ArgumentParser(description="The copy against cp and one digest.")
    parser.add_argument("folder", type=Path)
    parser.add_argument("--megabytes", type=int, default=1000)
    parser.add_argument("--rounds", type=int, default=5)
    arguments = parser.parse_args()
    source = _made(arguments.folder / "source.wav", arguments.megabytes)
    target = arguments.folder / "copy.wav"
    print(f"{source.stat().st_size / 1e6:.0f} MB, {os.cpu_count()} cores")
    print("cp+sync+sha512   copy-through   ratio   load")
    ratios = []
    for _ in range(arguments.rounds):
        times = []
        for work in (_plain, _through):
            times.append(_timed(lambda work=work: work(source, target)))  # type: ignore[misc]
            target.unlink()
        ratios.append(times[1] / times[0])
        load = os.getloadavg()[0]
        print(f"{times[0]:13.2f}s {times[1]:13.2f}s {ratios[-1]:7.2f} {load:6.2f}")
    print(f"median ratio {statistics.median(ratios):.2f}")
    peak_mb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * 1024 / 1e6
    print(f"peak memory {peak_mb:.0f} MB")
    source.unlink()


if __name__ == "__main__":
    main()
