"""Judges a bag of very many small files and tells its processor time and peak memory.

    python tests/bench/largest_bag.py DIR [--files 200000] [--algorithms md5,sha1,sha256,sha512]

The bag is made in DIR, which must not hold one yet, and left there. It is judged as RFC 8493 asks,
in a process of its own. Processor time is told, for it does not depend on what else is running.
"""

import argparse
import hashlib
import resource
import subprocess
import sys
import time
from pathlib import Path

from tailsout.ground.progress import Silent
from tailsout.work.check import check

FOLDER_OF = 1000


def make(base: Path, count: int, algorithms: list[str]) -> None:
    """Write a valid bag without tag manifests."""
    lists: dict[str, list[str]] = {algorithm: [] for algorithm in algorithms}
    for number in range(count):
        path = f"data/d{number // FOLDER_OF:03}/file-{number:06}.txt"
        content = b"%d" % number
        if number % FOLDER_OF == 0:
            (base / path).parent.mkdir(parents=True)
        (base / path).write_bytes(content)
        for algorithm, lines in lists.items():
            lines.append(f"{hashlib.new(algorithm, content).hexdigest()}  {path}\n")
    for algorithm, lines in lists.items():
        (base / f"manifest-{algorithm}.txt").write_text("".join(lines))
    (base / "bagit.txt").write_text("BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n")


def judge(base: Path) -> None:
    before = time.process_time()
    checked = check(base, Silent(), bagit_only=True)
    taken = time.process_time() - before
    package = checked.dossier.package
    if package is None or checked.bag is None:
        raise SystemExit("there is no bag")
    lines = sum(len(manifest.lines) for manifest in package.manifests)
    peak_mb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * 1024 / 1e6
    print(f"{len(package.files)} files, {lines} lines: {checked.bag.word}")
    print(f"{taken:.1f} s of processor time, {taken / len(package.files) * 1e6:.0f} us a file")
    print(f"peak memory {peak_mb:.0f} MB")


def main() -> None:
    parser = argparse.ArgumentParser(description="Judge a bag of very many files.")
    parser.add_argument("folder", type=Path, metavar="DIR")
    parser.add_argument("--files", type=int, default=200_000)
    parser.add_argument("--algorithms", default="md5,sha1,sha256,sha512")
    parser.add_argument("--judge", action="store_true", help=argparse.SUPPRESS)
    arguments = parser.parse_args()
    if arguments.judge:
        judge(arguments.folder)
        return
    make(arguments.folder / "bag", arguments.files, arguments.algorithms.split(","))
    command = [sys.executable, __file__, "--judge", str(arguments.folder / "bag")]
    subprocess.run(command, check=True)


if __name__ == "__main__":
    main()
