"""Sets the judging of a bag beside the general library and beside digests taken in memory.

    python tests/bench/prove_speed.py DIR [--rounds 5] [--bags mixed,large,single]

The bags are those of `mixed_bag.py`, made in DIR where they are not there yet: `mixed` (four files
of 480 MB and 6,000 small ones), `large` (the four alone), `single` (one of 1 GB), and so many small
files: `ten-thousand`, `hundred-thousand`. Each is read once beforehand, so that the page cache is
warm for all. Every round runs, each in a process of its own and in this order: SHA-512 and SHA-256
of as many octets in memory by two threads (the ceiling); the same of the files as they are read,
the largest first, with nothing else looked at (the bare loop: what nobody can do faster who reads
files and uses `hashlib`); what `tailsout check --bagit-only` does, with two workers; the library
with one process and with two. Programs are loaded before the clock starts. Of each are printed
the median time, processor time and peak memory, the time a file, and the median of the ratios
within the rounds: against the better of the library's two, the ceiling and the bare loop. Processor
time is for a machine that has other work to do.
"""

import argparse
import hashlib
import os
import resource
import statistics
import subprocess
import sys
import threading
import time
from collections import deque
from pathlib import Path

import bagit

from tailsout.ground.findings import Verdict
from tailsout.ground.progress import Silent
from tailsout.work.check import check

SHAPES = {
    "mixed": {"large": 4, "megabytes": 480, "small": 6000},
    "large": {"large": 4, "megabytes": 480, "small": 0},
    "single": {"large": 1, "megabytes": 1000, "small": 0},
    "ten-thousand": {"large": 0, "megabytes": 0, "small": 10_000},
    "hundred-thousand": {"large": 0, "megabytes": 0, "small": 100_000},
}
WAYS = ("memory", "bare", "tailsout", "library-1", "library-2")
_BLOCK = 1 << 20
_MAKER = Path(__file__).with_name("mixed_bag.py")


def _in_memory(base: Path) -> None:
    octets = sum(place.stat().st_size for place in base.rglob("*") if place.is_file())
    block = os.urandom(_BLOCK)

    def take() -> None:
        one, other = hashlib.sha512(), hashlib.sha256()
        for _ in range(octets // _BLOCK // 2):
            one.update(block)
            other.update(block)

    threads = [threading.Thread(target=take) for _ in range(2)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()


def _bare(base: Path) -> None:
    places = [place for place in (base / "data").rglob("*") if place.is_file()]
    todo = deque(sorted(places, key=lambda one: -one.stat().st_size))

    def take() -> None:
        block = memoryview(bytearray(_BLOCK))
        while todo:
            try:
                place = todo.popleft()
            except IndexError:
                return
            one, other = hashlib.sha512(), hashlib.sha256()
            with place.open("rb", buffering=0) as stream:
                while count := stream.readinto(block):
                    one.update(block[:count])
                    other.update(block[:count])

    threads = [threading.Thread(target=take) for _ in range(2)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()


def _ours(base: Path) -> None:
    if check(base, Silent(), bagit_only=True).judgement.verdict is not Verdict.PASS:
        raise SystemExit("the bag should be sound")


def _processor() -> float:
    told = (resource.getrusage(who) for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN))
    return sum(one.ru_utime + one.ru_stime for one in told)


def _child(way: str, base: Path) -> None:
    """Do one piece of work and print its seconds, processor seconds and peak memory in MB."""
    before, begun = _processor(), time.perf_counter()
    if way == "memory":
        _in_memory(base)
    elif way == "bare":
        _bare(base)
    elif way == "tailsout":
        _ours(base)
    else:
        bagit.Bag(str(base)).validate(processes=int(way[-1]))
    taken = time.perf_counter() - begun
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    print(taken, _processor() - before, peak / 1000)


def _run(way: str, base: Path) -> tuple[float, float, float]:
    ran = subprocess.run(
        [sys.executable, __file__, "--child", way, str(base)],
        check=True,
        stdout=subprocess.PIPE,
        text=True,
    )
    taken, processor, memory = (float(one) for one in ran.stdout.split())
    return taken, processor, memory


def _warm(base: Path) -> None:
    for place in base.rglob("*"):
        if place.is_file():
            with place.open("rb") as stream:
                while stream.read(_BLOCK):
                    pass


def _compare(base: Path, rounds: int) -> None:
    _warm(base)
    told = [{way: _run(way, base) for way in WAYS} for _ in range(rounds)]
    print(f"\n{base.name}: seconds, processor seconds, peak MB (medians of {rounds} rounds)")
    for way in WAYS:
        print(
            f"  {way:<10}",
            *(f"{statistics.median(one[way][n] for one in told):8.2f}" for n in range(3)),
        )
    files = sum(SHAPES[base.name][key] for key in ("large", "small"))
    each = statistics.median(one["tailsout"][0] for one in told) / files
    print(f"  {1e6 * each:.0f} µs a file")
    for n, unit in enumerate(("time", "processor time")):
        against = [
            min(one["library-1"][n], one["library-2"][n]) / one["tailsout"][n] for one in told
        ]
        ceiling, bare = (
            [100 * one[way][n] / one["tailsout"][n] for one in told] for way in ("memory", "bare")
        )
        print(
            f"  by {unit}: {statistics.median(against):.2f} x the library at its best, "
            f"{statistics.median(ceiling):.0f} % of the ceiling, "
            f"{statistics.median(bare):.0f} % of the bare loop "
            f"(rounds: {' '.join(f'{one:.2f}' for one in against)}; "
            f"{' '.join(f'{one:.0f}' for one in ceiling)}; "
            f"{' '.join(f'{one:.0f}' for one in bare)})"
        )


def main() -> None:
    """Compare on every bag."""
    if sys.argv[1] == "--child":
        _child(sys.argv[2], Path(sys.argv[3]))
        return
    parser = argparse.ArgumentParser(description=(__doc__ or "").partition("\n")[0])
    parser.add_argument("folder", type=Path, metavar="DIR")
    parser.add_argument("--rounds", type=int, default=5)
    parser.add_argument("--bags", default="mixed,large,single")
    wish = parser.parse_args()
    for name in wish.bags.split(","):
        base = wish.folder / name
        if not base.exists():
            options = [text for key, n in SHAPES[name].items() for text in (f"--{key}", str(n))]
            subprocess.run([sys.executable, _MAKER, base, *options], check=True)
        _compare(base, wish.rounds)


if __name__ == "__main__":
    main()
