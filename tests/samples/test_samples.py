"""The kept packages: what a check says of each is what was written down by hand."""

import json
import os
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from tailsout.doors.cli import run
from tailsout.ground.progress import Silent
from tailsout.work.check import check

ROOT = Path(__file__).resolve().parents[2]
KEPT = ROOT / "sample_packages"
GOOD = sorted((KEPT / "good").iterdir())
BROKEN = sorted((KEPT / "broken").iterdir())
SAMPLES = [pytest.param(path, id=path.name) for path in (*GOOD, *BROKEN)]
REMAKE = Path(__file__).with_name("remake.py")
LARGEST = 900_000


def load(path: Path) -> Any:
    return json.loads(path.read_bytes())


def tree(folder: Path) -> dict[str, bytes]:
    """Return every file by its path; an empty folder would not survive in a repository."""
    return {
        path.relative_to(folder).as_posix(): path.read_bytes()
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }


@pytest.fixture(scope="session")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("samples")
    subprocess.run([sys.executable, REMAKE, folder], check=True, cwd=folder)
    return folder


@pytest.mark.parametrize("sample", SAMPLES)
def test_codes_places_and_verdict_are_those_expected(sample: Path) -> None:
    judgement = check(sample / "package", Silent()).judgement
    found = [
        {"code": one.code, "place": str(one.place), "answered": bool(one.answered)}
        for one in judgement.findings
    ]
    expected = load(sample / "expected.json")
    assert found == expected["findings"]
    assert judgement.verdict.value == expected["verdict"]


@pytest.mark.parametrize("sample", SAMPLES)
def test_the_command_line_exits_and_says_so(
    sample: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    expected = load(sample / "expected.json")
    assert run(["check", str(sample / "package"), "--json"]) == expected["exit"]
    told = json.loads(capsys.readouterr().out)
    assert told["verdict"] == expected["verdict"]
    found = [
        {"code": one["code"], "place": one["place"], "answered": "answered" in one}
        for one in told["findings"]
    ]
    assert found == expected["findings"]


@pytest.mark.parametrize("sample", [pytest.param(path, id=path.name) for path in BROKEN])
def test_a_broken_sample_shows_the_finding_it_is_named_after(sample: Path) -> None:
    codes = [finding["code"] for finding in load(sample / "expected.json")["findings"]]
    assert sample.name in codes


@pytest.mark.parametrize("sample", [pytest.param(path, id=path.name) for path in BROKEN])
def test_a_broken_sample_differs_by_the_mutation_recorded(sample: Path) -> None:
    recorded = load(sample / "how_made.json")
    assert sorted(recorded) == ["from", "mutation", "reseal"]
    good = tree(KEPT / "good" / recorded["from"] / "package")
    now = tree(sample / "package")
    assert now.keys() <= good.keys()
    mutation = recorded["mutation"]
    mutated = set(mutation.get("files", [mutation.get("file")]))
    differing = {name for name in good if good[name] != now.get(name)}
    sealing = {name for name in good if "manifest-" in name or name == "bag-info.txt"}
    # They quote the manifests, so that they are made anew with them.
    sealing |= {"metadata/premis.xml", "metadata/mets.xml", "metadata/pbcore.xml"}
    assert mutated <= differing
    assert differing - mutated <= (sealing if recorded["reseal"] else set())


def test_every_sample_is_what_the_command_makes_now(made: Path) -> None:
    kept, now = tree(KEPT), tree(made)
    assert sorted(kept) == sorted(now)
    assert [name for name in kept if kept[name] != now[name]] == []


def test_the_same_command_makes_the_same_octets_elsewhere(made: Path, tmp_path: Path) -> None:
    surroundings = {**os.environ, "TZ": "Pacific/Auckland", "PYTHONHASHSEED": "7", "LC_ALL": "C"}
    command = f"umask 077 && exec '{sys.executable}' '{REMAKE}' '{tmp_path}'"
    subprocess.run(["sh", "-c", command], check=True, cwd=tmp_path, env=surroundings)
    assert tree(tmp_path) == tree(made)


@pytest.mark.parametrize("sample", SAMPLES)
def test_a_sample_stays_small(sample: Path) -> None:
    assert sum(len(content) for content in tree(sample).values()) < LARGEST


def test_git_keeps_the_octets_of_samples() -> None:
    lines = (ROOT / ".gitattributes").read_text(encoding="utf-8").splitlines()
    assert "sample_packages/** -text" in lines
