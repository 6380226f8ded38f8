"""The report in the package and the one made of it later."""

import hashlib
import json
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tailsout.ground.progress import Silent
from tailsout.work.close_out import close
from tailsout.work.export import export
from tailsout.work.report import for_owner, report


def body(octets: bytes) -> str:
    """A page without its findings, which are placed in the job or in the package."""
    return re.sub('(?s)<section aria-labelledby="findings">.*?</section>', "", octets.decode())


def test_it_lies_in_the_package_and_is_what_is_made_of_the_package_later(
    bench: Any, around: Callable[..., Any]
) -> None:
    bench.fill()
    assert close(bench.job, bench.out, around()).built is not None
    packed = (bench.package / "metadata/report.html").read_bytes()
    made = report(bench.package, Silent())
    assert body(packed) == body(made)
    assert b"before the package was packed" in packed
    assert b"were not read through" in made


def test_it_tells_digests_and_instant_as_the_side_car_does(
    bench: Any, around: Callable[..., Any]
) -> None:
    bench.fill()
    close(bench.job, bench.out, around())
    page = (bench.package / "metadata/report.html").read_text("utf-8")
    car = json.loads((bench.package / "data/audio/a.json").read_bytes())
    assert car["this_file"]["sha256"] in page
    assert car["written"] == "2026-03-15T08:00:00Z"
    assert "2026-03-15 08:00:00 UTC" in page
    assert car["software"] in page


def test_a_strangers_bag_has_one_too(tmp_path: Path) -> None:
    bag = tmp_path / "FOG-1"
    (bag / "data").mkdir(parents=True)
    (bag / "bagit.txt").write_text("BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n")
    (bag / "data" / "log.txt").write_text("fog")
    (bag / "manifest-md5.txt").write_text("0" * 32 + "  data/log.txt\n")
    page = report(bag, Silent()).decode()
    assert "carries no side-car of ours" in page
    assert "data/log.txt" in page
    assert "0" * 32 in page


@pytest.mark.parametrize(
    ("bag_info", "told"),
    [
        ("Bagging-Date: 2026-03-15\n", "2026-03-15"),
        ("Bagging-Date: spring\n", "spring"),
        ("", "not stated"),
    ],
)
def test_when_a_stranger_wrote_it_is_told_alike_on_both_ways(
    tmp_path: Path, bag_info: str, told: str
) -> None:
    (tmp_path / "data").mkdir()
    (tmp_path / "bagit.txt").write_text("BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n")
    (tmp_path / "bag-info.txt").write_text(bag_info)
    (tmp_path / "manifest-md5.txt").write_text("")
    page = report(tmp_path, Silent())
    assert page == export(tmp_path, "report", Silent()).content
    assert f"<dt>Written</dt><dd>{told}</dd>" in re.sub(r">\s+<", "><", page.decode())


def test_the_owners_page_has_the_digest_that_proves_the_lists() -> None:
    package = next(Path(__file__).resolve().parents[2].glob("sample_packages/good/*/package"))
    digest = hashlib.sha512((package / "tagmanifest-sha512.txt").read_bytes()).hexdigest()
    assert digest in for_owner(package, Silent()).decode("utf-8")
