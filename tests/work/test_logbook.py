"""A machine's logbook on disk: lines added once, none lost, none that is torn believed."""

from collections.abc import Callable
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from tailsout.bag.disk import Disk
from tailsout.ground.errors import SurroundingsError
from tailsout.ground.progress import Silent
from tailsout.mapping import logbook as lines
from tailsout.records.logbook import LogLine
from tailsout.work import logbook


def line(key: str = "TT-1", machine: str = "left", minutes: int = 30) -> LogLine:
    return LogLine(
        key=key,
        job_id="0b4e3c1e-6a0e-4e0b-9a53-6d1f5f3b2c07",
        machine=machine,
        on="2026-03-14",
        programme_minutes=Decimal(minutes),
    )


def added(studio: Path, *told: LogLine, disk: Disk | None = None) -> int:
    return logbook.add(studio, told, disk or Disk(), Silent())


def book(studio: Path, machine: str = "left") -> Path:
    return studio / "logbook" / f"{machine}.jsonl"


def test_no_logbook_is_no_empty_one(bench: Any) -> None:
    assert logbook.read(bench.studio, "left", Silent()) is None
    book(bench.studio).parent.mkdir()
    assert logbook.read(bench.studio, "left", Silent()) is None
    book(bench.studio).write_bytes(b"")
    assert logbook.read(bench.studio, "left", Silent()) == ()


def test_what_was_added_is_read_again(bench: Any) -> None:
    assert added(bench.studio, line("TT-1"), line("TT-2")) == 2
    assert logbook.read(bench.studio, "left", Silent()) == (line("TT-1"), line("TT-2"))
    assert book(bench.studio).read_bytes().count(b"\n") == 2


def test_each_machine_has_its_own(bench: Any) -> None:
    assert added(bench.studio, line(), line(machine="right")) == 2
    assert logbook.read(bench.studio, "right", Silent()) == (line(machine="right"),)
    assert book(bench.studio).read_bytes().count(b"\n") == 1


def test_a_key_is_written_once_and_what_stands_there_is_left(bench: Any) -> None:
    added(bench.studio, line(minutes=30))
    before = book(bench.studio).read_bytes()
    assert added(bench.studio, line(minutes=99), line(minutes=98)) == 0
    assert book(bench.studio).read_bytes() == before
    assert added(bench.studio, line("TT-2"), line("TT-2")) == 1


def test_one_key_on_two_machines_is_two_lines(bench: Any) -> None:
    """A package whose passes ran on two of them."""
    added(bench.studio, line())
    assert added(bench.studio, line(machine="right")) == 1


def test_a_line_torn_by_a_crash_is_told_and_ended_before_the_next(
    bench: Any, acting: Callable[..., Any]
) -> None:
    added(bench.studio, line("TT-1"))
    whole = lines.write(line("TT-2"))
    with book(bench.studio).open("ab") as stream:
        stream.write(whole[:20])
    progress = acting("", lambda: None)
    assert logbook.read(bench.studio, "left", progress) == (line("TT-1"),)
    assert progress.lines == [
        f"{book(bench.studio)}:2 is not a line of a logbook; it was passed over."
    ]
    assert added(bench.studio, line("TT-2")) == 1
    assert book(bench.studio).read_bytes() == lines.write(line("TT-1")) + whole[:20] + b"\n" + whole
    assert logbook.read(bench.studio, "left", Silent()) == (line("TT-1"), line("TT-2"))


def test_a_folder_just_made_is_synced_and_so_is_the_file(bench: Any) -> None:
    synced: list[Path] = []

    class Watched(Disk):
        def sync_directory(self, path: Path) -> None:
            synced.append(path)
            super().sync_directory(path)

    added(bench.studio, line("TT-1"), disk=Watched())
    assert synced == [bench.studio, bench.studio / "logbook"]
    added(bench.studio, line("TT-2"), disk=Watched())
    assert len(synced) == 2


def test_a_logbook_that_cannot_be_read(bench: Any) -> None:
    book(bench.studio).mkdir(parents=True)
    with pytest.raises(SurroundingsError, match=r"Reading the logbook left\.jsonl failed"):
        logbook.read(bench.studio, "left", Silent())
    with pytest.raises(SurroundingsError, match="Reading the logbook"):
        added(bench.studio, line())


def test_a_full_disk(bench: Any, full_disk: Callable[[int], Disk]) -> None:
    with pytest.raises(SurroundingsError, match=r"Writing to the logbook left\.jsonl failed"):
        added(bench.studio, line(), disk=full_disk(9))
    assert added(bench.studio, line()) == 1
    assert logbook.read(bench.studio, "left", Silent()) == (line(),)
