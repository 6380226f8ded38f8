"""What is told of the versions of a package, for somebody who was not there."""

from tailsout.records.amendment import Amendment, FileChange, StatementChange
from tailsout.views import versions

SECOND = Amendment(
    version=2,
    supersedes="REEL-1",
    manifests={"manifest-sha512.txt": "5" * 128},
    by="isolde",
    on="2026-05-02",
    why="the owner's letter",
    written="2026-05-02T08:00:00Z",
    software="tailsout test",
    statements=(
        StatementChange(at="/transfer/reel/title", change="corrected", was="Reel", now="Log\x1b"),
        StatementChange(at="/transfer/note", change="added", now="x"),
        StatementChange(at="/transfer/jottings", change="withheld"),
    ),
    files=(FileChange(path="data/a.wav", change="replaced", now="data/b.wav"),),
    algorithms=("md5",),
)
THIRD = Amendment(
    version=3,
    supersedes="REEL-1.v2",
    manifests={"manifest-sha512.txt": "6" * 128},
    by="oran",
    on="2026-05-09",
    why="a second letter",
    written="2026-05-09T08:00:00Z",
    software="tailsout test",
)


def test_everything_of_an_amendment_is_told_the_newest_first() -> None:
    text = " ".join(" ".join(versions.told((SECOND, THIRD))).split())
    for words in (
        "Version 2, which supersedes REEL-1",
        "isolde, 2026-05-02",
        "the owner's letter",
        "corrected /transfer/reel/title: “Reel” became “Log\\x1b”",
        "added /transfer/note: nothing became “x”",
        "withheld /transfer/jottings replaced",
        "replaced data/a.wav, now data/b.wav",
        "digests added md5",
        "2026-05-02T08:00:00Z by tailsout test",
    ):
        assert words in text, words
    assert text.index("Version 3") < text.index("Version 2")


def test_the_paragraph_names_the_last_version() -> None:
    text = versions.paragraph((SECOND, THIRD))
    assert "This is version 3 of the package. It supersedes REEL-1.v2" in text
    assert "metadata/superseded" in text
