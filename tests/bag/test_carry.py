"""Carrying a package to another disk: nothing half-made, nothing believed, nothing copied twice."""

import errno
import hashlib
import os
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tailsout.bag.carry import Carried, Proof, carry
from tailsout.bag.disk import Disk
from tailsout.bag.open import open_bag
from tailsout.ground.errors import (
    MaterialError,
    RefusedError,
    SurroundingsError,
    ToldToEndError,
    UnprovedError,
)
from tailsout.ground.findings import Verdict
from tailsout.ground.progress import Silent


def passes(_place: Path) -> Proof:
    return Proof(verdict=Verdict.PASS, digests={})


def go(
    bag: Path,
    drive: Path,
    *,
    disk: Disk | None = None,
    judge: Callable[[Path], Proof] = passes,
    progress: Any = None,
    resume: bool = False,
) -> Carried:
    with open_bag(bag) as opened:
        return carry(
            opened,
            drive,
            disk=disk or Disk(),
            judge=judge,
            software="tailsout test",
            progress=progress or Silent(),
            resume=resume,
        )


def octets(base: Path) -> dict[str, bytes]:
    return {
        p.relative_to(base).as_posix(): p.read_bytes()
        for p in sorted(base.rglob("*"))
        if p.is_file()
    }


@pytest.fixture
def drive(tmp_path: Path) -> Path:
    place = tmp_path / "drive"
    place.mkdir()
    return place


