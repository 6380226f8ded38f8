"""`tailsout report`: where the page goes."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

Cli = Callable[..., Any]
GOOD = Path(__file__).resolve().parents[2] / "sample_packages/good/skerrow-light/package"


def test_it_is_printed_or_written(cli: Cli, tmp_path: Path) -> None:
    printed = cli("report", GOOD)
    assert printed.code == 0
    assert printed.out.startswith("<!DOCTYPE html>")
    written = cli("report", GOOD, "-o", tmp_path / "a.html")
    assert written.code == 0
    assert written.out.startswith(f"Written: {tmp_path / 'a.html'} (")
    assert (tmp_path / "a.html").read_text("utf-8") == printed.out


def test_nothing_is_written_over(cli: Cli, tmp_path: Path) -> None:
    (tmp_path / "a.html").write_text("mine")
    ran = cli("report", GOOD, "-o", tmp_path / "a.html")
    assert ran.code == 3
    assert "is there already" in ran.err
    assert (tmp_path / "a.html").read_text() == "mine"


@pytest.mark.parametrize("name", ["nowhere", "a.txt"])
def test_what_is_no_package_is_told(cli: Cli, tmp_path: Path, name: str) -> None:
    (tmp_path / "a.txt").write_text("x")
    ran = cli("report", tmp_path / name)
    assert ran.code in {1, 2}
    assert ran.out == ""
    assert ran.err
