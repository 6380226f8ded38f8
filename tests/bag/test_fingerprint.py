"""By what a bag is known again: whatever is written to it shows, and reading it does not."""

import os
import tarfile
from collections.abc import Callable
from pathlib import Path

import pytest

from tailsout.bag.archive.open import open_archive
from tailsout.bag.fingerprint import archive_fingerprint, fingerprint_of
from tailsout.bag.open import OpenBag, open_bag
from tailsout.bag.receipt_beside import find
from tailsout.ground.errors import SurroundingsError
from tailsout.ground.progress import Silent
from tailsout.records.fingerprint import Fingerprint


def seen(base: Path) -> Fingerprint | None:
    with open_bag(base) as bag:
        return fingerprint_of(bag)


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
        before = fingerprint_of(bag)
        (good_bag / "manifest-sha256.txt").write_bytes(b"")
        after = fingerprint_of(bag)
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


# Archives, and what lies beside


def tarred(bag: Path) -> Path:
    place = bag.with_name("reel-0001.tar")
    with tarfile.open(place, "w") as out:
        out.add(bag, bag.name)
    return place


def test_an_archive_is_known_by_its_file_alone(good_bag: Path) -> None:
    archive = tarred(good_bag)
    before = archive_fingerprint(archive)
    archive.read_bytes()
    assert before == archive_fingerprint(archive)
    assert before is not None
    assert (before.files, before.octets) == (1, archive.stat().st_size)
    with open_archive(archive, Silent()) as bag:
        assert fingerprint_of(bag) is None


def of_another_name(archive: Path) -> None:
    archive.rename(archive.with_name("other.tar")).rename(archive)


@pytest.mark.parametrize(
    "change", [grown, written_and_dated_back, touched, of_another_name, Path.unlink]
)
def test_every_change_of_an_archive_shows(good_bag: Path, change: Callable[[Path], object]) -> None:
    archive = tarred(good_bag)
    before = archive_fingerprint(archive)
    assert before is not None
    change(archive)
    assert archive_fingerprint(archive) != before


@pytest.mark.parametrize(
    "name", ["reel-0001.receipt.json", "reel-0001.tar.sha512", "reel-0001.tar.md5"]
)
def test_what_speaks_of_an_archive_belongs_to_it(good_bag: Path, name: str) -> None:
    archive = tarred(good_bag)
    place = archive.with_name(name)
    seen = [archive_fingerprint(archive)]
    for content in (b"", b"x"):
        place.write_bytes(content)
        seen.append(archive_fingerprint(archive))
    assert len({repr(one) for one in seen}) == 3
    assert None not in seen
    place.unlink()
    assert archive_fingerprint(archive) == seen[0]
    place.symlink_to("nowhere")
    assert archive_fingerprint(archive) != seen[0]


def test_a_receipt_belongs_to_the_folder_beside_it(good_bag: Path) -> None:
    place = good_bag.with_name("reel-0001.receipt.json")
    with open_bag(good_bag) as bag:
        without = fingerprint_of(bag, find(good_bag))
        place.write_bytes(b"x")
        beside = fingerprint_of(bag, find(good_bag))
        place.write_bytes(b"y")
        other = fingerprint_of(bag, find(good_bag))
    assert without != beside != other != without


def test_what_is_no_archive_is_not_known_as_one(tmp_path: Path, good_bag: Path) -> None:
    assert archive_fingerprint(good_bag) is None
    assert archive_fingerprint(tmp_path / "nowhere.tar") is None
