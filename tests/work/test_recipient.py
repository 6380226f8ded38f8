"""The recipient's form on its way: into the package, and back out of it."""

from collections.abc import Callable
from typing import Any

import bagit
import pytest

from tailsout.bag.disk import Disk
from tailsout.ground.findings import Verdict
from tailsout.ground.progress import Silent
from tailsout.work.check import check, read_package
from tailsout.work.close_out import Outcome, close
from tailsout.work.opened import open_package
from tailsout.work.pack import pack

FORM = "# what they ask, as of spring\r\nid = \"archive\"\r\nversion = '2026-03'\r\n"


@pytest.fixture
def closed(bench: Any, around: Callable[..., Any]) -> Callable[..., Outcome]:
    """Close a job whose recipient has the form that is given."""

    def make(form: str, **job: str) -> Outcome:
        (bench.studio / "recipients/archive.toml").write_bytes(form.encode())
        bench.fill(bench.wave(own=bench.own_bext()), top='recipient = "archive"', **job)
        return close(bench.job, bench.out, around())

    return make


def reseal(bench: Any, path: str, content: bytes) -> None:
    """Put other octets into a tag file; the tag manifests no longer list it."""
    (bench.package / path).write_bytes(content)
    for manifest in sorted(bench.package.glob("tagmanifest-*.txt")):
        lines = manifest.read_text().splitlines(keepends=True)
        manifest.write_text("".join(line for line in lines if path not in line))


def test_the_form_travels_octet_for_octet(bench: Any, closed: Callable[..., Outcome]) -> None:
    assert closed(FORM).built is not None
    assert (bench.package / "metadata/recipient.toml").read_bytes() == FORM.encode()
    with open_package(bench.package, Silent()) as bag:
        dossier = read_package(bag)
    assert dossier.transfer is not None
    assert dossier.recipient_form == dossier.transfer.recipient
    assert check(bench.package, Silent()).judgement.verdict is Verdict.PASS


def test_a_job_without_a_recipient_has_none(bench: Any, around: Callable[..., Any]) -> None:
    bench.fill(bench.wave(own=bench.own_bext()))
    assert close(bench.job, bench.out, around()).built is not None
    assert not (bench.package / "metadata/recipient.toml").exists()


@pytest.mark.parametrize("content", [b'id = "archive"\n', b"id = ", b"\xff", b"a" * 200_000])
def test_another_form_than_the_side_cars_hold_is_a_query(
    bench: Any, closed: Callable[..., Outcome], content: bytes
) -> None:
    closed(FORM)
    reseal(bench, "metadata/recipient.toml", content)
    checked = check(bench.package, Silent())
    codes = {one.code for one in checked.judgement.findings}
    assert "recipient-form-differs" in codes
    assert checked.judgement.verdict is Verdict.OPEN


@pytest.mark.parametrize(("withheld", "is_told"), [("note", True), ("commission.purpose", False)])
def test_what_is_withheld_is_in_no_file_of_the_package(
    bench: Any, closed: Callable[..., Outcome], withheld: str, *, is_told: bool
) -> None:
    more = '[commission]\npurpose = "for Quill, who is not named"\n'
    outcome = closed(f'id = "archive"\nwithheld = ["{withheld}"]\n', more=more)
    assert outcome.built is not None
    files = [path for path in bench.package.rglob("*") if path.is_file()]
    assert any(b"Quill" in path.read_bytes() for path in files) is is_told
    assert "withheld-travels" not in {one.code for one in outcome.judgement.findings}


def test_a_contradiction_stops_the_job_before_anything_is_written(
    bench: Any, closed: Callable[..., Outcome]
) -> None:
    outcome = closed('id = "archive"\nwithheld = ["captures"]\n')
    [found] = outcome.judgement.findings
    assert (found.code, found.place.line) == ("recipient-contradicts", 2)
    assert not bench.package.exists()


# The bag as they want it


def test_a_bag_of_the_version_before_is_good_to_us_and_to_the_general_library(
    bench: Any, closed: Callable[..., Outcome]
) -> None:
    outcome = closed('id = "archive"\nextra_algorithms = ["md5"]\n[bag]\nversion = "0.97"\n')
    assert outcome.judgement.verdict is Verdict.PASS
    said = (bench.package / "bagit.txt").read_bytes()
    assert said == b"BagIt-Version: 0.97\nTag-File-Character-Encoding: UTF-8\n"
    checked = check(bench.package, Silent())
    assert checked.judgement.verdict is Verdict.PASS
    assert checked.judgement.findings == outcome.judgement.findings == ()
    assert bagit.Bag(str(bench.package)).is_valid()


@pytest.mark.parametrize("version", ["1.0", "0.97"])
def test_a_bag_of_another_version_than_is_asked(
    bench: Any, closed: Callable[..., Outcome], version: str
) -> None:
    closed(f'id = "archive"\n[bag]\nversion = "{version}"\n')
    other = {"1.0": "0.97", "0.97": "1.0"}[version]
    content = (bench.package / "bagit.txt").read_bytes().replace(version.encode(), other.encode())
    reseal(bench, "bagit.txt", content)
    codes = {one.code for one in check(bench.package, Silent()).judgement.findings}
    assert "bag-version-asked" in codes


def test_that_they_want_an_archive_is_told_before_anything_is_written(
    bench: Any, closed: Callable[..., Outcome]
) -> None:
    outcome = closed('id = "archive"\n[bag]\nserialisation = "tar"\n')
    [found] = outcome.judgement.findings
    assert (found.code, found.place.file) == ("bag-form-asked", "studio/recipients/archive.toml")
    assert (found.place.line, found.place.part) == (3, "bag.serialisation")
    assert outcome.judgement.verdict is Verdict.PASS
    packed = pack(bench.package, bench.root, disk=Disk(), progress=Silent())
    assert packed.judgement.findings == ()
