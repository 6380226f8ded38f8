"""Every bag of `bag_cases.py`: what we make of it, and that others differ only as is written there.

Others: the library `bagit` 1.9.0 (the Library of Congress), and `sha512sum` and its kin.
"""

import json
import os
import runpy
import socket
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

from tailsout.ground.findings import Verdict
from tailsout.ground.progress import Silent
from tailsout.records.observations import OBSERVATIONS
from tailsout.rules import completeness, fixity
from tailsout.work.check import check

oracles = SimpleNamespace(**runpy.run_path(str(Path(__file__).with_name("bag_oracles.py"))))
table = oracles.table
CASES = [pytest.param(case, id=ascii(case.id)[1:-1]) for case in table.CASES]
ASKED = [pytest.param(case, id=ascii(case.id)[1:-1]) for case in table.CASES if case.library != "-"]


@pytest.fixture
def build(tmp_path: Path) -> Iterator[Callable[[Any], Path]]:
    def made(case: Any) -> Path:
        base: Path = table.build(case, tmp_path)
        return base

    yield made
    # What lies deeper than a path may be long is brought up, or pytest could not remove it.
    data, part = tmp_path / table.NAME / "data", "n" * 200
    while (data / part / part).exists():
        (data / part / part).rename(data / "up")
        (data / part).rmdir()
        (data / "up").rename(data / part)


@pytest.mark.parametrize("case", CASES)
def test_what_we_say(case: Any, build: Callable[[Any], Path]) -> None:
    checked = check(build(case), Silent(), bagit_only=True)
    assert {one.code for one in checked.judgement.findings} == set(case.codes)
    assert checked.bag is not None
    assert (checked.bag.word, checked.judgement.verdict.value) == (case.state, case.verdict)
    assert all(one.text.isprintable() for one in checked.judgement.findings)


@pytest.mark.parametrize("case", ASKED)
def test_what_others_say(case: Any, build: Callable[[Any], Path]) -> None:
    base = build(case)
    said = oracles.library(base), oracles.sums(base)
    assert said == (case.library, case.sums)


@pytest.mark.parametrize("case", CASES)
def test_a_disagreement_has_a_reason_and_nothing_else_has(case: Any) -> None:
    assert bool(case.why) is oracles.differs(case, case.library)
    assert bool(case.sums_why) is oracles.differs(case, case.sums)


def test_the_table_of_disagreements_is_the_one_that_is_printed() -> None:
    guide = Path(__file__).resolve().parents[2] / "DEVELOPERS.md"
    assert oracles.page() in guide.read_text("utf-8")


def test_a_disagreement_that_is_new_is_seen() -> None:
    for state, said, is_new in (
        ("valid", "invalid", True),
        ("valid", "breaks", True),
        ("valid", "differs", True),
        ("malformed", "valid", True),
        ("complete, not verified", "ok", True),
        ("malformed", "hangs", True),
        ("valid", "ok", False),
        ("incomplete", "breaks", False),
        ("incomplete", "-", False),
    ):
        assert oracles.differs(SimpleNamespace(state=state), said) is is_new


def test_every_case_has_a_name_of_its_own_and_a_clause() -> None:
    names = [case.id for case in table.CASES]
    assert len(names) == len(set(names))
    own = ("our limit", "common practice", "the surroundings", "TR 36")
    assert [c.id for c in table.CASES if not c.clause.startswith(("§", *own))] == []


def test_every_word_of_the_reader_and_of_fixity_is_met() -> None:
    met = set().union(*(case.codes for case in table.CASES))
    limits = {"bag-too-many", "bag-unreadable", "bag-swapped"}
    every = {f"bag-{word}" for word in OBSERVATIONS if not word.startswith("archive-")}
    every |= {kind.code for rule in (*completeness.RULES, *fixity.RULES) for kind in rule.kinds}
    assert met | limits >= every


# What happens while a bag is read


@pytest.fixture
def good(tmp_path: Path) -> Path:
    base: Path = table.build(table.CLAUSES[0], tmp_path)
    return base


class Meddling(Silent):
    """Does something to the bag once it was opened, or while it is read."""

    def __init__(self, *, begin: Any = None, advance: Any = None) -> None:
        self._begin, self._advance = begin, advance

    def begin(self, label: str, total: int) -> None:
        if self._begin is not None:
            self._begin()

    def advance(self, count: int) -> None:
        if self._advance is not None:
            self._advance()


