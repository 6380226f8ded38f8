"""Where something complete is to stand: never over anything, never without room."""

import errno
import os
from pathlib import Path

import pytest

from tailsout.bag.disk import Disk
from tailsout.bag.place import check_room, commit, make_parents, refuse_if_there
from tailsout.ground.errors import RefusedError, SurroundingsError


@pytest.mark.parametrize("stands", ["file", "folder", "dangling"])
def test_nothing_is_replaced(tmp_path: Path, stands: str) -> None:
    place, staged = tmp_path / "SKL-0007", tmp_path / "staged"
    refuse_if_there(place, Disk())
    staged.mkdir()
    if stands == "dangling":
        place.symlink_to("none")
    elif stands == "folder":
        place.mkdir()
    else:
        place.touch()
    with pytest.raises(RefusedError, match="is there already"):
        refuse_if_there(place, Disk())
    with pytest.raises(RefusedError, match="came to be"):
        commit(staged, place, Disk())
    assert staged.is_dir()


def test_folders_on_the_way_are_made_and_synced(tmp_path: Path) -> None:
    synced = []

    class Watching(Disk):
        def sync_directory(self, path: Path) -> None:
            synced.append(path)
            super().sync_directory(path)

    make_parents(tmp_path / "a" / "b", Watching())
    assert (tmp_path / "a" / "b").is_dir()
    assert synced == [tmp_path, tmp_path / "a"]
    make_parents(tmp_path / "a" / "b", Watching())
    assert len(synced) == 2


def test_room_is_asked_for_with_some_to_spare(tmp_path: Path) -> None:
    class Small(Disk):
        def free_octets(self, path: Path) -> int:
            return 112_000_000

    check_room(100_000_000, tmp_path, Small())
    with pytest.raises(SurroundingsError, match="are needed"):
        check_room(100_000_001, tmp_path, Small())


def test_a_name_that_may_not_last_is_told(tmp_path: Path) -> None:
    class Failing(Disk):
        def sync_directory(self, path: Path) -> None:
            raise OSError(errno.EIO, os.strerror(errno.EIO))

    (tmp_path / "staged").mkdir()
    with pytest.raises(SurroundingsError, match="stands complete"):
        commit(tmp_path / "staged", tmp_path / "SKL-0007", Failing())
    assert (tmp_path / "SKL-0007").is_dir()
