"""The only writer: order of its calls, what it refuses, and systems that lack a call (J05, J08)."""

import ctypes
import errno
import os
import stat
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from tailsout.bag import disk as disk_module
from tailsout.bag.disk import NO_LOCK, Disk
from tailsout.ground.errors import RefusedError, SurroundingsError


@pytest.fixture(params=[0o000, 0o022, 0o077, 0o777])
def umask(request: pytest.FixtureRequest) -> Iterator[int]:
    old = os.umask(request.param)
    yield int(request.param)
    os.umask(old)


def mode(path: Path) -> int:
    return stat.S_IMODE(path.stat().st_mode)


def test_modes_do_not_depend_on_the_umask(tmp_path: Path, umask: int) -> None:
    disk = Disk()
    disk.make_directory(tmp_path / "d")
    disk.make_directory(tmp_path / "s", 0o700)
    disk.close(disk.create(tmp_path / "f"))
    disk.write_beside(tmp_path / "b", b"x")
    modes = {name: mode(tmp_path / name) for name in "dsfb"}
    assert modes == {"d": 0o755, "s": 0o700, "f": 0o644, "b": 0o644}


@pytest.mark.parametrize("stands", ["file", "link", "dangling", "directory"])
def test_create_never_opens_what_is_there(tmp_path: Path, stands: str) -> None:
    place, other = tmp_path / "f", tmp_path / "other"
    other.write_bytes(b"precious")
    if stands == "file":
        place.write_bytes(b"precious")
    elif stands == "directory":
        place.mkdir()
    else:
        place.symlink_to("other" if stands == "link" else "none")
    with pytest.raises(FileExistsError):
        Disk().create(place)
    assert other.read_bytes() == b"precious"
    assert not (tmp_path / "none").exists()


def test_a_short_write_is_continued(tmp_path: Path) -> None:
    class Short(Disk):
        def write(self, descriptor: int, block: memoryview) -> int:
            return super().write(descriptor, block[:3])

    disk = Short()
    descriptor = disk.create(tmp_path / "f")
    disk.write_all(descriptor, b"abcdefgh")
    disk.write_all(descriptor, b"")
    disk.close(descriptor)
    assert (tmp_path / "f").read_bytes() == b"abcdefgh"


@pytest.mark.parametrize("native", [True, False])
@pytest.mark.parametrize("stands", ["nothing", "empty directory", "file", "dangling"])
def test_rename_never_replaces(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, native: bool, stands: str
) -> None:
    if not native:
        monkeypatch.setattr(disk_module, "_renameat2", None)
    source, target = tmp_path / "s", tmp_path / "t"
    source.mkdir()
    if stands == "empty directory":
        target.mkdir()
    elif stands == "file":
        target.touch()
    elif stands == "dangling":
        target.symlink_to("none")
    if stands == "nothing":
        Disk().rename_no_replace(source, target)
        assert target.is_dir()
        assert not source.exists()
    else:
        with pytest.raises(FileExistsError):
            Disk().rename_no_replace(source, target)
        assert source.is_dir()


