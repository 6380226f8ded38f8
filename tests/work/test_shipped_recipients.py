"""The recipients that come with the program: without a fault, explained, and closed for."""

import re
import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tailsout.bag.disk import Disk
from tailsout.ground.errors import UsageError
from tailsout.ground.findings import Severity
from tailsout.ground.progress import Silent
from tailsout.mapping import schemas
from tailsout.mapping.forms.form import form_of
from tailsout.mapping.forms.job_forms import read_job
from tailsout.mapping.forms.recipients import recipient_of
from tailsout.mapping.names.asked import template_of
from tailsout.mapping.names.fields import Template
from tailsout.records.recipient import Recipient
from tailsout.work.begin import Wish, begin
from tailsout.work.check import check
from tailsout.work.close_out import close
from tailsout.work.recipients import put, shipped

SHIPPED = shipped()
REEL = """
[[reel.sides]]
id = "A"
[[reel.sides.regions]]
id = "A1"
kind = "programme"
capture = "a"
start = 0
speed_ips = 7.5
"""


def read(name: str) -> Recipient:
    form, _ = form_of(SHIPPED[name], f"{name}.toml")
    assert form is not None
    recipient, findings = recipient_of(form)
    assert findings == ()
    assert recipient is not None
    return recipient


def test_there_are_three() -> None:
    assert list(SHIPPED) == ["national-archive", "private-owner", "university-library"]


@pytest.mark.parametrize("name", SHIPPED)
def test_a_form_has_no_fault_and_a_name_that_says_it_is_invented(name: str) -> None:
    recipient = read(name)
    assert recipient.id == name
    assert isinstance(template_of(recipient), Template)
    assert "invented" in SHIPPED[name].decode().split("\n\n")[0]


@pytest.mark.parametrize("name", SHIPPED)
def test_every_table_is_explained_where_it_first_stands(name: str) -> None:
    text = SHIPPED[name].decode()
    tables = dict.fromkeys(re.findall(r"^\[\[?(\w+)\]?\]", text, re.MULTILINE))
    assert tables
    for table in tables:
        first = re.search(rf"^(.*)\n\[\[?{table}\]", text, re.MULTILINE)
        assert first is not None
        assert first[1].startswith("# "), table


def test_together_they_show_every_key_that_a_form_can_have() -> None:
    used = {key for text in SHIPPED.values() for key in tomllib.loads(text.decode())}
    every = set(schemas.schema("recipient-0.1")["properties"]) - {"absent"}
    assert every - used == set()


@pytest.mark.parametrize("name", SHIPPED)
def test_a_job_is_closed_for_each_of_them(
    bench: Any, around: Callable[..., Any], name: str
) -> None:
    assert put(name, bench.studio, Disk())
    bench.fill(bench.wave(own=bench.own_bext()), top=f'recipient = "{name}"', more=REEL)
    outcome = close(bench.job, bench.out, around())
    assert outcome.built is not None
    judged = check(bench.package, Silent()).judgement
    assert not [one for one in judged.findings if one.severity is Severity.MEND]
    assert (bench.package / "metadata/recipient.toml").read_bytes() == SHIPPED[name]
    [master] = (p for p in bench.package.rglob("*") if p.suffix in {".wav", ".flac"})
    assert (
        master.relative_to(bench.package).as_posix()
        == {
            "national-archive": "data/preservation/TT-1_a_pm.wav",
            "university-library": "data/master/tt-1_a_m.flac",
            "private-owner": "data/Recordings/TT-1 A.wav",
        }[name]
    )


def test_the_strict_archive_asks_and_the_private_owner_hardly_does(
    bench: Any, around: Callable[..., Any]
) -> None:
    asked = {}
    for name in ("national-archive", "private-owner"):
        put(name, bench.studio, Disk())
        bench.fill(bench.wave(own=bench.own_bext()), top=f'recipient = "{name}"', more=REEL)
        plan = close(bench.job, bench.out, around(), only_plan=True)
        asked[name] = {f.code for f in plan.judgement.findings if f.severity is Severity.QUERY}
    assert {"asked-not-told", "asked-of-reel-not-told", "photograph-asked"} <= (
        asked["national-archive"]
    )
    assert asked["private-owner"] == set()


# Copied into a studio


def test_begin_writes_the_form_beside_the_job(tmp_path: Path) -> None:
    wish = Wish(studio=tmp_path / "studio", recipient="university-library")
    begun = begin(
        tmp_path / "job", wish, job_id="5f0c7a52-3f5e-4c0e-9a53-6d1f5f3b2c07", disk=Disk()
    )
    assert begun.new_recipient
    path = tmp_path / "studio/recipients/university-library.toml"
    assert path.read_bytes() == SHIPPED["university-library"]
    forms, findings = read_job(begun.job)
    assert findings == ()
    assert forms is not None
    assert forms.recipient is not None
    assert forms.job.data["recipient"] == "university-library"


def test_a_studios_own_form_of_that_name_is_kept(bench: Any) -> None:
    own = bench.studio / "recipients/private-owner.toml"
    own.write_text('id = "private-owner"\n')
    assert not put("private-owner", bench.studio, Disk())
    assert own.read_text() == 'id = "private-owner"\n'


@pytest.mark.parametrize("name", ["nobody", "../studio", "", "a/b"])
def test_a_recipient_that_nobody_has_a_form_of_is_refused(
    bench: Any, tmp_path: Path, name: str
) -> None:
    wish = Wish(studio=bench.studio, recipient=name)
    with pytest.raises(UsageError, match="private-owner") as told:
        begin(tmp_path / "new", wish, job_id="5f0c7a52-3f5e-4c0e-9a53-6d1f5f3b2c07", disk=Disk())
    assert "recipients/" in str(told.value)
    assert not (tmp_path / "new").exists()


def test_a_studios_own_recipient_may_be_named(bench: Any, tmp_path: Path) -> None:
    wish = Wish(studio=bench.studio, recipient="archive")
    begun = begin(
        tmp_path / "new", wish, job_id="5f0c7a52-3f5e-4c0e-9a53-6d1f5f3b2c07", disk=Disk()
    )
    assert not begun.new_recipient
