"""Jobs closed, packages amended, strangers' bags; and ways to disturb a close."""

import errno
import hashlib
import os
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

import pytest

from tailsout.bag.disk import Disk


class Acting:
    """Counts what it is told; acts once, at the first octets that pass in a stretch of work."""

    def __init__(self, when: str, act: Callable[[], object]) -> None:
        self.when, self.act = when, act
        self.doing = ""
        self.lines: list[str] = []
        self.acted = False

    def begin(self, doing: str, octets: int) -> None:
        self.doing = doing

    def advance(self, octets: int) -> None:
        if self.doing.startswith(self.when) and not self.acted:
            self.acted = True
            self.act()

    def say(self, line: str) -> None:
        self.lines.append(line)


class FullDisk(Disk):
    """Takes so many octets, then is full."""

    def __init__(self, octets: int) -> None:
        super().__init__()
        self.octets_left = octets

    def write(self, descriptor: int, block: memoryview) -> int:
        if self.octets_left <= 0:
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
        written = super().write(descriptor, block[: self.octets_left])
        self.octets_left -= written
        return written


@pytest.fixture
def acting() -> Callable[..., Any]:
    return Acting


@pytest.fixture
def full_disk() -> Callable[[int], Disk]:
    return FullDisk


@pytest.fixture
def bag_of(tmp_path: Path) -> Callable[[Mapping[str, bytes]], Path]:
    """A bag of somebody else's, its manifest in order (RFC 8493 §2)."""

    def make(files: Mapping[str, bytes]) -> Path:
        base = tmp_path / "theirs"
        for path, content in files.items():
            place = base / path
            place.parent.mkdir(parents=True, exist_ok=True)
            place.write_bytes(content)
        (base / "bagit.txt").write_text("BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n")
        lines = [f"{hashlib.sha256(one).hexdigest()}  {path}\n" for path, one in files.items()]
        (base / "manifest-sha256.txt").write_text("".join(lines))
        return base

    return make


@pytest.fixture
def close_job(bench: Any, around: Callable[..., Any]) -> Callable[..., Any]:
    """Close the job; of what work may only read nothing is changed."""
    from tailsout.work.close_out import close  # noqa: PLC0415  it loads the meters

    def call(**how: Any) -> Any:
        before = bench.sources()
        outcome = close(bench.job, bench.out, around(), **how)
        after = {k: v for k, v in bench.sources().items() if "/logbook" not in k}
        assert after == before
        return outcome

    return call


@pytest.fixture
def amend_package(bench: Any, around: Callable[..., Any]) -> Callable[..., Path]:
    """Amend the package of the job by the lines of a form; return the new version."""
    from tailsout.work.amend import amend  # noqa: PLC0415  it loads the meters

    def call(*lines: str) -> Path:
        form = bench.root / "amendment.toml"
        head = 'by = "isolde"\non = 2026-05-02\nwhy = "a letter"\n'
        form.write_text(head + "\n".join(lines) + "\n")
        done = amend(bench.package, form, bench.out, around()).outcome
        assert done.built is not None, done.judgement.findings
        place: Path = done.built.path
        return place

    return call
