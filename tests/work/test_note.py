"""A jotting is on the disk whatever state the form is in, whoever else writes, and never half."""

import subprocess
import sys
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest

from tailsout.bag.disk import Disk
from tailsout.ground.errors import SurroundingsError, UsageError
from tailsout.mapping import jottings
from tailsout.work.note import note

INSTANT = datetime(2026, 3, 14, 10, 33, 20, tzinfo=UTC)
AT = "2026-03-14T10:33:20Z"
BEFORE = "p0"


def noted(job: Path, text: str = "splice opened", *, pass_id: str = "", disk: Any = None) -> str:
    return note(job, text, instant=INSTANT, pass_id=pass_id or None, disk=disk or Disk())


def kept(job: Path) -> bytes:
    return (job / "jottings.txt").read_bytes()


def test_a_line_with_its_time_and_the_last_pass_of_the_form(bench: Any) -> None:
    bench.form({}, more='[[passes]]\nid = "p1"\n[[passes]]\nid = "p2"')
    line = noted(bench.job)
    assert line == f"{AT} [p2] splice opened"
    assert kept(bench.job) == f"{line}\n".encode()


def test_a_pass_may_be_named(bench: Any) -> None:
    bench.form({}, more='[[passes]]\nid = "p1"')
    assert noted(bench.job, pass_id=BEFORE) == f"{AT} [p0] splice opened"


def test_a_pass_before_any_is_written_down(bench: Any) -> None:
    bench.form({})
    assert noted(bench.job) == f"{AT} splice opened"


@pytest.mark.parametrize(
    "text", ["splice\nopened", "splice\r\nopened\n", " splice \t opened ", "splice\u2028opened"]
)
def test_breaks_of_the_line_become_blanks(bench: Any, text: str) -> None:
    assert noted(bench.job, text) == f"{AT} splice opened"


@pytest.mark.parametrize("pass_id", ["two words", "p1\nforged", "p1]", "]"])
def test_a_pass_that_is_no_id_loses_no_word_and_makes_no_line(bench: Any, pass_id: str) -> None:
    noted(bench.job, pass_id=pass_id)
    (one,), unread = jottings.read(kept(bench.job))
    assert unread == ()
    assert one.at == AT
    assert one.text.endswith("splice opened")


@pytest.mark.parametrize(
    "form",
    [
        None,
        b"",
        b'package_id = "TT-1',
        b'\xef\xbb\xbfnote = "caf\xe9"',
        b"passes = 3",
        b'passes = "p1"',
        b"passes = []",
        b"passes = [3]",
        b"[passes]\nid = 'p1'",
        b"[[passes]]\nmachine = 'left'",
        b"[[passes]]\nid = 3",
        b"a = " + b"[" * 3000 + b"]" * 3000,
        b"a = " + b"9" * 5000,
    ],
)
def test_a_form_that_is_being_written_stops_no_jotting(bench: Any, form: bytes | None) -> None:
    if form is not None:
        (bench.job / "job.toml").write_bytes(form)
    assert noted(bench.job) == f"{AT} splice opened"
    assert kept(bench.job) == f"{AT} splice opened\n".encode()


def test_a_form_that_is_a_folder_stops_no_jotting(bench: Any) -> None:
    (bench.job / "job.toml").mkdir()
    assert noted(bench.job) == f"{AT} splice opened"


def test_a_mark_before_the_form_is_passed_over(bench: Any) -> None:
    (bench.job / "job.toml").write_bytes(b'\xef\xbb\xbf[[passes]]\r\nid = "p1"\r\n')
    assert noted(bench.job) == f"{AT} [p1] splice opened"


def test_octets_that_are_no_utf8_are_kept_as_they_came(bench: Any) -> None:
    line = noted(bench.job, "B\udcfchne")
    assert kept(bench.job) == f"{AT} B".encode() + b"\xfchne\n"
    assert line == f"{AT} B\ufffdhne"


def test_a_line_that_was_torn_harms_no_other(bench: Any) -> None:
    (bench.job / "jottings.txt").write_bytes(b"2026-03-14T10:32:00Z heard a cl")
    noted(bench.job)
    assert kept(bench.job) == f"2026-03-14T10:32:00Z heard a cl\n{AT} splice opened\n".encode()


@pytest.mark.parametrize("text", ["", " ", "\n", "\t\r\n"])
def test_nothing_is_no_jotting(bench: Any, text: str) -> None:
    with pytest.raises(UsageError, match="nothing to note"):
        noted(bench.job, text)
    assert not (bench.job / "jottings.txt").exists()


def test_no_job_no_jotting(tmp_path: Path) -> None:
    with pytest.raises(UsageError, match="no job folder"):
        noted(tmp_path / "none")
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("octets", [0, 5])
def test_a_full_disk_is_one_sentence_and_the_next_line_is_whole(
    bench: Any, full_disk: Callable[[int], Disk], octets: int
) -> None:
    with pytest.raises(SurroundingsError, match=r"Writing to .*jottings\.txt failed") as error:
        noted(bench.job, disk=full_disk(octets))
    assert error.value.remedy.startswith("The disk is full")
    noted(bench.job, "again")
    assert kept(bench.job).splitlines()[-1] == f"{AT} again".encode()


def test_a_link_is_not_written_through(bench: Any) -> None:
    (bench.root / "other").write_bytes(b"precious\n")
    (bench.job / "jottings.txt").symlink_to(bench.root / "other")
    with pytest.raises(SurroundingsError, match="symbolic links"):
        noted(bench.job)
    assert (bench.root / "other").read_bytes() == b"precious\n"


WRITER = """
import sys
from datetime import UTC, datetime
from pathlib import Path
from tailsout.bag.disk import Disk
from tailsout.work.note import note
print("ready", flush=True)
sys.stdin.readline()
for count in range(50):
    text = f"{sys.argv[2]} {count} " + "x" * 500
    note(Path(sys.argv[1]), text, instant=datetime.now(UTC), pass_id="p1", disk=Disk())
"""


def test_two_who_write_at_once_tear_no_line(bench: Any) -> None:
    writers = [
        subprocess.Popen(
            [sys.executable, "-c", WRITER, str(bench.job), name],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
        )
        for name in ("one", "two")
    ]
    for writer in writers:
        assert writer.stdout is not None
        assert writer.stdout.readline() == b"ready\n"
    for writer in writers:
        assert writer.stdin is not None
        writer.stdin.write(b"go\n")
        writer.stdin.flush()
    for writer in writers:
        writer.communicate(timeout=60)
    assert [writer.returncode for writer in writers] == [0, 0]
    found, unread = jottings.read(kept(bench.job))
    assert unread == ()
    said = sorted(tuple(one.text.split()) for one in found)
    assert said == sorted((n, str(c), "x" * 500) for n in ("one", "two") for c in range(50))
