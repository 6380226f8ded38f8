"""Captures of calibration tapes and of the chain at rest: packed once a session, told in each."""

import hashlib
import json
import os
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tailsout.bag.disk import Disk
from tailsout.ground.errors import MaterialError, SurroundingsError
from tailsout.work.check import check
from tailsout.work.close_out import Outcome, close
from tailsout.work.recount import recount

LONG_AGO = 1_700_000_000
SESSION = """\
id = "2026-03-14-left"
on = 2026-03-14
machine = "left"

[[settings]]
id = "7-nab"
capture = "left.wav"
found_capture = "found.wav"
"""
RUN = """\
[[passes]]
id = "p1"
session = "2026-03-14-left"
on = 2026-03-14
"""
IN_PACKAGE = "data/calibration/2026-03-14-left"


class Row:
    """A studio with a session and its captures, and jobs in it."""

    def __init__(self, bench: Any, around: Callable[..., Any]) -> None:
        self.bench, self.around = bench, around
        self.folder = bench.studio / "sessions" / "2026-03-14-left"
        self.folder.mkdir(parents=True)
        self.form = self.folder.with_suffix(".toml")
        self.form.write_text(SESSION)
        for number, name in enumerate(("left.wav", "found.wav")):
            self.lay(name, bench.wave(frames=1000 + number))

    def lay(self, name: str, content: bytes) -> Path:
        path: Path = self.folder / name
        path.write_bytes(content)
        os.utime(path, (LONG_AGO, LONG_AGO))
        return path

    def close(self, package_id: str = "TT-1", *, top: str = "", **given: Any) -> Outcome:
        self.bench.package_id = package_id
        self.bench.fill(top=top, more=RUN)
        return close(self.bench.job, self.bench.out, self.around(), **given)

    def told(self, package_id: str) -> list[dict[str, Any]]:
        page = self.bench.out / package_id / "data" / "audio" / "a.json"
        told: list[dict[str, Any]] = json.loads(page.read_bytes())["calibrations"]
        return told

    def packed(self, package_id: str) -> list[str]:
        base = self.bench.out / package_id
        found = (base / "data").rglob("calibration/**/*.wav")
        return sorted(path.relative_to(base).as_posix() for path in found)


@pytest.fixture
def row(bench: Any, around: Callable[..., Any]) -> Row:
    return Row(bench, around)


def test_they_are_packed_octet_for_octet_and_told(row: Row) -> None:
    row.close()
    assert row.packed("TT-1") == [f"{IN_PACKAGE}/found.wav", f"{IN_PACKAGE}/left.wav"]
    found, left = row.told("TT-1")
    for one, moment, name in ((found, "as found", "found.wav"), (left, "as left", "left.wav")):
        content = (row.folder / name).read_bytes()
        assert (row.bench.package / IN_PACKAGE / name).read_bytes() == content
        assert one["moment"] == moment
        assert one["path"] == f"{IN_PACKAGE}/{name}"
        assert one["packed_in"] == "TT-1"
        assert one["octets"] == len(content)
        assert one["sha256"] == hashlib.sha256(content).hexdigest()


def test_what_tells_of_them_is_checked_and_no_side_car_is_missed(row: Row) -> None:
    row.close()
    checked = check(row.bench.package, row.around().progress)
    assert [f.code for f in checked.judgement.findings] == []


def test_a_later_package_of_the_session_names_the_first(row: Row) -> None:
    row.close("TT-1")
    row.close("TT-2")
    assert row.packed("TT-2") == []
    for one, first in zip(row.told("TT-2"), row.told("TT-1"), strict=True):
        assert "path" not in one
        assert one["packed_in"] == "TT-1"
        assert one["sha256"] == first["sha256"]


def test_what_changed_since_is_packed_again(row: Row) -> None:
    row.close("TT-1")
    row.lay("left.wav", row.bench.wave(frames=7000))
    row.close("TT-2")
    assert row.packed("TT-2") == [f"{IN_PACKAGE}/left.wav"]


def test_a_later_package_may_hold_them_on_request(row: Row) -> None:
    row.close("TT-1")
    row.close("TT-2", with_calibration=True)
    assert len(row.packed("TT-2")) == 2
    assert {one["packed_in"] for one in row.told("TT-2")} == {"TT-2"}


def test_a_lost_logbook_is_told_again_by_the_packages(row: Row) -> None:
    row.close("TT-1")
    (row.bench.studio / "logbook" / "left.jsonl").unlink()
    recount([row.bench.out], row.bench.studio, disk=Disk(), progress=row.around().progress)
    row.close("TT-2")
    assert row.packed("TT-2") == []


