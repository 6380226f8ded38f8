"""The package's list of amendments: octets ⇄ records, and what is told of a stranger's."""

import pytest

from tailsout.mapping import amendments
from tailsout.records.amendment import Amendment, FileChange, StatementChange

ONE = Amendment(
    version=2,
    supersedes="REEL-1",
    manifests={"manifest-sha512.txt": "5" * 128},
    by="isolde",
    on="2026-05-02",
    why="the owner's letter",
    written="2026-05-02T08:00:00Z",
    software="tailsout test",
    statements=(
        StatementChange(at="/transfer/reel/title", change="corrected", was="a", now="b"),
        StatementChange(at="/transfer/note", change="withheld"),
    ),
    files=(FileChange(path="data/a.wav", change="replaced", now="data/b.wav"),),
    algorithms=("md5",),
)
NAME = "metadata/amendments.json"
GOOD = amendments.write([ONE])


def test_there_and_back() -> None:
    assert amendments.read(GOOD, NAME) == ((ONE,), ())


def test_a_list_of_somebody_else_is_let_be() -> None:
    assert amendments.read(b'{"amendments": 3}', NAME) == (None, ())


@pytest.mark.parametrize(
    ("content", "part"),
    [
        (GOOD[:-3], ""),
        (GOOD.replace(b'"version": 2', b'"version": 1'), "/amendments/0/version"),
        (GOOD.replace(b'"by"', b'"bye"'), "/amendments/0"),
        (GOOD.replace(b"5" * 128, b"5" * 127), "/amendments/0/manifests/manifest-sha512.txt"),
        (GOOD.replace(b"manifest-sha512.txt", b"../../manifest.txt"), "/amendments/0/manifests"),
        (GOOD.replace(b":amendments:0.1", b":amendments:9.9"), "/schema"),
    ],
    ids=["cut", "version", "key", "digest", "a way out", "newer"],
)
def test_a_list_that_cannot_be_read_says_where(content: bytes, part: str) -> None:
    record, findings = amendments.read(content, NAME)
    assert record is None
    assert {one.code for one in findings} == {"amendments-unreadable"}
    assert {one.place.part for one in findings} == {part}


@pytest.mark.parametrize("end", range(0, len(GOOD) - 1, 7))
def test_a_list_cut_off_anywhere_is_never_half_read(end: int) -> None:
    assert amendments.read(GOOD[:end], NAME)[0] is None
