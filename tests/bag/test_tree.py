"""Descent without links: A08 to A11, A13, A19."""

import os
import threading
from collections.abc import Callable
from pathlib import Path

import pytest

from tailsout.bag import tree
from tailsout.bag.notes import Caps
from tailsout.bag.open import open_bag
from tailsout.bag.tree import Tree
from tailsout.ground.errors import MaterialError, NoFileError, SurroundingsError, TailsoutError


def test_the_walk_is_in_order_and_stops_at_its_limits(tmp_path: Path) -> None:
    for name in ("b/2", "b/1", "a/x/y"):
        (tmp_path / name).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / name).touch()
    one = Tree(tmp_path)
    walked = [(met.path, met.sort, met.entries) for met in one.walk(Caps(depth=3))]
    assert walked == [
        ("a", "directory", 1),
        ("a/x", "directory", 1),
        ("a/x/y", "file", 0),
        ("b", "directory", 2),
        ("b/1", "file", 0),
        ("b/2", "file", 0),
    ]
    assert [(met.path, met.sort) for met in one.walk(Caps(depth=2))][1:2] == [("a/x", "too deep")]
    assert list(one.walk(Caps(entries=6)))[-1].sort == "file"
    assert list(one.walk(Caps(entries=5)))[-1].sort == "too many"
    one.close()
    one.close()


def test_no_descriptor_is_left_open(good_bag: Path) -> None:
    before = sorted(Path("/proc/self/fd").iterdir())
    with open_bag(good_bag) as bag:
        bag.read("data/note.txt", 99)
        for path in ("data", "data/none", "data/note.txt/x", "../x"):
            with pytest.raises(TailsoutError):
                bag.read(path, 99)
    assert sorted(Path("/proc/self/fd").iterdir()) == before


@pytest.mark.parametrize("descriptors", [True, False])
def test_links_and_pipes_are_not_opened(
    good_bag: Path, monkeypatch: pytest.MonkeyPatch, descriptors: bool
) -> None:
    if not descriptors:
        monkeypatch.setattr(tree, "HAS_DESCRIPTORS", False)
    (good_bag / "data/d").symlink_to("/etc")
    (good_bag / "data/f").symlink_to("/etc/hostname")
    os.mkfifo(good_bag / "data/p")
    with open_bag(good_bag) as bag:
        for path in ("data/f", "data/p", "data/d/hostname"):
            with pytest.raises(NoFileError):
                bag.stream(path)
        with pytest.raises(SurroundingsError):
            bag.stream("data/none")
        assert bag.read("data/note.txt", 99) == b"tails out\n"


def test_a_system_without_directory_descriptors_sees_the_same(
    good_bag: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (good_bag / "data/d").symlink_to("/etc")
    (good_bag / "data/a/b").mkdir(parents=True)
    (good_bag / "data/a/b/c").touch()
    (good_bag / os.fsdecode(b"data/\xff")).touch()
    os.mkfifo(good_bag / "data/p")
    with open_bag(good_bag) as bag:
        expected = bag.facts
    monkeypatch.setattr(tree, "HAS_DESCRIPTORS", False)
    with open_bag(good_bag) as bag:
        assert bag.facts == expected


def to_link(place: Path) -> None:
    place.unlink()
    place.symlink_to("audio/reel.wav")


def to_pipe(place: Path) -> None:
    place.unlink()
    os.mkfifo(place)


@pytest.mark.parametrize("change", [to_link, to_pipe])
def test_what_takes_a_file_s_place_between_look_and_open(
    good_bag: Path,
    monkeypatch: pytest.MonkeyPatch,
    change: Callable[[Path], None],
) -> None:
    """A13 at the one moment that counts: no link is followed, no pipe waited for."""
    look = tree._stat

    def slow(place: int | Path, name: str) -> os.stat_result:
        status = look(place, name)
        change(good_bag / "data" / "note.txt")
        return status

    before = sorted(Path("/proc/self/fd").iterdir())
    with open_bag(good_bag) as bag:
        monkeypatch.setattr(tree, "_stat", slow)
        with pytest.raises(NoFileError):
            bag.stream("data/note.txt")
    assert sorted(Path("/proc/self/fd").iterdir()) == before


@pytest.mark.parametrize("path", ["data\\..\\..\\x", "data/C:x", "data/a.wav:s"])
def test_where_the_backslash_parts_paths(monkeypatch: pytest.MonkeyPatch, path: str) -> None:
    tree._check_parts(path)
    monkeypatch.setattr(os, "sep", "\\")
    with pytest.raises(MaterialError):
        tree._check_parts(path)


def test_a_link_put_in_place_of_a_file_meanwhile(good_bag: Path) -> None:
    """A13: whatever wins the race, the octets are the file's or none."""
    (good_bag.parent / "secret").write_bytes(b"secret")
    place, spare = good_bag / "data" / "note.txt", good_bag.parent / "spare"
    done = threading.Event()

    def flip() -> None:
        while not done.is_set():
            place.rename(spare)
            place.symlink_to(good_bag.parent / "secret")
            place.unlink()
            spare.rename(place)

    with open_bag(good_bag) as bag:
        thread = threading.Thread(target=flip)
        thread.start()
        try:
            for _ in range(300):
                try:
                    assert bag.read("data/note.txt", 99) == b"tails out\n"
                except TailsoutError:
                    continue
        finally:
            done.set()
            thread.join()
