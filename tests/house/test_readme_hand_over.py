"""The README's page for the archivist shows what is printed; figures of samples may change."""

import re
import shutil
from pathlib import Path

import pytest

from tailsout.doors.cli import run

ROOT = Path(__file__).resolve().parents[2]
README = (ROOT / "README.md").read_text("utf-8")
SAMPLES = ROOT / "sample_packages"


def excerpt(title: str) -> str:
    match = re.search(rf"<!-- shown by: {title} -->\n```[a-z]*\n(.*?)```\n", README, re.DOTALL)
    assert match is not None, title
    return match[1]


def counted(text: str) -> str:
    """Without sizes, which follow the samples."""
    return re.sub(r"[0-9.]+ (files|kB|MB|octets)", r"# \1", text)


@pytest.fixture(autouse=True)
def _desk(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Three packages and a drive, on a day of March."""
    monkeypatch.setenv("SOURCE_DATE_EPOCH", "1773997200")
    monkeypatch.chdir(tmp_path)
    Path("DRIVE").mkdir()
    for name, sample in (
        ("SKL-0008", "good/skerrow-light"),
        ("SKL-0009", "broken/dates-out-of-order"),
        ("SKL-0010", "broken/file-missing"),
    ):
        shutil.copytree(SAMPLES / sample / "package", Path("packages", name))


def test_a_delivery(capsys: pytest.CaptureFixture[str]) -> None:
    names = ["SKL-0008", "SKL-0009", "SKL-0010"]
    Path("sent.csv").write_text("\n".join(["identifier", *names, "SKL-0012"]))
    words = ["-o", "DRIVE", "--volume", "HA00000012", "--listed", "sent.csv"]
    assert run(["deliver", *(f"packages/{name}" for name in names), *words]) == 1
    shown = counted(excerpt("delivery on a drive"))
    assert shown in counted(capsys.readouterr().out)


def test_receipt_and_judgement(capsys: pytest.CaptureFixture[str]) -> None:
    made = ["packages/SKL-0008", "packages/SKL-0009"]
    assert run(["deliver", *made, "-o", "DRIVE", "--volume", "HA00000012"]) == 0
    shutil.move("packages/SKL-0010", "DRIVE")
    capsys.readouterr()
    words = ["--within", "30", "--virus-scan", "nothing found"]
    assert run(["receive", "DRIVE", "-o", "received", *words]) == 1
    shown = counted(excerpt("receipt and judgement of a drive"))
    assert shown == counted(capsys.readouterr().out)