def test_a_file_system_without_the_rename_falls_back(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse(*_arguments: object) -> int:
        ctypes.set_errno(errno.EINVAL)
        return -1

    monkeypatch.setattr(disk_module, "_renameat2", refuse)
    (tmp_path / "s").mkdir()
    Disk().rename_no_replace(tmp_path / "s", tmp_path / "t")
    assert (tmp_path / "t").is_dir()


def test_rename_reports_what_the_system_says(tmp_path: Path) -> None:
    with pytest.raises(FileNotFoundError):
        Disk().rename_no_replace(tmp_path / "none", tmp_path / "t")


def test_a_system_without_the_call() -> None:
    assert disk_module._find_renameat2() is not None


def test_a_system_without_that_library(monkeypatch: pytest.MonkeyPatch) -> None:
    def none(*_arguments: Any, **_named: Any) -> Any:
        raise OSError

    monkeypatch.setattr(ctypes, "CDLL", none)
    assert disk_module._find_renameat2() is None


def test_a_lock_holds_until_released(tmp_path: Path) -> None:
    disk = Disk()
    lock = disk.lock(tmp_path)
    with pytest.raises(BlockingIOError):
        Disk().lock(tmp_path)
    disk.release(lock)
    disk.release(Disk().lock(tmp_path))


def test_a_lock_on_what_was_replaced_meanwhile_is_none(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    place = tmp_path / "s"
    place.mkdir()
    flock = disk_module.fcntl.flock

    def slow(descriptor: int, how: int) -> None:
        place.rename(tmp_path / "old")
        place.mkdir()
        flock(descriptor, how)

    monkeypatch.setattr(disk_module.fcntl, "flock", slow)
    with pytest.raises(FileNotFoundError):
        Disk().lock(place)


def test_a_link_or_file_is_not_locked(tmp_path: Path) -> None:
    (tmp_path / "d").mkdir()
    (tmp_path / "l").symlink_to("d")
    (tmp_path / "f").touch()
    for name in "lf":
        with pytest.raises(OSError, match=r"Not a directory|symbolic links"):
            Disk().lock(tmp_path / name)


@pytest.mark.parametrize("code", [errno.ENOLCK, errno.ENOTSUP])
def test_a_file_system_without_locks(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, code: int
) -> None:
    def refuse(*_arguments: object) -> None:
        raise OSError(code, os.strerror(code))

    monkeypatch.setattr(disk_module.fcntl, "flock", refuse)
    assert Disk().lock(tmp_path) == NO_LOCK
    Disk().release(NO_LOCK)


def test_a_system_without_locks(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(disk_module, "fcntl", None)
    disk = Disk()
    assert disk.lock(tmp_path) == NO_LOCK
    disk.write_beside(tmp_path / "f", b"x")
    assert (tmp_path / "f").read_bytes() == b"x"


def test_a_system_with_a_full_sync_uses_it(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    calls: list[int] = []

    class Full:
        F_FULLFSYNC = 51

        @staticmethod
        def fcntl(_descriptor: int, command: int) -> None:
            calls.append(command)

    monkeypatch.setattr(disk_module, "fcntl", Full)
    Disk().write_beside(tmp_path / "f", b"x")
    assert calls == [51]


def test_durability_is_said_as_it_is(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    disk = Disk()
    disk.sync_directory(tmp_path)
    assert disk.durability == "fsynced"

    def refuse(_descriptor: int) -> None:
        raise OSError(errno.EINVAL, os.strerror(errno.EINVAL))

    monkeypatch.setattr(os, "fsync", refuse)
    disk.sync_directory(tmp_path)
    assert disk.durability == "best effort"


def test_a_fault_of_the_device_is_not_passed_over(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse(_descriptor: int) -> None:
        raise OSError(errno.EIO, os.strerror(errno.EIO))

    monkeypatch.setattr(os, "fsync", refuse)
    with pytest.raises(OSError, match=os.strerror(errno.EIO)):
        Disk().sync_directory(tmp_path)


def test_a_system_without_directory_sync(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(disk_module, "_SYNCS_DIRECTORIES", False)
    disk = Disk()
    disk.sync_directory(tmp_path / "none")
    assert disk.durability == "best effort"


def test_remove_tree_follows_no_link(tmp_path: Path) -> None:
    (tmp_path / "out").mkdir()
    (tmp_path / "out" / "f").touch()
    (tmp_path / "d").mkdir()
    (tmp_path / "d" / "l").symlink_to("../out")
    Disk().remove_tree(tmp_path / "d")
    assert (tmp_path / "out" / "f").exists()
    assert Disk().free_octets(tmp_path) > 0


# write_beside


def test_write_beside_is_whole_and_never_replaces(tmp_path: Path) -> None:
    place = tmp_path / "x.receipt.json"
    Disk().write_beside(place, b"one")
    with pytest.raises(RefusedError):
        Disk().write_beside(place, b"two")
    assert [p.name for p in tmp_path.iterdir()] == ["x.receipt.json"]
    assert place.read_bytes() == b"one"


def test_write_beside_drops_what_a_crash_left(tmp_path: Path) -> None:
    (tmp_path / ".f.part").write_bytes(b"half")
    Disk().write_beside(tmp_path / "f", b"whole")
    assert [(p.name, p.read_bytes()) for p in tmp_path.iterdir()] == [("f", b"whole")]


def test_write_beside_does_not_write_through_a_link(tmp_path: Path) -> None:
    (tmp_path / "other").write_bytes(b"precious")
    (tmp_path / ".f.part").symlink_to("other")
    with pytest.raises(SurroundingsError):
        Disk().write_beside(tmp_path / "f", b"x")
    assert (tmp_path / "other").read_bytes() == b"precious"


STEPS = ("create", "write", "sync_file", "close", "rename_no_replace", "sync_directory")


def failing(step: str, log: list[str]) -> Disk:
    class Failing(Disk):
        pass

    for name in STEPS:

        def call(self: Disk, *arguments: Any, name: str = name) -> Any:
            log.append(name)
            if name == step:
                raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
            return getattr(Disk, name)(self, *arguments)

        setattr(Failing, name, call)
    return Failing()


def test_write_beside_syncs_before_and_after_the_rename(tmp_path: Path) -> None:
    log: list[str] = []
    failing("none", log).write_beside(tmp_path / "f", b"x")
    assert tuple(log) == STEPS


@pytest.mark.parametrize("step", STEPS)
def test_write_beside_fails_clean(tmp_path: Path, step: str) -> None:
    with pytest.raises(SurroundingsError, match="disk is full"):
        failing(step, []).write_beside(tmp_path / "f", b"x")
    left = [p.name for p in tmp_path.iterdir()]
    # After the rename the file is whole; only its lasting is not confirmed.
    assert left == (["f"] if step == "sync_directory" else [])


def test_is_there_does_not_guess(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "l").symlink_to("none")
    assert Disk().is_there(tmp_path / "l")
    assert not Disk().is_there(tmp_path / "none")
    (tmp_path / "f").touch()
    with pytest.raises(NotADirectoryError):
        Disk().is_there(tmp_path / "f" / "x")


# append_line


def test_append_line_makes_the_file_and_adds_to_it(tmp_path: Path, umask: int) -> None:
    place = tmp_path / "f"
    Disk().append_line(place, b"one\n")
    Disk().append_line(place, b"two\n")
    assert place.read_bytes() == b"one\ntwo\n"
    assert mode(place) == 0o644


@pytest.mark.parametrize(
    ("there", "then"),
    [(b"", b"new\n"), (b"whole\n", b"whole\nnew\n"), (b"to", b"to\nnew\n"), (b"\n", b"\nnew\n")],
)
def test_append_line_ends_a_line_that_was_torn(tmp_path: Path, there: bytes, then: bytes) -> None:
    (tmp_path / "f").write_bytes(there)
    Disk().append_line(tmp_path / "f", b"new\n")
    assert (tmp_path / "f").read_bytes() == then


def test_append_line_goes_on_after_a_short_write(tmp_path: Path) -> None:
    class Short(Disk):
        def write(self, descriptor: int, block: memoryview) -> int:
            return super().write(descriptor, block[:3])

    (tmp_path / "f").write_bytes(b"torn")
    Short().append_line(tmp_path / "f", b"a whole line\n")
    assert (tmp_path / "f").read_bytes() == b"torn\na whole line\n"


def test_append_line_syncs_the_file_and_the_folder_of_a_new_one(tmp_path: Path) -> None:
    log: list[str] = []
    failing("none", log).append_line(tmp_path / "f", b"one\n")
    assert log == ["write", "sync_file", "close", "sync_directory"]
    log.clear()
    failing("none", log).append_line(tmp_path / "f", b"two\n")
    assert log == ["write", "sync_file", "close"]


def test_append_line_may_leave_it_to_the_system_when_to_write(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    for name in ("sync_file", "sync_directory"):
        monkeypatch.setattr(Disk, name, lambda *_: pytest.fail("it was synced"))
    for line in (b"one\n", b"two\n"):
        Disk().append_unsynced(tmp_path / "log", line)
    assert (tmp_path / "log").read_bytes() == b"one\ntwo\n"


@pytest.mark.parametrize("step", ["write", "sync_file", "close", "sync_directory"])
def test_append_line_says_what_the_system_says(tmp_path: Path, step: str) -> None:
    with pytest.raises(OSError, match=os.strerror(errno.ENOSPC)):
        failing(step, []).append_line(tmp_path / "f", b"one\n")


def test_append_line_keeps_the_mode_of_a_file_that_is_there(tmp_path: Path) -> None:
    (tmp_path / "f").touch()
    (tmp_path / "f").chmod(0o664)
    Disk().append_line(tmp_path / "f", b"one\n")
    assert mode(tmp_path / "f") == 0o664


def test_append_line_follows_no_link_and_needs_its_folder(tmp_path: Path) -> None:
    (tmp_path / "other").write_bytes(b"precious")
    (tmp_path / "f").symlink_to("other")
    with pytest.raises(OSError, match="symbolic links"):
        Disk().append_line(tmp_path / "f", b"x\n")
    assert (tmp_path / "other").read_bytes() == b"precious"
    with pytest.raises(FileNotFoundError):
        Disk().append_line(tmp_path / "none" / "f", b"x\n")
