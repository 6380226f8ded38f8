"""A reel's whole way: job, package, drive, receipt, rework, amendment, drive again, acceptance."""

import json
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tailsout.mapping import csv_rows

Cli = Callable[..., Any]
EVENTS = """
[[reel.identifiers]]
value = "HA/SKL/1"
kind = "shelf mark"
[[reel.events]]
kind = "inspection"
on = 2026-03-12
[[reel.events]]
kind = "splice repair"
on = 2026-03-11
"""
RIGHT = """by = "isolde"
on = 2026-03-25
why = "the archive's rework list of 20 March"
[[statements]]
at = "reel.events[2].on"
change = "corrected"
now = 2026-03-13
"""


def rows(path: Path) -> list[dict[str, str]]:
    return [dict(row.cells) for row in csv_rows.read(path.read_bytes()).rows]


@pytest.fixture
def day(monkeypatch: pytest.MonkeyPatch) -> Callable[[int], None]:
    """Sets the clock to a day of March 2026."""

    def begin(of_march: int) -> None:
        monkeypatch.setenv("SOURCE_DATE_EPOCH", str(1772323200 + of_march * 86400))

    return begin


def test_a_whole_circle(bench: Any, cli: Cli, tmp_path: Path, day: Callable[[int], None]) -> None:
    drives = [tmp_path / "HA00000001", tmp_path / "HA00000002"]
    for drive in drives:
        drive.mkdir()

    # The studio closes out a job, in whose form two dates went wrong.
    day(15)
    bench.fill(bench.wave(own=bench.own_bext()), more=EVENTS)
    assert cli("close", bench.job, "-o", bench.out).code == 0

    # It delivers the package, with a list of what the archive sent.
    day(16)
    listed = tmp_path / "sent.csv"
    listed.write_bytes(b"identifier\nHA/SKL/1\nHA/SKL/2\n")
    ran = cli("deliver", bench.package, "-o", drives[0], "--listed", listed)
    assert (ran.code, ran.err) == (0, "")
    assert "listed and not received: HA/SKL/2" in ran.out

    # The archive receives the drive: what left is what arrived.
    day(20)
    first = tmp_path / "archive/first"
    ran = cli("receive", drives[0], "-o", first)
    assert ran.code == 0
    receipt = json.loads((first / "receipt.json").read_text("utf-8"))
    assert receipt["manifest"] == "delivery-01.csv"
    assert "differences" not in receipt

    # Its rework list names the date, and says that metadata are to be repaired.
    to_do = [row for row in rows(first / "rework.csv") if row["code"] == "dates-out-of-order"]
    assert [row["rework"] for row in to_do] == ["repair the metadata"]

    # The studio puts it right in a new version, and the old one stays as it is.
    day(25)
    before = bench.tree(bench.package)
    form = tmp_path / "amendment.toml"
    form.write_text(RIGHT)
    ran = cli("amend", bench.package, "--with", form, "-o", bench.out)
    assert ran.code == 0, ran
    assert bench.tree(bench.package) == before

    # It redelivers, on a drive of its own.
    day(26)
    new = bench.out / "TT-1.v2"
    assert cli("deliver", new, "-o", drives[1], "--number", "2").code == 0
    (row,) = rows(drives[1] / "delivery-02.csv")
    assert (row["package"], row["supersedes"]) == ("TT-1.v2", "TT-1")

    # The redelivery goes through all of it again; nothing is left to come.
    day(30)
    second = tmp_path / "archive/second"
    ran = cli("receive", drives[1], "-o", second, "--earlier", first)
    assert ran.code == 0
    receipt = json.loads((second / "receipt.json").read_text("utf-8"))
    assert (receipt["number"], receipt["packages"][0]["came_before"]) == (2, True)
    assert receipt["first_received"] == "2026-03-21T00:00:00Z"
    assert "outstanding" not in receipt
    assert "dates-out-of-order" not in {row["code"] for row in rows(second / "rework.csv")}

    # It is accepted by name, in a document of its own that pins the octets.
    day(31)
    shelf = Path(shutil.copytree(drives[1] / "TT-1.v2", tmp_path / "archive/shelf/TT-1.v2"))
    ran = cli("accept", shelf, "--by", "Oran Teague", "--receipt", second, "-o", second)
    assert ran.code == 0
    told = json.loads((second / "acceptance-01.json").read_text("utf-8"))
    (one,) = told["packages"]
    assert one["decision"] in {"accepted", "accepted with flags"}
    assert (one["package"], one["supersedes"]) == ("TT-1.v2", "TT-1")
    assert one["tag_manifests"] == receipt["packages"][0]["tag_manifests"]
    (reel,) = rows(second / "acceptance-01-return-list.csv")
    assert reel["identifiers"] == "HA/SKL/1 (shelf mark)"

    # And nobody wrote to either drive after its delivery.
    assert {path.name for path in drives[0].iterdir() if path.is_dir()} == {"TT-1"}
    assert {path.name for path in drives[1].iterdir() if path.is_dir()} == {"TT-1.v2"}
