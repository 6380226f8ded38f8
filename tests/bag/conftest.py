"""A small good bag, written by hand here so that reader and writer are tested apart."""

import hashlib
from collections.abc import Callable, Sequence
from pathlib import Path

import pytest

from tailsout.bag.notes import DEFAULT_CAPS, Caps
from tailsout.bag.open import open_bag
from tailsout.records.facts import Observation

AUDIO = bytes(range(256)) * 40


def _seal(base: Path, algorithms: Sequence[str] = ("sha256", "sha512")) -> None:
    """Write payload manifests over data/ and tag manifests over the rest."""
    for one in base.glob("*manifest-*.txt"):
        one.unlink()
    for kind in ("manifest", "tagmanifest"):
        files = [p for p in sorted(base.rglob("*")) if p.is_file() and not p.is_symlink()]
        names = [p.relative_to(base).as_posix() for p in files]
        names = [n for n in names if n.startswith("data/") == (kind == "manifest")]
        names = [n for n in names if not n.startswith("tagmanifest-")]
        for algorithm in algorithms:
            lines = [
                f"{hashlib.new(algorithm, (base / n).read_bytes()).hexdigest()}  {n}\n"
                for n in names
            ]
            (base / f"{kind}-{algorithm}.txt").write_bytes("".join(lines).encode())


@pytest.fixture
def seal() -> Callable[..., None]:
    return _seal


@pytest.fixture
def good_bag(tmp_path: Path) -> Path:
    base = tmp_path / "reel-0001"
    (base / "data" / "audio").mkdir(parents=True)
    (base / "data" / "audio" / "reel.wav").write_bytes(AUDIO)
    (base / "data" / "note.txt").write_bytes(b"tails out\n")
    (base / "bagit.txt").write_bytes(b"BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n")
    oxum = f"{len(AUDIO) + 10}.2"
    info = f"Source-Organization: Sound archive\nPayload-Oxum: {oxum}\n"
    (base / "bag-info.txt").write_bytes(info.encode())
    _seal(base)
    return base


@pytest.fixture
def observed() -> Callable[..., tuple[Observation, ...]]:
    def observe(base: Path, caps: Caps = DEFAULT_CAPS) -> tuple[Observation, ...]:
        with open_bag(base, caps) as bag:
            return bag.facts.observations

    return observe
