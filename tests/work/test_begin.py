"""A job begun: forms that can be filled in as they are, and nothing written over."""

import errno
import itertools
import os
import re
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from tailsout.bag.disk import Disk
from tailsout.ground.errors import MaterialError, RefusedError, SurroundingsError, UsageError
from tailsout.ground.progress import Silent
from tailsout.mapping.forms.job_forms import read_job
from tailsout.work.begin import Begun, Wish, begin, proposed_id
from tailsout.work.close_out import close
from tailsout.work.job import state
from tailsout.work.located import find

JOB_ID = "0b4e3c1e-6a0e-4e0b-9a53-6d1f5f3b2c07"


def begun(job: Path, *, disk: Disk | None = None, **wished: Any) -> Begun:
    return begin(job, Wish(**wished), job_id=JOB_ID, disk=disk or Disk())


def every_row(text: str) -> str:
    """A form with the # taken away from all it offers."""
    return re.sub(r"^#(?! )", "", text, flags=re.MULTILINE)


def told_in(job: Path) -> dict[str, Any]:
    return tomllib.loads((job / "job.toml").read_text("utf-8"))


def leaves(value: Any, at: str = "") -> Iterator[str]:
    """Every key that holds a value, as `reel.sides.id`."""
    if isinstance(value, dict):
        for key, inside in value.items():
            yield from leaves(inside, f"{at}.{key}" if at else key)
    elif isinstance(value, list) and value and isinstance(value[0], dict):
        for inside in value:
            yield from leaves(inside, at)
    else:
        yield at


def faults(job: Path) -> list[tuple[str, str]]:
    """Code and part of everything that closing would find wrong with the forms of a job."""
    forms, findings = read_job(job)
    if forms is None:
        return [(f.code, f.place.part) for f in findings]
    _, missing = find(job, forms)
    found = (*state(job, forms, (), Silent()).findings, *missing)
    return [(f.code, f.place.part) for f in found]


@pytest.fixture
def other(bench: Any) -> Path:
    """A reel told at length, whose job another one may be like."""
    begun(bench.root / "begun", studio=bench.studio)
    text = every_row((bench.root / "begun" / "job.toml").read_text("utf-8"))
    for offered, there in (
        ('"mk3-left"', '"left"'),
        ('"harbour-archive"', '"archive"'),
    ):
        assert offered in text
        text = text.replace(offered, there)
    (bench.job / "job.toml").write_text(text)
    (bench.studio / "sessions").mkdir()
    (bench.studio / "sessions" / "2026-03-14-mk3.toml").write_text(
        'id = "2026-03-14-mk3"\nmachine = "left"\non = 2026-03-14\n'
    )
    place: Path = bench.job
    return place


def test_a_new_job_and_a_new_studio(tmp_path: Path) -> None:
    told = begun(tmp_path / "jobs/reel 7", studio=tmp_path / "studio", identifier='HA/7 "x"')
    assert told == Begun(
        job=tmp_path / "jobs/reel 7",
        package_id="HA-7-x",
        studio=tmp_path / "studio",
        new_studio=True,
        new_session=False,
        new_recipient=False,
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


def test_a_studio_beside_the_jobs_need_not_be_named_again(tmp_path: Path) -> None:
    begun(tmp_path / "jobs/one", studio=tmp_path / "studio")
    told = begun(tmp_path / "jobs/two")
    assert (told.studio, told.new_studio) == (tmp_path / "studio", False)
    assert tomllib.loads((told.job / "job.toml").read_text())["studio"] == "../../studio"


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
        ("Größe 7½", "Grosse-7-1-2"),
        ("FÄ 12/3", "FA-12-3"),
        ("½", "1-2"),
        ("駅", "reel"),
        (".-.", "reel"),
        ("x" * 70, "x" * 64),
        ("x" * 63 + "/y", "x" * 63),
    ],
)
def test_an_id_is_made_of_any_identifier(text: str, package_id: str) -> None:
    assert proposed_id(text) == package_id


# Like another one

TAKEN_OVER = """
kind
recipient
commission.asked_by commission.purpose commission.deliverables commission.agreement
commission.profile_version commission.on
work.id work.title work.parts
reel.width_mm reel.diameter_in reel.sides.id
passes.id passes.machine passes.sides passes.session
passes.set_up.speed_ips passes.set_up.equalisation.standard passes.set_up.equalisation.t1_us
passes.set_up.equalisation.t2_us passes.set_up.output_select passes.set_up.output_tap
passes.set_up.meter_switch passes.set_up.reel_size_supply passes.set_up.reel_size_take_up
passes.set_up.lifters passes.set_up.noise_reduction passes.set_up.record_inhibited
passes.decoder.kind passes.decoder.serial passes.decoder.reference_level passes.decoder.decoding
passes.channels.channel passes.channels.track passes.channels.head_core passes.channels.output
passes.channels.converter_input passes.channels.direction
chain.reason chain.steps.kind chain.steps.device chain.steps.serial chain.steps.setting
chain.steps.signal chain.steps.note
captures.id captures.file captures.pass_id captures.program captures.clock
captures.rate_converted captures.normalised
people.id people.name people.role
"""
"""Of everything that a form offers; the rest is told of one reel alone."""


