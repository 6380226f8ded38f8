"""By what a bag is known again: whatever is written to it shows, and reading it does not."""

import os
from collections.abc import Callable
from pathlib import Path

import pytest

from tailsout.bag.open import OpenBag, open_bag
from tailsout.bag.seen import seen_of
from tailsout.ground.errors import SurroundingsError
from tailsout.records.seen import Seen


def seen(base: Path) -> Seen | None:
    with open_bag(base) as bag:
        return seen_of(bag)


def test_reading_alters_nothing(good_bag: Path) -> None:
    before = seen(good_bag)
    (good_bag / "data/note.txt").read_bytes()
    assert before == seen(good_bag)
    assert before is not None
    assert set(before.tag_files) == {
        "bagit.txt",
        *(place.name for place in good_bag.glob("*manifest-*.txt")),
    }


def grown(note: Path) -> None:
    with note.open("ab") as out:
        out.write(b"x")


def written_and_dated_back(note: Path) -> None:
    """Size and time of change are put back; the time of the change of status cannot be."""
    status = note.stat()
    note.write_bytes(note.read_bytes()[::-1])
    os.utime(note, ns=(status.st_atime_ns, status.st_mtime_ns))


def touched(note: Path) -> None:
    os.utime(note, ns=(1, 1))


def named_otherwise(note: Path) -> None:
    note.rename(note.with_name("other.txt"))


def beside_a_link(note: Path) -> None:
    note.with_name("link").symlink_to(note)


def beside_an_empty_folder(note: Path) -> None:
    note.with_name("empty").mkdir()


def in_a_manifest(note: Path) -> None:
    grown(note.parents[1] / "manifest-sha256.txt")


CHANGES = [
    grown,
    written_and_dated_back,
    touched,
    named_otherwise,
    beside_a_link,
    beside_an_empty_folder,
    in_a_manifest,
    Path.unlink,
]


@pytest.mark.parametrize("change", CHANGES)
def test_every_change_shows(good_bag: Path, change: Callable[[Path], None]) -> None:
    before = seen(good_bag)
    change(good_bag / "data/note.txt")
    assert seen(good_bag) != before


def test_a_manifest_that_was_altered_with_all_times_as_before_shows_by_its_digest(
    good_bag: Path,
) -> None:
    with open_bag(good_bag) as bag:
        before = seen_of(bag)
        (good_bag / "manifest-sha256.txt").write_bytes(b"")
        after = seen_of(bag)
    assert before is not None
    assert after is not None
    assert before.listing_sha256 == after.listing_sha256
    assert before.tag_files != after.tag_files


def test_what_cannot_be_read_is_not_known_again(
    good_bag: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fails(*_: object) -> bytes:
        raise SurroundingsError("Reading it failed.")

    monkeypatch.setattr(OpenBag, "read", fails)
    assert seen(good_bag) is None
