"""`tailsout amend` at the command line: what is asked together, and what is printed."""

import shutil
from pathlib import Path

import pytest

from tailsout.doors.cli import run

KEPT = Path(__file__).resolve().parents[2] / "sample_packages"
FORM = 'by = "isolde"\non = 2026-05-02\nwhy = "the owner\'s letter"\n[[statements]]\n'


@pytest.fixture
def package(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    shutil.copytree(KEPT / "good" / "skerrow-light" / "package", "SKL-0008")
    Path("fix.toml").write_text(
        FORM + 'at = "reel.title"\nchange = "corrected"\nnow = "Log of the winter"\n'
    )
    Path("hide.toml").write_text(FORM + 'at = "reel.title"\nchange = "withheld"\n')
    return tmp_path


@pytest.mark.parametrize(
    "arguments",
    [
        [],
        ["--begin", "x", "--with", "y"],
        ["--begin", "x", "--discard"],
        ["--discard", "--resume"],
        ["--with", "fix.toml", "--plan", "--resume"],
        ["--with", "nowhere.toml"],
    ],
)
@pytest.mark.usefixtures("package")
def test_what_does_not_go_together(arguments: list[str]) -> None:
    before = sorted(Path().rglob("*"))
    assert run(["amend", "SKL-0008", *arguments]) == 2
    assert sorted(Path().rglob("*")) == before


@pytest.mark.usefixtures("package")
def test_a_form_is_begun_once(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["amend", "SKL-0008", "--begin", "new.toml"]) == 0
    assert "--with new.toml --plan" in capsys.readouterr().out
    text = Path("new.toml").read_text()
    assert '#why = "' in text
    assert "#[[statements]]" in text
    assert run(["amend", "SKL-0008", "--begin", "new.toml"]) == 3


@pytest.mark.usefixtures("package")
def test_a_new_version_stands_beside_the_old_one(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["amend", "SKL-0008", "--with", "fix.toml", "--plan"]) == 0
    assert "Would be written below" in capsys.readouterr().out
    assert run(["amend", "SKL-0008", "--with", "fix.toml"]) == 0
    told = capsys.readouterr().out
    assert "Version 2 supersedes SKL-0008." in told
    assert "corrected /transfer/reel/title: 'Skerrow Light" in told
    assert "→ 'Log of the winter'" in told
    assert "header renewed data/audio/skl8-side-a.wav" in told
    assert "may hold it" not in told
    assert Path("SKL-0008.v2.receipt.json").is_file()
    assert run(["check", "SKL-0008.v2"]) == 0
    assert run(["amend", "SKL-0008", "--with", "fix.toml"]) == 3


@pytest.mark.usefixtures("package")
def test_who_withholds_is_told_where_it_can_still_be_read(
    capsys: pytest.CaptureFixture[str],
) -> None:
    assert run(["amend", "SKL-0008", "--with", "hide.toml", "-o", "out"]) == 0
    told = capsys.readouterr().out
    assert "withheld /transfer/reel/title\n" in told
    assert "these may hold it: SKL-0008; so may every copy" in told
    assert "spoken log of the keeper, reel 8" not in told
    assert run(["show", "out/SKL-0008.v2"]) == 0
    assert "Version 2, which supersedes SKL-0008" in capsys.readouterr().out


@pytest.mark.usefixtures("package")
def test_a_form_with_a_fault_writes_nothing(capsys: pytest.CaptureFixture[str]) -> None:
    Path("fix.toml").write_text(FORM + 'at = "reel.titel"\nchange = "withheld"\n')
    assert run(["amend", "SKL-0008", "--with", "fix.toml"]) == 1
    told = capsys.readouterr().out
    assert "at fix.toml:5 statements[1].at" in told
    assert "Nothing was written." in told
    assert not Path("SKL-0008.v2").exists()


@pytest.mark.usefixtures("package")
def test_damage_is_no_matter_for_an_amendment(capsys: pytest.CaptureFixture[str]) -> None:
    master = Path("SKL-0008/data/audio/skl8-side-b.wav")
    content = bytearray(master.read_bytes())
    content[50_000] ^= 1
    master.write_bytes(content)
    assert run(["amend", "SKL-0008", "--with", "fix.toml"]) == 1
    assert "damage cannot be amended away" in capsys.readouterr().err
    assert run(["amend", "SKL-0008", "--discard"]) == 0


@pytest.mark.usefixtures("package")
def test_a_package_that_is_not_there() -> None:
    assert run(["amend", "SKL-0009", "--with", "fix.toml"]) == 2