def test_a_job_like_another_takes_over_what_a_studio_repeats(bench: Any, other: Path) -> None:
    begun(bench.root / "next", like=other)
    told = told_in(bench.root / "next")
    own = {"job_id", "package_id", "studio"}
    assert set(leaves(told)) == {*TAKEN_OVER.split(), *own}
    before = told_in(other)
    assert (told["job_id"], told["package_id"]) == (JOB_ID, "next")
    assert told["commission"] == before["commission"]
    assert told["chain"] == before["chain"]
    assert told["passes"][0]["set_up"] == before["passes"][0]["set_up"]
    assert told["captures"][0]["file"] == "captures/side-a.wav"
    assert faults(bench.root / "next") == [("form-reference", "captures[1].file")]


def test_nothing_that_is_told_of_one_reel_alone_is_taken_over(bench: Any, other: Path) -> None:
    """So that the list above can be trusted: the other job does tell all of it."""
    told = set(leaves(told_in(other)))
    for key in (
        "reel.identifiers.value",
        "reel.inscriptions.text",
        "reel.stock.base",
        "reel.title",
        "reel.sides.regions.speed_ips",
        "reel.events.kind",
        "reel.end_out_on_arrival",
        "passes.on",
        "captures.started",
        "signal_notes.heard",
        "answers.code",
        "note",
        "not_played_because",
        "work.part",
    ):
        assert key in told
        assert key not in TAKEN_OVER.split()


def test_an_absence_is_taken_over_where_its_value_would_be(bench: Any) -> None:
    bench.form({}, more='[[passes]]\nid = "p1"\n[passes.set_up]\nspeed_ips = "unknown"')
    begun(bench.root / "next", like=bench.job)
    assert told_in(bench.root / "next")["passes"][0]["set_up"] == {"speed_ips": "unknown"}
    assert faults(bench.root / "next") == []


def test_a_job_like_a_small_one_holds_no_empty_table(bench: Any) -> None:
    bench.form({})
    begun(bench.root / "next", like=bench.job)
    assert set(leaves(told_in(bench.root / "next"))) == {"job_id", "package_id", "studio"}


def test_a_job_like_another_lies_in_its_studio(bench: Any, tmp_path: Path) -> None:
    bench.form({})
    assert begun(bench.root / "elsewhere" / "next", like=bench.job).studio == bench.studio
    form = bench.job / "job.toml"
    form.write_text(form.read_text().replace('studio = "../studio"\n', ""))
    inside = bench.studio / "jobs" / "one"
    inside.parent.mkdir()
    bench.job.rename(inside)
    told = begun(bench.root / "elsewhere" / "other", like=inside)
    assert (told.studio, told.new_studio) == (bench.studio, False)


@pytest.mark.parametrize("stated", ["../gone", "loop"])
def test_a_studio_that_is_gone_is_not_made_anew_by_likeness(bench: Any, stated: str) -> None:
    (bench.job / "loop").symlink_to("loop")
    bench.form({})
    form = bench.job / "job.toml"
    form.write_text(form.read_text().replace("../studio", stated))
    with pytest.raises(UsageError, match="No studio folder is named"):
        begun(bench.root / "next", like=bench.job)
    assert not (bench.root / "next").exists()


@pytest.mark.parametrize(
    ("spoil", "why"),
    [
        (
            b"note = ",
            r"cannot be followed: in `note =`: here is no value; text stands",
        ),
        (b"note = 7", r"cannot be followed: found 7; allowed is text in quotes\."),
        (b"colour = 1", r"cannot be followed: there is no key 'colour' here"),
        (b'note = "caf\xe9"', r"cannot be followed: in .*: octet 0xe9 is not UTF-8"),
        (b"captures = 3", r"cannot be followed: found 3; allowed is "),
        (b"a = " + b"[" * 3000 + b"]" * 3000, "cannot be followed: it nests deeper"),
    ],
)
def test_a_job_that_cannot_be_followed_is_one_sentence(bench: Any, spoil: bytes, why: str) -> None:
    bench.form({})
    form = bench.job / "job.toml"
    form.write_bytes(spoil + b"\n" + form.read_bytes())
    before = bench.tree(bench.root)
    with pytest.raises(UsageError, match=why) as error:
        begun(bench.root / "next", studio=bench.studio, like=bench.job)
    assert "\n" not in str(error.value)
    assert bench.tree(bench.root) == before


