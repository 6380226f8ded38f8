"""`tailsout show --as` and `--list`: a package in the words of others."""

import os
import pty
import shutil
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tailsout.work.exports import VIEWS

PACKAGE = Path(__file__).resolve().parents[2] / "sample_packages/good/skerrow-light/package"
Cli = Callable[..., Any]


def test_the_list_names_each_description_and_where_it_lies(cli: Cli) -> None:
    told = cli("show", "--list")
    assert told.code == 0
    for view in VIEWS:
        assert f"{view.name:<12} {view.title}" in told.out
        assert view.path in told.out


@pytest.mark.parametrize("name", ["PREMIS", "premis"])
def test_a_package_is_described_as_it_describes_itself(cli: Cli, name: str) -> None:
    told = cli("show", PACKAGE, "--as", name)
    assert told.code == 0
    assert told.out == (PACKAGE / "metadata/premis.xml").read_text("utf-8")
    assert "left out: Jottings made while the tape ran stand in the side-car." in told.err


def test_an_archive_is_described_as_the_folder_is(cli: Cli, tmp_path: Path) -> None:
    archive = shutil.make_archive(
        str(tmp_path / "package"), "tar", PACKAGE.parent, base_dir=PACKAGE.name
    )
    told = cli("show", archive, "--as", "METS")
    assert told.out == (PACKAGE / "metadata/mets.xml").read_text("utf-8")


def test_half_an_archive_is_not_described_as_if_it_were_all(cli: Cli, tmp_path: Path) -> None:
    archive = shutil.make_archive(
        str(tmp_path / "package"), "tar", PACKAGE.parent, base_dir=PACKAGE.name
    )
    os.truncate(archive, 300_000)
    told = cli("show", archive, "--as", "METS")
    assert (told.code, told.out) == (1, "")
    assert "package.tar could not be read as a whole. `tailsout check` says why" in told.err


def test_a_bag_of_strangers_is_described_by_what_it_is(cli: Cli, tmp_path: Path) -> None:
    (tmp_path / "data").mkdir()
    (tmp_path / "data" / "x.txt").write_text("x")
    (tmp_path / "bagit.txt").write_text("BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n")
    told = cli("show", tmp_path, "--as", "PREMIS")
    assert (told.code, told.err) == (0, "")
    assert "data/x.txt" in told.out


@pytest.mark.parametrize(
    "checks",
    ["", "[]", "{}", '{"verdict": "pass", "findings": [{"code": 1}]}', '{"verdict": "x"'],
)
def test_a_strange_list_of_checks_says_nothing(cli: Cli, tmp_path: Path, checks: str) -> None:
    copy = shutil.copytree(PACKAGE, tmp_path / "copy")
    (copy / "metadata/checks.json").write_text(checks)
    told = cli("show", copy, "--as", "PREMIS")
    assert told.code == 0
    assert "eventType/val" not in told.out


def test_a_folder_that_is_no_package_is_told(cli: Cli, tmp_path: Path) -> None:
    told = cli("show", tmp_path, "--as", "METS")
    assert told.code == 1
    assert "is not a package" in told.err
    assert told.out == ""


@pytest.mark.parametrize(
    "arguments",
    [
        ("--as", "METS"),
        (PACKAGE, "--as", "nothing known"),
        (PACKAGE, PACKAGE, "--as", "METS"),
        (PACKAGE, "--as", "METS", "--json"),
        (PACKAGE, "--receipt", "receipt.json"),
        (PACKAGE, "--as", "PREMIS", "--receipt", "none.json"),
        (PACKAGE, "--as", "PBCore", "--receipt", "receipt.json"),
        (PACKAGE, "--as", "report", "--receipt", "receipt.json"),
        (PACKAGE, "--as", "METS", "--raw", "bext"),
        (),
    ],
)
def test_what_makes_no_sense_is_a_usage_error(cli: Cli, arguments: tuple[object, ...]) -> None:
    assert cli("show", *arguments).code == 2


def test_a_terminal_gets_no_commands(tmp_path: Path) -> None:
    (tmp_path / "data").mkdir()
    # U+009B begins a command on some terminals, and XML may hold it.
    (tmp_path / "data" / "x\x9b2J.txt").write_text("x")
    (tmp_path / "bagit.txt").write_text("BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n")
    ours, theirs = pty.openpty()
    command = (sys.executable, "-m", "tailsout", "show", str(tmp_path), "--as", "PREMIS")
    subprocess.run(command, stdout=theirs, check=True)
    os.close(theirs)
    seen = b""
    while True:
        try:
            block = os.read(ours, 1 << 16)
        except OSError:
            break
        if not block:
            break
        seen += block
    os.close(ours)
    assert b"x\\x9b2J.txt" in seen
    assert "\x9b".encode() not in seen
