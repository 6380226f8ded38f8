"""A job begun: forms that can be filled in as they are, and nothing written over."""

import errno
import os
import tomllib
from pathlib import Path
from typing import Any

import pytest

from tailsout.bag.disk import Disk
from tailsout.ground.errors import MaterialError, RefusedError, SurroundingsError, UsageError
from tailsout.mapping.forms.reading import read_job
from tailsout.work.begin import Begun, Wish, begin, proposed_id
from tailsout.work.close_out import close

JOB_ID = "0b4e3c1e-6a0e-4e0b-9a53-6d1f5f3b2c07"


def begun(job: Path, *, disk: Disk | None = None, **wished: Any) -> Begun:
    return begin(job, Wish(**wished), job_id=JOB_ID, disk=disk or Disk())


def test_a_new_job_and_a_new_studio(tmp_path: Path) -> None:
    told = begun(tmp_path / "jobs/reel 7", studio=tmp_path / "studio", identifier='HA/7 "x"')
    assert told == Begun(
        job=tmp_path / "jobs/reel 7",
        package_id="HA-7-x",
        studio=tmp_path / "studio",
        new_studio=True,
        new_session=False,
    )
    job = tomllib.loads((told.job / "job.toml").read_text())
    assert job == {
        "job_id": JOB_ID,
        "package_id": "HA-7-x",
        "studio": "../../studio",
        "reel": {"identifiers": [{"value": 'HA/7 "x"'}]},
    }
    assert sorted(p.name for p in told.job.iterdir()) == [
        "captures",
        "documents",
        "images",
        "job.toml",
    ]
    forms = sorted(p.relative_to(told.studio).as_posix() for p in told.studio.rglob("*.toml"))
    assert forms == [
        "calibration_tapes/first-tape.toml",
        "converters/first-converter.toml",
        "machines/first-machine.toml",
        "people.toml",
        "recipients/first-recipient.toml",
        "studio.toml",
    ]


def test_the_forms_as_begun_are_read_without_a_fault(tmp_path: Path, around: Any) -> None:
    told = begun(tmp_path / "job", studio=tmp_path / "studio")
    forms, findings = read_job(told.job)
    assert findings == ()
    assert forms is not None
    assert list(forms.machines) == ["first-machine"]
    with pytest.raises(MaterialError, match="names no capture"):
        close(told.job, tmp_path / "out", around())


def test_the_nearest_studio_above_is_taken_and_left_as_it_is(tmp_path: Path) -> None:
    begun(tmp_path / "studio/jobs/one", studio=tmp_path / "studio")
    form = tmp_path / "studio/people.toml"
    form.write_text("# ours\n")
    told = begun(tmp_path / "studio/jobs/two")
    assert (told.studio, told.new_studio) == (tmp_path / "studio", False)
    assert form.read_text() == "# ours\n"
    assert tomllib.loads((told.job / "job.toml").read_text())["studio"] == "../.."


def test_forms_that_lie_in_a_folder_before_it_is_a_studio_are_kept(tmp_path: Path) -> None:
    (tmp_path / "studio").mkdir()
    (tmp_path / "studio/people.toml").write_text("# ours\n")
    assert begun(tmp_path / "job", studio=tmp_path / "studio").new_studio
    assert (tmp_path / "studio/people.toml").read_text() == "# ours\n"


def test_without_a_studio_nothing_is_begun(tmp_path: Path) -> None:
    with pytest.raises(UsageError, match="No studio folder is named"):
        begun(tmp_path / "job")
    assert list(tmp_path.iterdir()) == []


def test_a_job_is_never_written_over(tmp_path: Path, bench: Any) -> None:
    begun(tmp_path / "new", studio=tmp_path / "studio")
    before = bench.tree(tmp_path, times=True)
    with pytest.raises(RefusedError, match=r"holds a job\.toml already"):
        begun(tmp_path / "new", studio=tmp_path / "studio")
    assert bench.tree(tmp_path, times=True) == before


def test_captures_that_lie_there_already_are_kept(bench: Any) -> None:
    capture = bench.fill()
    (bench.job / "job.toml").unlink()
    content = capture.read_bytes()
    begun(bench.job, studio=bench.studio)
    assert capture.read_bytes() == content


@pytest.mark.parametrize("name", ["file", "file/below", "x" * 300])
def test_a_place_that_cannot_be_made(tmp_path: Path, name: str) -> None:
    (tmp_path / "file").write_bytes(b"")
    with pytest.raises(SurroundingsError, match="Writing the forms of"):
        begun(tmp_path / name, studio=tmp_path / "studio")


def test_a_full_disk_leaves_no_job(tmp_path: Path) -> None:
    class Full(Disk):
        def write(self, descriptor: int, block: memoryview) -> int:
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    with pytest.raises(SurroundingsError, match="The disk is full"):
        begun(tmp_path / "job", studio=tmp_path / "studio", disk=Full())
    assert [p for p in tmp_path.rglob("*") if p.is_file()] == []


@pytest.mark.parametrize(
    ("text", "package_id"),
    [
        ("HA/SKL/7", "HA-SKL-7"),
        ("  0000418207 ", "0000418207"),
        ("../up", "up"),
        ("Größe 7½", "Gr-e-7"),
        ("½", "reel"),
        (".-.", "reel"),
        ("x" * 70, "x" * 64),
        ("x" * 63 + "/y", "x" * 63),
    ],
)
def test_an_id_is_made_of_any_identifier(text: str, package_id: str) -> None:
    assert proposed_id(text) == package_id
