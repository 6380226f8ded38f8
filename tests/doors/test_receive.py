"""`tailsout receive` at the door: the receipt at once, then one screen of judgement."""

import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

Cli = Callable[..., Any]
SAMPLES = Path(__file__).resolve().parents[2] / "sample_packages"


@pytest.fixture
def drive(tmp_path: Path) -> Path:
    place = tmp_path / "HA00000012"
    shutil.copytree(SAMPLES / "good/skerrow-light/package", place / "SKL-0008")
    return place


def test_receipt_first_then_judgement(cli: Cli, drive: Path, tmp_path: Path) -> None:
    ran = cli("receive", drive, "-o", tmp_path / "in", "--virus-scan", "nothing found")
    assert (ran.code, ran.err) == (0, "")
    lines = ran.out.splitlines()
    assert lines[0] == "Receipt 1; the drive is called HA00000012"
    order = [
        ran.out.index(told)
        for told in (
            "A read-only mount is not a write blocker",
            "virus scan: nothing found",
            "This is a receipt and no acceptance.",
            "1 package: 1 pass",
            "To listen to: ",
        )
    ]
    assert order == sorted(order)


def test_many_packages_fit_one_screen(cli: Cli, drive: Path, tmp_path: Path) -> None:
    broken = SAMPLES / "broken/file-missing/package"
    for number in range(20):
        base = drive / f"SKL-1{number:03d}"
        base.mkdir()
        for name in ("bagit.txt", "bag-info.txt", "manifest-sha256.txt"):
            shutil.copy(broken / name, base)
    ran = cli("receive", drive, "-o", tmp_path / "in", "--structure")
    assert ran.code == 1
    assert len(ran.out.splitlines()) < 60
    assert "21 packages: 20 fail" in ran.out
    assert "in 20 of 21" in ran.out
    assert "… and 9 more" in ran.out
    assert "[no fixity check]" in ran.out


def test_a_lying_manifest_is_a_failure(cli: Cli, drive: Path, tmp_path: Path) -> None:
    (drive / "delivery-01.csv").write_bytes(b"package,files\nSKL-0008,7\nSKL-0009,\n")
    ran = cli("receive", drive, "-o", tmp_path / "in")
    assert ran.code == 1
    assert "not as listed: SKL-0008: the sender's manifest states 7 files" in ran.out
    assert "listed and not received: SKL-0009" in ran.out


def test_what_does_not_go_together(cli: Cli, drive: Path, tmp_path: Path) -> None:
    for wrong in (
        ("--deep", "--structure"),
        ("--deep", "--bagit-only"),
        ("--share", "101"),
        ("--share", "-1"),
    ):
        ran = cli("receive", drive, "-o", tmp_path / "in", *wrong)
        assert (ran.code, ran.out) == (2, "")
    assert not (tmp_path / "in").exists()


def test_nothing_is_written_on_the_drive_by_name(cli: Cli, drive: Path) -> None:
    ran = cli("receive", drive, "-o", drive / "in")
    assert (ran.code, ran.out) == (3, "")
    assert "never written to" in ran.err
    assert not (drive / "in").exists()


@pytest.mark.root
def test_a_drive_that_is_mounted_read_only(cli: Cli, drive: Path, tmp_path: Path) -> None:
    import subprocess  # noqa: PLC0415

    subprocess.run(["mount", "--bind", drive, drive], check=True)
    try:
        subprocess.run(["mount", "-o", "remount,ro,bind", drive], check=True)
        ran = cli("receive", drive, "-o", tmp_path / "in")
        assert ran.code == 0
        assert "The drive is mounted read-only." in ran.out
    finally:
        subprocess.run(["umount", drive], check=True)


@pytest.mark.parametrize("typed", ["thirty", "0", "3651", "3.5", "-1", "", "３０", "9" * 5000])
def test_days_that_are_none_are_told_with_their_reach(
    cli: Callable[..., Any], tmp_path: Path, typed: str
) -> None:
    ran = cli("receive", tmp_path, "-o", tmp_path / "in", "--within", typed)
    assert ran.code == 2
    assert "is not a whole number from 1 to 3650." in ran.err


def test_a_reception_that_was_cut_off_is_gone_on_with(
    cli: Cli, drive: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def interrupted(*_: object, **__: object) -> None:
        raise KeyboardInterrupt

    with monkeypatch.context() as cut:
        cut.setattr("tailsout.work.receiving.tally.draw", interrupted)
        ran = cli("receive", drive, "-o", tmp_path / "in")
    assert ran.code == 130
    assert "--resume goes on with it" in ran.err
    ran = cli("receive", drive, "-o", tmp_path / "in", "--resume")
    assert (ran.code, ran.err) == (0, "")
    assert "1 package: 1 pass" in ran.out
    assert cli("receive", drive, "-o", tmp_path / "in", "--resume").code == 2
