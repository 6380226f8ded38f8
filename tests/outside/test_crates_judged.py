"""RO-Crates of a package of ours and of strangers' bags, held against roc-validator's profile 1.2.

It runs in an environment of its own, which `.ci/run` makes; see `crate_judge.py`. The context is
the one that `rocrate` brings along: that of 1.3, which has every term of 1.2.
"""

import json
import os
import shutil
import subprocess
import sys
from collections.abc import Mapping
from importlib.util import find_spec
from pathlib import Path

import pytest

from tailsout.bag.open import open_bag
from tailsout.mapping.naming import CRATE
from tailsout.records.dossier import Dossier
from tailsout.views import crate
from tailsout.work.package import read_package

pytestmark = pytest.mark.oracles

JUDGE = Path(__file__).with_name("crate_judge.py")
PYTHON = Path(os.environ.get("TAILSOUT_CRATE_PYTHON") or Path(sys.prefix) / "crate/bin/python")

MISSED = {
    "An Organization entity SHOULD have a ROR identifier": "nobody states one",
    "A Person entity SHOULD have an ORCID identifier": "nobody states one",
    "The organization SHOULD have a URL": "nobody states one",
    "Encoding format entities SHOULD include WebPage and/or Standard types": (
        "ours are both; it asks every type that it infers above them to be one of the two"
    ),
}
"""What is recommended and missed nevertheless, by the beginning of the validator's sentence."""


def bag(folder: Path, bag_info: str) -> Dossier:
    """A bag as anybody might make it, of which nothing is known but its files."""
    files = {
        "tape 1/Größe #1 50%.wav": b"RIFF\4\0\0\0WAVE",
        "notes.txt": b"",
        "a;b.png": b"\x89PNG",
    }
    for name, content in files.items():
        path = folder / "data" / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(content)
    (folder / "bagit.txt").write_text("BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n")
    (folder / "bag-info.txt").write_text(bag_info)
    (folder / "manifest-md5.txt").write_text("")
    return read(folder)


def read(folder: Path) -> Dossier:
    with open_bag(folder) as opened:
        return read_package(opened)


@pytest.fixture(scope="module")
def said(
    package: Path, tmp_path_factory: pytest.TempPathFactory
) -> Mapping[str, dict[str, list[str]]]:
    """What the validator has against each crate, by severity."""
    if not PYTHON.exists():
        pytest.skip("roc-validator is not there: see .ci/run")
    base = tmp_path_factory.mktemp("crates")
    shutil.copytree(package / "data", base / "ours/data")
    dossiers = {
        "ours": read(package),
        "dated": bag(base / "dated", "Bagging-Date: 2026-03-15\nSource-Organization: Quay\n"),
        "undated": bag(base / "undated", ""),
    }
    for name, dossier in dossiers.items():
        (base / name / CRATE).write_bytes(crate.render(dossier, (), {}))
    folders = [str(base / name / "data") for name in dossiers]
    spec = find_spec("rocrate")
    assert spec is not None
    assert spec.origin is not None
    context = Path(spec.origin).with_name("data") / "ro-crate.jsonld"
    ran = subprocess.run(
        [PYTHON, JUDGE, context, *folders], check=True, capture_output=True, text=True
    )
    found: dict[str, dict[str, list[str]]] = {}
    for folder, issues in json.loads(ran.stdout).items():
        of_crate = found.setdefault(Path(folder).parent.name, {})
        for severity, _, message in issues:
            of_crate.setdefault(severity, []).append(message)
    return found


@pytest.mark.parametrize("name", ["ours", "dated"])
def test_a_crate_has_all_that_is_required(
    said: Mapping[str, dict[str, list[str]]], name: str
) -> None:
    assert said[name].get("REQUIRED", []) == []


def test_a_crate_that_lacks_what_is_required_is_reported(
    said: Mapping[str, dict[str, list[str]]],
) -> None:
    (one,) = said["undated"]["REQUIRED"]
    assert "datePublished" in one


def test_what_is_recommended_is_told_where_it_is_known(
    said: Mapping[str, dict[str, list[str]]],
) -> None:
    assert {severity for one in said.values() for severity in one} <= {"REQUIRED", "RECOMMENDED"}
    missed = [
        message
        for message in said["ours"].get("RECOMMENDED", [])
        if not message.startswith(tuple(MISSED))
    ]
    assert missed == []
