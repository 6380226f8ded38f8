"""Makes a bag to time the proof of bags with: large files and many small ones, always the same.

    python tests/bench/mixed_bag.py DIR [--large 4] [--megabytes 480] [--small 6000]

The bag is of version 1.0 and valid, with manifests and tag manifests in sha512 and sha256. The
large files hold `--megabytes` million octets each. Of every five small ones, one has 60,000 octets
and four have 6,000 each, a hundred to a folder. What fills them follows from the seed alone.
"""

import argparse
import hashlib
import random
from collections.abc import Iterator
from pathlib import Path

ALGORITHMS = ("sha512", "sha256")
SEED = 1951
_BLOCK = 1_000_000


def make(base: Path, *, large: int, megabytes: int, small: int, seed: int = SEED) -> None:
    """Make the bag at `base`, which must not be there yet."""
    chance = random.Random(seed)
    base.mkdir(parents=True)
    lines: dict[str, list[str]] = {name: [] for name in ALGORITHMS}
    octets = 0
    for path, blocks in _payload(chance, large, megabytes, small):
        place = base / path
        place.parent.mkdir(parents=True, exist_ok=True)
        octets += _write(place, path, blocks, lines)
    (base / "bagit.txt").write_bytes(
        b"BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n",
    )
    (base / "bag-info.txt").write_text(f"Payload-Oxum: {octets}.{large + small}\n")
    for name, listed in lines.items():
        (base / f"manifest-{name}.txt").write_text("".join(sorted(listed, key=_path_of)))
    tags = sorted(place.name for place in base.glob("*.txt"))
    for name in ALGORITHMS:
        listed = [
            f"{hashlib.new(name, (base / tag).read_bytes()).hexdigest()}  {tag}\n" for tag in tags
        ]
        (base / f"tagmanifest-{name}.txt").write_text("".join(listed))


def _path_of(line: str) -> str:
    return line.partition("  ")[2]


def _payload(
    chance: random.Random, large: int, megabytes: int, small: int
) -> Iterator[tuple[str, Iterator[bytes]]]:
    for number in range(large):
        yield (
            f"data/audio/reel-{number:02}.wav",
            (chance.randbytes(_BLOCK) for _ in range(megabytes)),
        )
    for number in range(small):
        content = chance.randbytes(60_000 if number % 5 == 0 else 6_000)
        yield f"data/images/{number // 100:04}/{number:06}.tif", iter((content,))


def _write(place: Path, path: str, blocks: Iterator[bytes], lines: dict[str, list[str]]) -> int:
    taken = {name: hashlib.new(name) for name in ALGORITHMS}
    octets = 0
    with place.open("xb") as out:
        for block in blocks:
            out.write(block)
            octets += len(block)
            for one in taken.values():
                one.update(block)
    for name, one in taken.items():
        lines[name].append(f"{one.hexdigest()}  {path}\n")
    return octets


def main() -> None:
    """Make one bag."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").partition("\n")[0])
    parser.add_argument("base", type=Path, metavar="DIR")
    parser.add_argument("--large", type=int, default=4)
    parser.add_argument("--megabytes", type=int, default=480)
    parser.add_argument("--small", type=int, default=6000)
    wish = parser.parse_args()
    make(wish.base, large=wish.large, megabytes=wish.megabytes, small=wish.small)


if __name__ == "__main__":
    main()
