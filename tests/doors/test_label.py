"""`tailsout label`: where it goes, and what its QR code must hold."""

import os
import shutil
from collections.abc import Callable
from hashlib import sha256
from pathlib import Path
from typing import Any

import pytest

from tailsout.ground.progress import Silent
from tailsout.views.label import layout
from tailsout.work import label as work

Cli = Callable[..., Any]
GOOD = Path(__file__).resolve().parents[2] / "sample_packages/good/skerrow-light/package"


def test_it_is_printed_or_written(cli: Cli, tmp_path: Path) -> None:
    printed = cli("label", GOOD)
    assert printed.code == 0
    assert printed.out.startswith('<?xml version="1.0" encoding="utf-8"?>\n<svg')
    assert cli("label", GOOD, "-o", tmp_path / "a.svg").code == 0
    assert (tmp_path / "a.svg").read_text("utf-8") == printed.out
    assert cli("label", GOOD, "-o", tmp_path / "a.PDF").code == 0
    assert (tmp_path / "a.PDF").read_bytes().startswith(b"%PDF-")
    spine = cli("label", "--spine", GOOD)
    assert 'height="14mm"' in spine.out


@pytest.mark.parametrize("name", ["a.png", "a"])
def test_another_ending_is_refused(cli: Cli, tmp_path: Path, name: str) -> None:
    ran = cli("label", GOOD, "-o", tmp_path / name)
    assert ran.code == 2
    assert "neither .svg nor .pdf" in ran.err
    assert list(tmp_path.iterdir()) == []


def test_nothing_is_written_over(cli: Cli, tmp_path: Path) -> None:
    (tmp_path / "a.svg").write_text("mine")
    assert cli("label", GOOD, "-o", tmp_path / "a.svg").code == 3
    assert (tmp_path / "a.svg").read_text() == "mine"


def test_the_code_holds_the_digest_of_the_tag_manifest(monkeypatch: pytest.MonkeyPatch) -> None:
    held: list[str] = []

    def code(content: str, **_place: float) -> Any:
        held.append(content)
        return iter(())

    monkeypatch.setattr(layout, "code", code)
    work.label(GOOD, Silent())
    digest = sha256((GOOD / "tagmanifest-sha512.txt").read_bytes()).hexdigest()
    assert held == [f"SKL-0008\ntagmanifest-sha512.txt SHA-256 {digest}"]


def test_what_is_no_package_has_no_label(cli: Cli, tmp_path: Path) -> None:
    told = cli("label", str(tmp_path))
    assert (told.code, told.out) == (1, "")
    assert "is not a package: it has no bagit.txt" in told.err


def test_half_an_archive_has_no_label(cli: Cli, tmp_path: Path) -> None:
    archive = shutil.make_archive(str(tmp_path / "a"), "tar", GOOD.parent, base_dir=GOOD.name)
    os.truncate(archive, 300_000)
    told = cli("label", archive)
    assert (told.code, told.out) == (1, "")
    assert "a.tar could not be read as a whole. `tailsout check` says why" in told.err


def test_a_strangers_bag_without_tag_manifest(tmp_path: Path, cli: Cli) -> None:
    (tmp_path / "FOG-1" / "data").mkdir(parents=True)
    (tmp_path / "FOG-1" / "bagit.txt").write_text("x")
    ran = cli("label", tmp_path / "FOG-1")
    assert ran.code == 0
    assert "FOG-1" in ran.out