@pytest.fixture
def large(good_bag: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Its audio is worth being written down as finished."""
    monkeypatch.setattr("tailsout.bag.carry._LARGE", 1000)
    return good_bag


def test_every_octet_comes_over_and_nothing_else_is_left(good_bag: Path, drive: Path) -> None:
    before = octets(good_bag)
    done = go(good_bag, drive)
    assert octets(drive / "reel-0001") == before == octets(good_bag)
    assert [p.name for p in drive.iterdir()] == ["reel-0001"]
    assert (done.path, done.was_there) == (drive / "reel-0001", False)
    assert done.octets == sum(map(len, before.values()))


def test_the_digests_of_both_sides_are_kept(good_bag: Path, drive: Path) -> None:
    done = go(good_bag, drive)
    there = {f.path: f.there for f in done.files}
    assert there == {
        path: hashlib.sha512(one).hexdigest() for path, one in octets(good_bag).items()
    }
    assert there == {f.path: f.here for f in done.files}


def test_what_the_judge_took_is_not_read_again(good_bag: Path, drive: Path) -> None:
    lies = {path: {"sha512": "0" * 128} for path in octets(good_bag)}
    with pytest.raises(MaterialError, match="reads back otherwise than it was written"):
        go(good_bag, drive, judge=lambda _: Proof(verdict=Verdict.PASS, digests=lies))
    assert list(drive.iterdir()) == []


def test_nothing_is_named_that_the_judge_does_not_let_pass(good_bag: Path, drive: Path) -> None:
    seen = []

    def judge(place: Path) -> Proof:
        seen.append(place.name)
        return Proof(verdict=Verdict.FAIL, digests={})

    with pytest.raises(MaterialError, match="judged 'fail' where it was carried to"):
        go(good_bag, drive, judge=judge)
    assert seen == [".reel-0001.part"]
    assert list(drive.iterdir()) == []


def test_what_could_not_be_read_back_has_no_name(good_bag: Path, drive: Path) -> None:
    with pytest.raises(UnprovedError, match="could not be read back whole"):
        go(good_bag, drive, judge=lambda _: Proof(verdict=Verdict.NOT_EXAMINED, digests={}))
    assert not (drive / "reel-0001").exists()


class Lying(Disk):
    """Keeps one octet otherwise than it was given."""

    def write(self, descriptor: int, block: memoryview) -> int:
        flipped = bytes(block[:-1]) + bytes([block[-1] ^ 1])
        return super().write(descriptor, memoryview(flipped))


def test_a_disk_that_keeps_something_else_is_found_out(good_bag: Path, drive: Path) -> None:
    with pytest.raises(MaterialError, match="Do not trust that disk"):
        go(good_bag, drive, disk=Lying())
    assert not (drive / "reel-0001").exists()


class Changing:
    """Writes to the package while it is read."""

    def __init__(self, path: Path) -> None:
        self._path = path

    def begin(self, doing: str, octets: int) -> None: ...

    def advance(self, octets: int) -> None:
        self._path.write_bytes(self._path.read_bytes() + b".")

    def say(self, line: str) -> None: ...


def test_a_package_that_changes_while_it_is_read(good_bag: Path, drive: Path) -> None:
    path = good_bag / "data/note.txt"
    with pytest.raises(SurroundingsError, match=r"changed while it was read"):
        go(good_bag, drive, progress=Changing(path))
    assert list(drive.iterdir()) == []


def test_a_name_that_is_taken(good_bag: Path, drive: Path) -> None:
    go(good_bag, drive)
    with pytest.raises(RefusedError, match="is there already"):
        go(good_bag, drive)


def test_what_stands_whole_is_proved_and_not_copied_again(good_bag: Path, drive: Path) -> None:
    go(good_bag, drive)
    judged = []

    class Watching(Disk):
        def create(self, path: Path) -> int:
            raise AssertionError(path)

    def judge(place: Path) -> Proof:
        judged.append(place.name)
        return passes(place)

    done = go(good_bag, drive, disk=Watching(), judge=judge, resume=True)
    assert done.was_there
    assert judged == ["reel-0001"]


@pytest.mark.parametrize("change", ["octet", "length", "more"])
def test_another_package_of_that_name_is_not_taken_for_this_one(
    good_bag: Path, drive: Path, change: str
) -> None:
    go(good_bag, drive)
    note = drive / "reel-0001/data/note.txt"
    if change == "more":
        (drive / "reel-0001/data/more.txt").write_bytes(b"")
    else:
        note.write_bytes(b"TAILS OUT\n" if change == "octet" else b"tails\n")
    with pytest.raises(MaterialError):
        go(good_bag, drive, resume=True)


class Ending(Disk):
    """Acts before the n-th call that writes: the device fails, or the program is told to end."""

    calls = (
        *("make_directory", "set_mode", "create", "write", "sync_file", "close", "remove"),
        *("sync_directory", "rename_no_replace", "append_line", "remove_tree"),
    )

    def __init__(self, at: int, error: BaseException) -> None:
        super().__init__()
        self.count, self._at, self._error = 0, at, error

    def __getattribute__(self, name: str) -> Any:
        found = object.__getattribute__(self, name)
        if name not in Ending.calls:
            return found

        def counted(*given: Any, **named: Any) -> Any:
            # Once it went, the device stays away.
            if self.count >= self._at:
                raise self._error
            self.count += 1
            return found(*given, **named)

        return counted


PULLED = OSError(errno.EIO, os.strerror(errno.EIO))


@pytest.mark.parametrize(("at", "error"), [(0, PULLED), (1, ToldToEndError())])
def test_cut_off_before_any_call_it_is_whole_or_nameless_and_can_be_resumed(
    large: Path, tmp_path: Path, at: int, error: BaseException
) -> None:
    """Each of the two at every other call: what one leaves, the other could have left."""
    whole = octets(large)
    while True:
        drive = tmp_path / f"drive-{at}"
        drive.mkdir()
        try:
            go(large, drive, disk=Ending(at, error))
        except (SurroundingsError, ToldToEndError):
            if (drive / "reel-0001").exists():
                assert octets(drive / "reel-0001") == whole
        else:
            break
        go(large, drive, resume=True)
        assert octets(drive) == {f"reel-0001/{path}": one for path, one in whole.items()}
        at += 2
    assert at > 25


class PulledAt(Disk):
    """Is pulled when a file of that name is to be made."""

    def __init__(self, name: str = "note.txt") -> None:
        super().__init__()
        self._name, self._gone = name, False

    def create(self, path: Path) -> int:
        self._gone = self._gone or path.name == self._name
        if self._gone:
            raise PULLED
        return super().create(path)


def test_finished_files_are_kept(large: Path, drive: Path) -> None:
    with pytest.raises(SurroundingsError, match=r"Carrying reel-0001 to .* failed: Input/output"):
        go(large, drive, disk=PulledAt())
    journal = (drive / ".reel-0001.part.journal").read_bytes()
    assert journal.count(b"reel.wav") == 1
    made = []

    class Watching(Disk):
        def create(self, path: Path) -> int:
            made.append(path.name)
            return super().create(path)

    go(large, drive, disk=Watching(), resume=True)
    assert "reel.wav" not in made
    assert "note.txt" in made


def test_finished_files_are_not_believed(large: Path, drive: Path) -> None:
    with pytest.raises(SurroundingsError):
        go(large, drive, disk=PulledAt())
    kept = drive / ".reel-0001.part/data/audio/reel.wav"
    kept.write_bytes(kept.read_bytes()[:-1] + b"?")
    go(large, drive, resume=True)
    assert octets(drive / "reel-0001") == octets(large)


def test_nothing_of_another_package_is_kept(large: Path, drive: Path, seal: Any) -> None:
    with pytest.raises(SurroundingsError):
        go(large, drive, disk=PulledAt())
    (large / "data/audio/reel.wav").write_bytes(os.urandom(10240))
    seal(large)
    go(large, drive, resume=True)
    assert octets(drive / "reel-0001") == octets(large)


def test_work_that_was_left_is_not_lost_unasked(large: Path, drive: Path) -> None:
    with pytest.raises(SurroundingsError):
        go(large, drive, disk=PulledAt())
    with pytest.raises(SurroundingsError, match="cut off left"):
        go(large, drive)


def test_a_file_system_without_modes_takes_a_package(
    good_bag: Path, drive: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """FAT on Linux refuses its owner a mode that it cannot keep: EPERM (from memory, fat(5))."""

    def refuse(*_given: object) -> None:
        raise PermissionError(errno.EPERM, os.strerror(errno.EPERM))

    monkeypatch.setattr(os, "fchmod", refuse)
    monkeypatch.setattr(Path, "chmod", refuse)
    go(good_bag, drive)
    assert octets(drive / "reel-0001") == octets(good_bag)