def test_a_job_to_be_like_that_is_none(bench: Any) -> None:
    for like in (bench.root / "none", bench.studio):
        with pytest.raises(UsageError, match=r"There is no job\.toml in"):
            begun(bench.root / "next", studio=bench.studio, like=like)
    assert not (bench.root / "next").exists()


# Sessions


def test_the_form_of_a_session_is_made_once(bench: Any) -> None:
    place = bench.studio / "sessions" / "s1.toml"
    assert begun(bench.root / "one", studio=bench.studio, session="s1").new_session
    assert told_in(bench.root / "one")["passes"] == [{"id": "p1", "sides": ["A"], "session": "s1"}]
    assert 'id = "s1"' in place.read_text()
    place.write_text('id = "s1"\n# ours\n')
    assert not begun(bench.root / "two", studio=bench.studio, session="s1").new_session
    assert place.read_text() == 'id = "s1"\n# ours\n'


@pytest.mark.parametrize("name", ["", "../s", "a/b", "two words", "s\n", "ä", "x" * 300, "."])
def test_a_name_that_no_session_can_have_is_refused_before_anything_is_written(
    tmp_path: Path, name: str
) -> None:
    with pytest.raises(UsageError, match="is not a name for a session"):
        begun(tmp_path / "job", studio=tmp_path / "studio", session=name)
    assert list(tmp_path.iterdir()) == []


def test_a_session_takes_the_place_of_the_other_jobs(bench: Any, other: Path) -> None:
    begun(bench.root / "next", like=other, session="s2")
    (one,) = told_in(bench.root / "next")["passes"]
    assert one["session"] == "s2"


# Kinds and lengths


def test_a_reel_that_is_not_played_takes_over_no_pass_and_no_capture(
    bench: Any, other: Path
) -> None:
    begun(bench.root / "next", like=other, kind="record only")
    told = told_in(bench.root / "next")
    assert told["kind"] == "record only"
    assert {"passes", "captures"}.isdisjoint(told)
    assert told["chain"]


def test_why_a_reel_was_not_played_is_told_of_that_reel_alone(bench: Any) -> None:
    bench.form({}, top='kind = "record only"\nnot_played_because = "mould"')
    begun(bench.root / "next", like=bench.job)
    assert {"kind", "not_played_because"}.isdisjoint(told_in(bench.root / "next"))


def test_a_row_of_transfers_told_afterwards_stays_one(bench: Any) -> None:
    bench.form({}, top='kind = "retrospective"')
    begun(bench.root / "next", like=bench.job)
    assert told_in(bench.root / "next")["kind"] == "retrospective"


def test_the_short_form_offers_less_and_holds_the_same(bench: Any, other: Path) -> None:
    for short in (False, True):
        begun(bench.root / str(short), like=other, short=short)
    full, short_one = (
        (bench.root / str(short) / "job.toml").read_text("utf-8") for short in (False, True)
    )
    assert tomllib.loads(full) == {**tomllib.loads(short_one), "package_id": "False"}
    assert len(short_one.splitlines()) < len(full.splitlines()) / 2


COMBINATIONS = [
    dict(zip(("like", "session", "kind", "short", "identifier"), one, strict=True))
    for one in itertools.product(
        (False, True),
        (None, "s1"),
        ("transfer", "retrospective", "record only"),
        (False, True),
        (None, "HA/SKL/8"),
    )
]


@pytest.mark.parametrize("wished", COMBINATIONS, ids=lambda one: "-".join(map(str, one.values())))
def test_every_form_as_begun_is_read_without_a_fault(
    bench: Any, other: Path, wished: dict[str, Any]
) -> None:
    """But for the capture that the recorder has not written yet."""
    job = bench.root / "next"
    kind, session, identifier = (wished[key] for key in ("kind", "session", "identifier"))
    told = begun(job, studio=bench.studio, **{**wished, "like": other if wished["like"] else None})
    assert (told.new_studio, told.new_session) == (False, session is not None)
    names_a_capture = kind != "record only" and (wished["like"] or session is not None)
    assert faults(job) == ([("form-reference", "captures[1].file")] if names_a_capture else [])
    held = told_in(job)
    assert held.get("kind", "transfer") == kind
    ids = [one["value"] for one in held.get("reel", {}).get("identifiers", ())]
    assert ids == ([identifier] if identifier else [])
    if names_a_capture:
        bench.put("../next/captures/side-a.wav", bench.wave())
        assert faults(job) == []


def test_a_studio_that_is_a_file_is_told_as_one(bench: Any) -> None:
    with pytest.raises(UsageError, match=r"studio\.toml is a file\. Name the studio's folder"):
        begun(bench.root / "next", studio=bench.studio / "studio.toml")
    assert not (bench.root / "next").exists()