def test_a13_a_link_put_in_place_of_a_file(good: Path) -> None:
    def swap() -> None:
        (good / "data/note.txt").unlink()
        (good / "data/note.txt").symlink_to("../../secret")

    checked = check(good, Meddling(begin=swap), bagit_only=True)
    assert checked.judgement.verdict is Verdict.REFUSED
    assert {str(one.place) for one in checked.judgement.findings} == {"data/note.txt"}
    assert checked.bag is not None
    assert (checked.bag.word, checked.bag.not_verified[0].paths) == (
        "not examined",
        ("data/note.txt",),
    )


def test_a14_a_file_that_grows_while_it_is_read(good: Path) -> None:
    def grow() -> None:
        with (good / "data/note.txt").open("ab") as file:
            file.write(b"x")

    checked = check(good, Meddling(advance=grow), bagit_only=True)
    assert checked.judgement.verdict is Verdict.NOT_EXAMINED
    [found] = checked.judgement.findings
    assert (found.code, str(found.place)) == ("file-unreadable", "data/note.txt")
    assert checked.bag is not None
    assert checked.bag.word == "complete, not verified"


CHILD = """
import os, sys
from tailsout.doors.cli import run
os.chdir(sys.argv[1])
# What is loaded late must be loaded while its files can be read.
run(["check", ".", "--json", "--bagit-only"])
if os.getuid() == 0:
    os.setgid(65534)
    os.setuid(65534)
sys.exit(run(["check", ".", "--json", "--bagit-only"]))
"""


def test_a39_what_another_user_may_not_read(good: Path) -> None:
    """The test may run as root, who may read everything: the child is somebody else."""
    closed = good / "data/note.txt"
    damaged = good / "data/audio/reel.wav"
    damaged.write_bytes(b"x" + damaged.read_bytes()[1:])
    closed.chmod(0)
    done = subprocess.run(
        [sys.executable, "-c", CHILD, str(good)], capture_output=True, text=True, check=False
    )
    closed.chmod(0o644)
    told = json.loads(done.stdout.splitlines()[1])
    found = {(one["code"], one["place"]) for one in told["findings"]}
    assert found == {
        ("file-unreadable", "data/note.txt"),
        ("digest-differs", "data/audio/reel.wav"),
    }
    assert (done.returncode, told["bag"]["state"]) == (1, "invalid")


def test_a39_is_no_fault_of_the_bag(good: Path) -> None:
    (good / "data/note.txt").chmod(0)
    (good / "manifest-sha256.txt").chmod(0)
    done = subprocess.run(
        [sys.executable, "-c", CHILD, str(good)], capture_output=True, text=True, check=False
    )
    told = json.loads(done.stdout.splitlines()[1])
    assert (done.returncode, told["verdict"]) == (4, "not examined")
    assert {one["severity"] for one in told["findings"]} == {"query"}


@pytest.mark.root
@pytest.mark.skipif(os.getuid() != 0, reason="needs root to make a device")
def test_a11_a_device(good: Path) -> None:
    os.mknod(good / "data/null", 0o666 | 0o020000, os.makedev(1, 3))
    checked = check(good, Silent(), bagit_only=True)
    assert [one.code for one in checked.judgement.findings] == ["bag-special-file"]
    assert checked.judgement.verdict is Verdict.REFUSED


@pytest.mark.parametrize("there", [True, False])
def test_b04_b09_nobody_is_asked(good: Path, there: bool) -> None:
    """What a redirect or a body without an end would do stays unseen: no connection is made."""
    with socket.create_server(("127.0.0.1", 0)) as server:
        server.setblocking(False)
        path = "data/note.txt" if there else "data/never-sent.wav"
        address = f"http://127.0.0.1:{server.getsockname()[1]}/"
        table.fetch(f"{address} - {path}")(good)
        checked = check(good, Silent(), bagit_only=True)
        with pytest.raises(BlockingIOError):
            server.accept()
    assert checked.judgement.verdict is Verdict.REFUSED
    assert "bag-fetch-unsafe" in {one.code for one in checked.judgement.findings}


def test_damaged_files_are_named_though_the_oxum_is_wrong_too(good: Path) -> None:
    (good / "data/note.txt").write_bytes(b"")
    found = check(good, Silent(), bagit_only=True).judgement.findings
    assert {(one.code, str(one.place)) for one in found} == {
        ("digest-differs", "data/note.txt"),
        ("oxum-differs", "bag-info.txt:2"),
    }
