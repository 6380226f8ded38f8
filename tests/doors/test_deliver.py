"""`tailsout deliver` at the door: what is printed, and the exit codes."""

import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

Cli = Callable[..., Any]
SAMPLES = Path(__file__).resolve().parents[2] / "sample_packages"


@pytest.fixture
def packages(tmp_path: Path) -> Path:
    place = tmp_path / "packages"
    shutil.copytree(SAMPLES / "good/skerrow-light/package", place / "SKL-0008")
    shutil.copytree(SAMPLES / "broken/digest-differs/package", place / "SKL-0004")
    (place / "SKL-0008.receipt.json").write_text("{}")
    return place


@pytest.fixture
def drive(tmp_path: Path) -> Path:
    place = tmp_path / "HA00000012"
    place.mkdir()
    return place


def test_what_is_delivered_is_told(cli: Cli, packages: Path, drive: Path) -> None:
    # As a shell spells packages/SKL-0008*.
    ran = cli("deliver", packages / "SKL-0008", packages / "SKL-0008.receipt.json", "-o", drive)
    assert (ran.code, ran.err) == (0, "")
    assert ran.out.startswith(f"Delivery 1 on {drive}; the drive is called HA00000012:\n  pass ")
    assert "  SKL-0008  " in ran.out
    assert "its digest agreed here and there." in ran.out
    assert "Lists on the drive: delivery-01.txt, delivery-01.csv" in ran.out


def test_one_that_fails_is_told_and_the_others_go(cli: Cli, packages: Path, drive: Path) -> None:
    ran = cli("deliver", packages / "SKL-0004", packages / "SKL-0008", "-o", drive)
    assert ran.code == 1
    assert "SKL-0004: fail" in ran.out
    assert "  pass             SKL-0008" in ran.out
    assert "  not transferred  SKL-0004  does not pass: judged 'fail': digest-differs" in ran.out


def test_what_is_refused_is_told_at_once(cli: Cli, packages: Path, drive: Path) -> None:
    one = packages / "SKL-0008"
    ran = cli("deliver", one, one, "-o", drive)
    assert (ran.code, ran.out) == (3, "")
    assert "is delivered once" in ran.err
    assert ran.err.endswith("tailsout: nothing was written to the drive.\n")
    assert list(drive.iterdir()) == []


def test_no_drive_and_no_package(cli: Cli, packages: Path, drive: Path, tmp_path: Path) -> None:
    ran = cli("deliver", packages / "SKL-0008", "-o", tmp_path / "nowhere")
    assert (ran.code, ran.out) == (2, "")
    assert "There is no drive" in ran.err
    ran = cli("deliver", packages / "SKL-0009", "-o", drive)
    assert (ran.code, ran.out) == (2, "")
    ran = cli("deliver", packages / "SKL-0008.receipt.json", "-o", drive)
    assert ran.code == 2
    assert "lies beside a package" in ran.err
