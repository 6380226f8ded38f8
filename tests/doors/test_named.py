"""A pattern names what lies beside packages too: it is passed over, and told."""

import os
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tailsout.doors.cli.named import packages_in
from tailsout.ground.errors import UsageError

DRIVE = (
    "A",
    "A.receipt.json",
    "A.label.svg",
    "B.tar",
    "B.tar.sha512",
    "delivery-01.csv",
    "A-label.svg",
)


@pytest.fixture
def drive(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "A").mkdir()
    for name in DRIVE[1:]:
        (tmp_path / name).write_text("no archive\n")
    return tmp_path


def test_what_can_be_no_package_is_passed_over(
    drive: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert drive.is_dir()
    assert packages_in(DRIVE) == ["A", "B.tar"]
    assert capsys.readouterr().err == (
        "Passed over, being no packages: delivery-01.csv, A-label.svg.\n"
    )


def test_an_archive_is_known_by_its_first_octets_too(drive: Path) -> None:
    (drive / "handed-over").write_bytes(b"\x1f\x8b and more")
    assert packages_in(["A", "handed-over"]) == ["A", "handed-over"]


def test_only_some_are_named(drive: Path, capsys: pytest.CaptureFixture[str]) -> None:
    names = [f"note\x1b {number}.txt" for number in range(8)]
    for name in names:
        (drive / name).touch()
    assert packages_in(["A", *names]) == ["A"]
    assert capsys.readouterr().err == (
        r"Passed over, being no packages: note\x1b 0.txt, note\x1b 1.txt, "
        "note\\x1b 2.txt, note\\x1b 3.txt, note\\x1b 4.txt, 3 more.\n"
    )


def test_what_is_named_alone_is_not_passed_over(
    drive: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert packages_in(["delivery-01.csv"]) == ["delivery-01.csv"]
    assert capsys.readouterr().err == ""
    with pytest.raises(UsageError, match="lies beside a package and is not one"):
        packages_in([str(drive / "A.receipt.json")])


def test_what_is_not_there_or_no_plain_file_goes_on_to_be_told(drive: Path) -> None:
    os.mkfifo(drive / "pipe")
    assert packages_in(["A", "gone", "pipe"]) == ["A", "gone", "pipe"]


def test_a_link_is_followed_only_where_it_is_named_alone(
    drive: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (drive / "away").symlink_to("/etc")
    (drive / "loop").symlink_to("loop")
    assert packages_in(["A", "away", "loop"]) == ["A"]
    assert capsys.readouterr().err == (
        "Passed over, being links that are followed only where one is named alone: away, loop.\n"
    )
    assert packages_in(["away"]) == ["away"]
    with pytest.raises(UsageError, match="Nothing but links is named"):
        packages_in(["away", "loop"])


def test_packing_and_unpacking_take_patterns(
    cli: Callable[..., Any], closed: Path, tmp_path: Path
) -> None:
    tars = tmp_path / "tars"
    assert cli("pack", *sorted(closed.parent.iterdir()), "-o", tars).code == 0
    assert [one.name for one in sorted(tars.iterdir())] == ["TT-1.tar", "TT-1.tar.sha512"]
    ran = cli("unpack", *sorted(tars.iterdir()), "-o", tmp_path / "in")
    assert (ran.code, ran.err) == (0, "")
    assert (tmp_path / "in" / "TT-1").is_dir()
    shutil.copy(tars / "TT-1.tar", tars / "again.tar")
    ran = cli("unpack", tars / "again.tar", tars / "TT-1.tar", "-o", tmp_path / "in2")
    # The second would take the place of the first.
    assert ran.code == 3
    assert ran.out.endswith(
        f"\nnot done            {tars / 'TT-1.tar'}\n"
        f"pass      unpacked  {tars / 'again.tar'}\n\n"
        "2 archives: 1 not done, 1 pass\n"
    )