def test_two_settings_may_rest_on_one_capture(row: Row) -> None:
    row.form.write_text(SESSION + '[[settings]]\nid = "7-iec"\ncapture = "left.wav"\n')
    row.close()
    assert len(row.packed("TT-1")) == 2
    assert [one["setting"] for one in row.told("TT-1")] == ["7-nab", "7-nab", "7-iec"]


def test_the_plan_tells_which_are_packed(row: Row) -> None:
    outcome = row.close(only_plan=True)
    assert outcome.plan is not None
    paths = [item.path for item in outcome.plan.payload]
    assert f"{IN_PACKAGE}/left.wav" in paths
    row.close()
    again = row.close("TT-2", only_plan=True)
    assert again.plan is not None
    assert not [item.path for item in again.plan.payload if "calibration" in item.path]


def test_one_that_is_not_there_is_told_in_the_sessions_form(row: Row) -> None:
    (row.folder / "found.wav").unlink()
    (finding,) = row.close().judgement.findings
    assert finding.code == "form-reference"
    assert str(finding.place) == "studio/sessions/2026-03-14-left.toml:8 settings[1].found_capture"
    assert finding.text == (
        "there is no file 'found.wav' in the folder 2026-03-14-left beside this form."
    )


def test_one_beyond_the_sessions_folder_is_not_taken(row: Row) -> None:
    (row.folder.parent / "away.wav").write_bytes(row.bench.wave())
    row.form.write_text(SESSION.replace("left.wav", "../away.wav"))
    assert [f.code for f in row.close().judgement.findings] == ["form-reference"]


def test_one_that_is_still_growing_stops_the_close(row: Row) -> None:
    (row.folder / "left.wav").touch()
    with pytest.raises(SurroundingsError, match=r"left\.wav changed within the last 5 seconds"):
        row.close()
    assert row.bench.left() == []


def test_one_that_is_no_audio_stops_the_close(row: Row) -> None:
    row.lay("left.wav", b"no audio at all")
    with pytest.raises(MaterialError, match=r"left\.wav is not a sound audio file: The file is no"):
        row.close()
    assert row.bench.left() == []


@pytest.mark.parametrize("name", ["left.wav", "found.wav"])
def test_another_file_in_its_place_is_told(row: Row, name: str, reseal: Any) -> None:
    row.close()
    path = row.bench.package / IN_PACKAGE / name
    path.write_bytes(path.read_bytes()[:-20] + b"\x55" * 10 + path.read_bytes()[-10:])
    reseal(row.bench.package)
    findings = check(row.bench.package, row.around().progress).judgement.findings
    assert [(f.code, str(f.place)) for f in findings] == [
        ("calibration-capture-differs", f"{IN_PACKAGE}/{name}")
    ]
    assert findings[0].text == "the manifests list another sha256 for it than the side-cars."


def test_one_taken_out_of_a_package_is_told(row: Row, reseal: Any) -> None:
    row.close()
    (row.bench.package / IN_PACKAGE / "left.wav").unlink()
    reseal(row.bench.package)
    findings = check(row.bench.package, row.around().progress).judgement.findings
    (finding,) = (one for one in findings if one.code != "oxum-differs")
    assert finding.code == "calibration-capture-differs"
    assert finding.text == "the side-cars tell of it, and it is not there."


def test_the_chain_at_rest_is_packed_and_measured(bench: Any, around: Callable[..., Any]) -> None:
    bench.put("captures/rest.wav", bench.wave(frames=5000))
    bench.fill()
    form = bench.job / "job.toml"
    form.write_text(form.read_text() + 'at_rest = "captures/rest.wav"\n')
    close(bench.job, bench.out, around())
    page = json.loads((bench.package / "data" / "audio" / "a.json").read_bytes())
    (rest,) = page["at_rest"]
    assert rest["path"] == "data/calibration/at-rest/captures/rest.wav"
    assert (bench.package / rest["path"]).read_bytes() == bench.wave(frames=5000)
    assert rest["captures"] == ["a"]
    assert rest["measured"]["frames"] == 5000
    assert [f.code for f in check(bench.package, around().progress).judgement.findings] == []


def test_the_readme_says_where_they_lie(row: Row) -> None:
    row.close("TT-1")
    row.close("TT-2")
    first, second = (
        (row.bench.out / name / "metadata" / "README.txt").read_text() for name in ("TT-1", "TT-2")
    )
    assert f"{IN_PACKAGE}/left.wav\n    what the machine played of a calibration tape" in first
    assert "left.wav (not here)\n" in second
    assert "lies in the package TT-1," in " ".join(second.split())
