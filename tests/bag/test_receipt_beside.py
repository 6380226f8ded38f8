"""The file that lies beside a package under the name of its receipt."""

import os
from collections.abc import Callable
from pathlib import Path

import pytest

from tailsout.bag import receipt_beside
from tailsout.bag.receipt_beside import Found, find

NAME = "reel-0001.receipt.json"


def test_beside_a_folder_and_beside_an_archive(good_bag: Path) -> None:
    assert find(good_bag) is None
    good_bag.with_name(NAME).write_bytes(b"{}")
    found = Found(name=NAME, package="reel-0001", content=b"{}")
    assert find(good_bag) == found
    for ending in ("tar", "tar.gz", "zip"):
        archive = good_bag.with_name(f"reel-0001.{ending}")
        archive.write_bytes(b"x")
        assert find(archive) == found
    # The ending of an archive is part of a folder's name.
    folder = good_bag.with_name("reel-0001.tgz")
    folder.mkdir()
    assert find(folder) is None


def test_beside_what_a_link_leads_to(good_bag: Path, tmp_path: Path) -> None:
    good_bag.with_name(NAME).write_bytes(b"{}")
    (tmp_path / "shelf").mkdir()
    (tmp_path / "shelf/today").symlink_to(good_bag)
    assert find(tmp_path / "shelf/today") == find(good_bag) is not None


def linked(place: Path) -> None:
    (place.parent / "other").write_bytes(b"{}")
    place.symlink_to("other")


@pytest.mark.parametrize("lay", [linked, os.mkfifo, Path.mkdir])
def test_what_is_no_file_is_not_opened(good_bag: Path, lay: Callable[[Path], object]) -> None:
    lay(good_bag.with_name(NAME))
    assert find(good_bag) == Found(name=NAME, package="reel-0001", content=b"")


def test_one_larger_than_any_receipt_is_not_read(
    good_bag: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    good_bag.with_name(NAME).write_bytes(b"123")
    monkeypatch.setattr(receipt_beside, "_MOST_OCTETS", 3)
    found = find(good_bag)
    assert found is not None
    assert found.content == b"123"
    monkeypatch.setattr(receipt_beside, "_MOST_OCTETS", 2)
    assert find(good_bag) == Found(name=NAME, package="reel-0001", content=b"")


@pytest.mark.parametrize("path", ["nowhere", "no/where", "x" * 300, "/"])
def test_a_path_where_there_is_no_package(tmp_path: Path, path: str) -> None:
    assert find(tmp_path / path) is None
