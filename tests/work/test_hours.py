"""The ledger of hours: minutes as told, the ratio, the sums, and what is left out of them."""

import csv
import io
from collections.abc import Callable
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from tailsout.ground.errors import UsageError
from tailsout.mapping.ledger import Entry, write
from tailsout.work.amend import amend
from tailsout.work.close_out import close
from tailsout.work.hours import hours


def rows(table: bytes) -> list[list[str]]:
    return list(csv.reader(io.StringIO(table.decode("utf-8"), newline="")))


def entry(name: str, hands_on: str | None, programme: str) -> Entry:
    return Entry(
        package=name,
        identifier="=1+1",
        title="Log",
        passes=2,
        hands_on_minutes=None if hands_on is None else Decimal(hands_on),
        programme_minutes=Decimal(programme),
    )


def test_a_row_a_reel_and_the_sums() -> None:
    table = write([entry("A", "130", "60"), entry("B", None, "30"), entry("C", "50", "40")])
    _, *found, together = rows(table)
    assert [row[0] for row in found] == ["A", "B", "C"]
    assert [row[3:] for row in found] == [
        ["2", "130.0", "60.0", "2.17"],
        ["2", "", "30.0", ""],
        ["2", "50.0", "40.0", "1.25"],
    ]
    # 180 minutes of work for the 100 of programme of A and C; B says nothing of its work.
    assert together == [
        "all",
        "",
        "3 packages, hands-on of 1 not told",
        "6",
        "180.0",
        "130.0",
        "1.80",
    ]
    assert found[0][1] == "'=1+1"


def test_nothing_is_divided_by_nothing() -> None:
    assert rows(write([]))[1:] == [["all", "", "0 packages", "0", "", "0.0", ""]]
    assert rows(write([entry("A", "5", "0")]))[1][-1] == ""


def test_of_a_package_minutes_are_those_of_its_passes(
    bench: Any, around: Callable[..., Any]
) -> None:
    lay(bench)
    assert close(bench.job, bench.out, around()).built is not None
    table, silent = hours([bench.out])
    assert silent == 0
    assert rows(table)[1] == ["TT-1", "", "Reel 1", "1", "25.0", "0.2", "125.00"]


def lay(bench: Any) -> None:
    bench.put("captures/a.wav", bench.wave(frames=48_000 * 12))
    bench.form({"a": "captures/a.wav"}, more='[[passes]]\nid = "p1"\nhands_on_minutes = 25\n')
    form = bench.job / "job.toml"
    form.write_text(f'{form.read_text()}pass_id = "p1"\n')


def test_of_several_versions_the_last_counts(bench: Any, around: Callable[..., Any]) -> None:
    lay(bench)
    close(bench.job, bench.out, around())
    amendment = bench.root / "amendment.toml"
    amendment.write_text(
        'by = "isolde"\non = 2026-05-02\nwhy = "a letter"\n[[statements]]\n'
        'at = "passes[1].hands_on_minutes"\nchange = "corrected"\nnow = 50\n'
    )
    assert amend(bench.package, amendment, bench.out, around()).outcome.built is not None
    _, *found, together = rows(hours([bench.out])[0])
    assert [row[4] for row in found] == ["50.0"]
    assert together[2] == "1 package"


def test_a_foreign_bag_is_passed_over_and_counted(tmp_path: Path) -> None:
    bag = tmp_path / "theirs"
    (bag / "data").mkdir(parents=True)
    (bag / "bagit.txt").write_text("BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n")
    table, silent = hours([tmp_path])
    assert silent == 1
    assert rows(table)[1][2] == "0 packages"


def test_a_folder_that_is_not_there(tmp_path: Path) -> None:
    with pytest.raises(UsageError):
        hours([tmp_path / "none"])
