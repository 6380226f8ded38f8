"""Archives put together octet by octet, so that reader and writer are tested apart."""

import errno
import os
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

import pytest

from tailsout.bag.archive.limits import LIMITS, Limits
from tailsout.bag.archive.open import ArchivedBag, open_archive
from tailsout.bag.disk import Disk
from tailsout.ground.findings import Judgement
from tailsout.ground.progress import Silent
from tailsout.work.check import check

BASE = "reel-0001"


class Tar:
    """Blocks of a tar: POSIX.1-2017, utility pax, ustar Interchange Format."""

    END = bytes(1024)

    @staticmethod
    def header(
        name: bytes,
        octets: int = 0,
        flag: bytes = b"0",
        *,
        prefix: bytes = b"",
        magic: bytes = b"ustar\x0000",
        size: bytes | None = None,
        mode: bytes = b"0000644\0",
        time: bytes = b"00000000000\0",
        checksum: int | None = None,
        link: bytes = b"",
    ) -> bytes:
        block = bytearray(512)
        block[0:100] = name.ljust(100, b"\0")
        block[100:108] = mode
        block[108:124] = b"0000000\0" * 2
        block[124:136] = b"%011o\0" % octets if size is None else size
        block[136:148] = time
        block[148:156] = b" " * 8
        block[156:157] = flag
        block[157:257] = link.ljust(100, b"\0")
        block[257:265] = magic
        block[345:500] = prefix.ljust(155, b"\0")
        block[148:156] = b"%06o\0 " % (sum(block) if checksum is None else checksum)
        return bytes(block)

    @classmethod
    def member(cls, name: bytes, content: bytes = b"", flag: bytes = b"0", **more: Any) -> bytes:
        filling = bytes(-len(content) % 512)
        return cls.header(name, len(content), flag, **more) + content + filling

    @classmethod
    def records(cls, *pairs: tuple[bytes, bytes], flag: bytes = b"x") -> bytes:
        content = b"".join(cls.record(*pair) for pair in pairs)
        return cls.member(b"././@PaxHeader", content, flag)

    @staticmethod
    def record(key: bytes, value: bytes) -> bytes:
        rest = b" " + key + b"=" + value + b"\n"
        length = len(rest)
        while len(b"%d" % length) + len(rest) != length:
            length = len(b"%d" % length) + len(rest)
        return b"%d" % length + rest

    @classmethod
    def files(cls, content: Mapping[str, bytes]) -> bytes:
        return b"".join(cls.member(f"{BASE}/{n}".encode(), c) for n, c in content.items())


@pytest.fixture
def tar() -> type[Tar]:
    return Tar


@pytest.fixture
def good_bag(good_bag: Path, seal: Callable[..., None]) -> Path:
    """Without anything called an audio file, of which more would be asked."""
    (good_bag / "data/audio/reel.wav").rename(good_bag / "data/audio/reel.dat")
    seal(good_bag)
    return good_bag


@pytest.fixture
def content(good_bag: Path) -> dict[str, bytes]:
    """The files of the good bag by path."""
    files = sorted(path for path in good_bag.rglob("*") if path.is_file())
    return {path.relative_to(good_bag).as_posix(): path.read_bytes() for path in files}


@pytest.fixture
def good_tar(content: dict[str, bytes]) -> bytes:
    """The good bag in a tar, without its end."""
    return Tar.files(content)


@pytest.fixture
def put(tmp_path: Path) -> Callable[..., Path]:
    def write(octets: bytes, name: str = f"{BASE}.tar") -> Path:
        path = tmp_path / "in" / name
        path.parent.mkdir(exist_ok=True)
        path.write_bytes(octets)
        return path

    return write


@pytest.fixture
def judged(put: Callable[..., Path]) -> Callable[..., Judgement]:
    """Judge octets by the code that judges folders."""

    def judge(octets: bytes, name: str = f"{BASE}.tar") -> Judgement:
        return check(put(octets, name), Silent()).judgement

    return judge


@pytest.fixture
def found(put: Callable[..., Path]) -> Callable[..., dict[str, str]]:
    """What is observed of an archive, by word, with its text."""

    def look(octets: bytes, name: str = f"{BASE}.tar", limits: Limits = LIMITS) -> dict[str, str]:
        with open_archive(put(octets, name), Silent(), limits=limits) as bag:
            return {one.kind: one.text for one in bag.facts.observations}

    return look


@pytest.fixture
def opened(put: Callable[..., Path]) -> Callable[..., ArchivedBag]:
    def start(octets: bytes, name: str = f"{BASE}.tar", limits: Limits = LIMITS) -> ArchivedBag:
        return open_archive(put(octets, name), Silent(), limits=limits)

    return start


@pytest.fixture(
    params=[
        *("make_directory", "create", "write", "sync_file", "close", "sync_directory"),
        *("rename_no_replace", "lock"),
    ]
)
def failing(request: pytest.FixtureRequest) -> Callable[[int], Disk]:
    """Makes a disk on which one call finds no room, at the n-th time."""

    def make(times: int) -> Disk:
        class Failing(Disk):
            left = times

        def call(self: Any, *arguments: Any) -> Any:
            self.left -= 1
            if self.left == 0:
                raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
            return getattr(Disk, request.param)(self, *arguments)

        setattr(Failing, request.param, call)
        return Failing()

    return make
