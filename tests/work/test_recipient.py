"""The recipient's form on its way: into the package, and back out of it."""

import json
from collections.abc import Callable
from typing import Any

import bagit
import pytest
import wavinfo

from tailsout.bag.disk import Disk
from tailsout.ground.errors import MaterialError, TailsoutError
from tailsout.ground.findings import Verdict
from tailsout.ground.progress import Silent
from tailsout.work.bagit_profile import load
from tailsout.work.check import check
from tailsout.work.close_out import Outcome, close
from tailsout.work.opened import open_package
from tailsout.work.pack import pack
from tailsout.work.package import read_package

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
    """Put other octets into a tag file; no tag manifest lists it now, and no receipt is there."""
    bench.package.with_name(f"{bench.package.name}.receipt.json").unlink(missing_ok=True)
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


# Texts that they want in the masters

TEXTS = """id = "archive"
[[embedded]]
chunk = "bext"
field = "Description"
text = "{package}: {role} of {capture}[, {identifier:shelf-mark}]"
[[embedded]]
chunk = "bext"
field = "OriginatorReference"
text = "{capture:upper} {capture-number:03} – été"
[[embedded]]
chunk = "INFO"
field = "IARL"
text = "{studio}"
"""


def test_texts_are_made_of_what_is_known_and_another_reader_finds_them(
    bench: Any, closed: Callable[..., Outcome]
) -> None:
    assert closed(TEXTS).judgement.verdict is Verdict.PASS
    seen = wavinfo.WavInfoReader(str(bench.package / "data/audio/a.wav"))
    assert seen.bext.description == "TT-1: master of a"
    assert seen.bext.originator_ref == "A 001 - ete"
    assert seen.info.archival_location == "Saltpan Row"
    assert check(bench.package, Silent()).judgement.verdict is Verdict.PASS


def test_brackets_stand_where_all_in_them_is_known(
    bench: Any, closed: Callable[..., Outcome]
) -> None:
    more = '[[reel.identifiers]]\nvalue = "HA/7"\nkind = "shelf mark"\n'
    closed(TEXTS, more=more)
    seen = wavinfo.WavInfoReader(str(bench.package / "data/audio/a.wav"))
    assert seen.bext.description == "TT-1: master of a, HA/7"


def test_a_text_that_cannot_be_said_is_told_before_anything_is_written(
    bench: Any, closed: Callable[..., Outcome]
) -> None:
    outcome = closed(TEXTS.replace("[, {identifier:shelf-mark}]", " {side}"))
    found, reduced = outcome.judgement.findings
    assert reduced.code == "bext-text-reduced"
    assert found.code == "embedded-text-not-as-asked"
    assert str(found.place) == "data/audio/a.wav#bext.Description"
    assert "no region says which side lies in it" in found.text
    [again] = check(bench.package, Silent()).judgement.findings
    assert (again.code, again.text) == (found.code, found.text)


def test_a_text_that_is_no_template_stops_the_job_with_its_line(
    bench: Any, closed: Callable[..., Outcome]
) -> None:
    outcome = closed(TEXTS.replace("{studio}", "{studioo}"))
    [found] = outcome.judgement.findings
    assert (found.code, found.place.line) == ("form-reference", 13)
    assert not bench.package.exists()


def test_a_master_whose_field_says_something_else(
    bench: Any, closed: Callable[..., Outcome]
) -> None:
    closed(TEXTS)
    path = bench.package / "data/audio/a.wav"
    path.write_bytes(path.read_bytes().replace(b"Saltpan Row\0", b"Saltpan Raw\0"))
    found = check(bench.package, Silent()).judgement.findings
    told = [(one.code, one.place.part, one.text) for one in found]
    assert (
        "embedded-text-not-as-asked",
        "INFO.IARL",
        "it says 'Saltpan Raw'; wanted is 'Saltpan Row'.",
    ) in told


# Their BagIt Profile, beside their form


def profile(**more: Any) -> str:
    return json.dumps(
        {
            "BagIt-Profile-Info": {
                "BagIt-Profile-Identifier": "https://harbour.example/profile.json",
                "BagIt-Profile-Version": "1.4.0",
                "Source-Organization": "Harbour Archive",
                "External-Description": "What the harbour takes in",
                "Version": "1",
            },
            "Accept-BagIt-Version": ["1.0"],
            **more,
        }
    )


PROFILED = 'id = "archive"\n[bag]\nbagit_profile = "harbour.json"\n'


def test_a_bag_names_their_bagit_profile_and_keeps_it(
    bench: Any, closed: Callable[..., Outcome]
) -> None:
    path = bench.studio / "recipients/harbour.json"
    path.write_text(profile(**{"Manifests-Required": ["sha512"]}))
    outcome = closed(PROFILED)
    assert outcome.judgement.verdict is Verdict.PASS
    named = "BagIt-Profile-Identifier: https://harbour.example/profile.json\n"
    assert named in (bench.package / "bag-info.txt").read_text()
    judged = check(bench.package, Silent(), bagit_profile=load(path)).judgement
    assert judged.findings == ()


def test_a_bag_that_does_not_keep_their_bagit_profile_gets_no_name(
    bench: Any, closed: Callable[..., Outcome]
) -> None:
    path = bench.studio / "recipients/harbour.json"
    path.write_text(profile(**{"Manifests-Required": ["md5"]}))
    with pytest.raises(MaterialError):
        closed(PROFILED)
    assert not bench.package.exists()


@pytest.mark.parametrize("content", [None, "{", "{}"])
def test_a_bagit_profile_that_is_none_stops_before_anything_is_written(
    bench: Any, closed: Callable[..., Outcome], content: str | None
) -> None:
    if content is not None:
        (bench.studio / "recipients/harbour.json").write_text(content)
    with pytest.raises(TailsoutError, match="harbour"):
        closed(PROFILED)
    assert not bench.out.exists()
