"""The record at closing: jottings, answers, logbooks, reels not played, jobs told afterwards."""

import json
import tomllib
from collections import Counter
from collections.abc import Callable
from datetime import UTC, datetime
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from tailsout.bag.disk import Disk
from tailsout.ground.errors import MaterialError, SurroundingsError
from tailsout.ground.findings import Verdict
from tailsout.ground.progress import Silent
from tailsout.mapping import logbook as lines
from tailsout.records.logbook import LogLine
from tailsout.work.begin import Wish, begin
from tailsout.work.check import check
from tailsout.work.close_out import Outcome, close
from tailsout.work.note import note
from tailsout.work.recount import recount

INSTANT = datetime(2026, 3, 14, 10, 33, 20, tzinfo=UTC)
RUNNING = "p1"
UNFILED = "jotting-unfiled"
ONE_RUN = (
    '[[passes]]\nid = "p1"\nmachine = "left"\non = 2026-03-14T10:20:00Z\nprogramme_minutes = 30\n'
)
WRONG_END = 'end_out_on_leaving = "heads"\nlast_motion = "head to tail"\n'
ANSWER = (
    '[[answers]]\ncode = "end-out-contradicts"\nplace = "reel.end_out_on_leaving"\n'
    'decision = "accepted as is"\nreason = "house rule"\nby = "isolde"\non = 2026-03-15\n'
)


def codes(outcome: Outcome) -> list[str]:
    return [finding.code for finding in outcome.judgement.findings]


def transfer_in(path: Path) -> Any:
    return json.loads(path.read_text("utf-8"))["transfer"]


def test_a_jotting_names_the_last_pass_and_is_packed(
    bench: Any, around: Callable[..., Any]
) -> None:
    bench.fill(more=ONE_RUN)
    line = note(bench.job, "splice\nopened", instant=INSTANT, pass_id=None, disk=Disk())
    assert line == "2026-03-14T10:33:20Z [p1] splice opened"
    outcome = close(bench.job, bench.out, around())
    assert codes(outcome) == [UNFILED]
    assert transfer_in(bench.package / "data/audio/a.json")["jottings"] == [
        {"at": "2026-03-14T10:33:20Z", "pass_id": "p1", "text": "splice opened"}
    ]


def test_a_filed_jotting_is_not_told_again(bench: Any, around: Callable[..., Any]) -> None:
    event = '[[reel.events]]\nkind = "splice repair"\njotting = 2026-03-14T10:33:20Z\n'
    bench.fill(more=ONE_RUN + event)
    note(bench.job, "splice opened", instant=INSTANT, pass_id=RUNNING, disk=Disk())
    assert codes(close(bench.job, bench.out, around())) == []


@pytest.mark.parametrize(
    ("stop", "is_filed"), [("splice opened: re-made", True), ("splice", False)]
)
def test_the_reason_of_a_stop_files_a_jotting_by_its_words(
    bench: Any, around: Callable[..., Any], stop: str, is_filed: bool
) -> None:
    bench.fill(more=f'{ONE_RUN}[[passes.stops]]\nat = "12:31"\nreason = "{stop}"\n')
    note(bench.job, "splice opened", instant=INSTANT, pass_id=RUNNING, disk=Disk())
    assert codes(close(bench.job, bench.out, around())) == ([] if is_filed else [UNFILED])


def test_what_is_no_jotting_is_noted_and_left_where_it_is(
    bench: Any, around: Callable[..., Any]
) -> None:
    bench.fill()
    jottings = bench.job / "jottings.txt"
    jottings.write_bytes(b"look at the hub\n2026-03-14T10:33:20Z [p1] splice op\xff\n")
    before = bench.sources()
    outcome = close(bench.job, bench.out, around())
    assert outcome.judgement.verdict is Verdict.PASS
    told = [(f.code, str(f.place), f.text) for f in outcome.judgement.findings]
    assert told == [
        (UNFILED, "jottings.txt#/0", "2026-03-14T10:33:20Z splice op\ufffd"),
        ("jotting-unread", "jottings.txt:1", "look at the hub"),
    ]
    checks = json.loads((bench.package / "metadata/checks.json").read_text("utf-8"))
    assert [f["text"] for f in checks["findings"]] == [text for _, _, text in told]
    assert {name: facts for name, facts in bench.sources().items() if "logbook" not in name} == (
        before
    )


def test_an_answered_question_is_a_note_and_travels(bench: Any, around: Callable[..., Any]) -> None:
    bench.fill(more=WRONG_END)
    asked = close(bench.job, bench.root / "asked", around())
    assert asked.judgement.verdict is Verdict.OPEN
    assert [f.answer_at for f in asked.judgement.findings] == ["reel.end_out_on_leaving"]
    bench.form({"a": "captures/a.wav"}, more=WRONG_END + ANSWER)
    answered = close(bench.job, bench.out, around())
    assert answered.judgement.verdict is Verdict.PASS
    assert [f.severity.value for f in answered.judgement.findings] == ["note"]
    received = check(bench.package, Silent()).judgement
    assert received.verdict is Verdict.PASS
    told = "accepted as is by isolde on 2026-03-15: house rule"
    assert [f.answered for f in received.findings] == [told]
    checks = json.loads((bench.package / "metadata/checks.json").read_text("utf-8"))
    assert [(f["severity"], f["answered"]) for f in checks["findings"]] == [("note", told)]
    assert transfer_in(bench.package / "data/audio/a.json")["answers"][0]["reason"] == "house rule"


def test_what_must_be_mended_cannot_be_answered(bench: Any, around: Callable[..., Any]) -> None:
    region = (
        '[[reel.sides]]\nid = "A"\n[[reel.sides.regions]]\nid = "A1"\nkind = "programme"\n'
        'capture = "a"\nstart = "0:00"\nend = "0:09"\n'
    )
    answer = ANSWER.replace("end-out-contradicts", "region-outside")
    place = "reel.sides[1].regions[1]"
    for named in (place, f"{place}.end"):
        text = region + answer.replace("reel.end_out_on_leaving", named)
        bench.fill(more=text)
        outcome = close(bench.job, bench.out, around())
        assert outcome.judgement.verdict is Verdict.FAIL
        assert codes(outcome) == ["region-outside", "answer-to-nothing"]
        assert outcome.built is None
    assert bench.left() == []


def test_an_answer_to_nothing_is_a_question(bench: Any, around: Callable[..., Any]) -> None:
    bench.fill(more=ANSWER)
    outcome = close(bench.job, bench.out, around())
    assert codes(outcome) == ["answer-to-nothing"]
    assert outcome.judgement.verdict is Verdict.OPEN


def book_of(bench: Any) -> bytes:
    path: Path = bench.studio / "logbook" / "left.jsonl"
    return path.read_bytes() if path.exists() else b""


def test_the_logbook_gets_one_line_a_package(bench: Any, around: Callable[..., Any]) -> None:
    bench.fill(more=ONE_RUN)
    close(bench.job, bench.out, around())
    written = book_of(bench)
    (line,), unread = lines.read(written)
    assert (line.key, line.machine, line.programme_minutes) == ("TT-1", "left", Decimal(30))
    assert unread == ()
    # The same package closed again, elsewhere or after it was moved away, is no other playing.
    close(bench.job, bench.root / "again", around())
    assert book_of(bench) == written


def test_the_logbook_is_written_when_the_package_stands_and_no_sooner(
    bench: Any, around: Callable[..., Any]
) -> None:
    stood: list[bool] = []

    class Watched(Disk):
        def append_line(self, path: Path, line: bytes) -> None:
            if path.suffix == ".jsonl":
                stood.append(bench.package.is_dir() and bench.receipt.is_file())
            super().append_line(path, line)

    bench.fill(more=ONE_RUN)
    close(bench.job, bench.out, around(disk=Watched()))
    assert stood == [True]


def test_without_a_package_there_is_no_line(
    bench: Any, around: Callable[..., Any], full_disk: Callable[[int], Disk]
) -> None:
    bench.fill(more=ONE_RUN)
    close(bench.job, bench.out, around(), only_plan=True)
    assert book_of(bench) == b""
    with pytest.raises(SurroundingsError):
        close(bench.job, bench.out, around(disk=full_disk(20_000)))
    assert book_of(bench) == b""
    bench.fill(bench.wave()[:-999], more=ONE_RUN)
    assert close(bench.job, bench.out, around()).built is None
    assert book_of(bench) == b""


def test_hours_since_care_are_frozen(bench: Any, around: Callable[..., Any]) -> None:
    machine = bench.studio / "machines" / "left.toml"
    machine.write_text(machine.read_text() + '[[care]]\nkind = "cleaned"\non = 2026-03-10\n')
    bench.fill(more=ONE_RUN)
    close(bench.job, bench.root / "first", around())
    frozen = transfer_in(bench.root / "first/TT-1/data/audio/a.json")["machines"][0]
    assert frozen["absent"]["hours_since"] == "not examined"
    other = LogLine(
        key="TT-0",
        job_id="00000000-0000-4000-8000-00000000000a",
        machine="left",
        on="2026-03-12",
        programme_minutes=Decimal(90),
    )
    (bench.studio / "logbook" / "left.jsonl").write_bytes(lines.write(other))
    close(bench.job, bench.out, around())
    frozen = transfer_in(bench.package / "data/audio/a.json")["machines"][0]
    assert frozen["hours_since"] == [
        {"since": "cleaned", "on": "2026-03-10", "at_least_hours": 1.5, "rests_on": ["TT-0"]}
    ]


def test_closing_again_freezes_the_same_hours(bench: Any, around: Callable[..., Any]) -> None:
    """Its own line stands in the logbook by then; it is no earlier playing."""
    machine = bench.studio / "machines" / "left.toml"
    machine.write_text(machine.read_text() + '[[care]]\nkind = "cleaned"\non = 2026-03-10\n')
    other = LogLine(
        key="TT-0",
        job_id="00000000-0000-4000-8000-00000000000a",
        machine="left",
        on="2026-03-12",
        programme_minutes=Decimal(90),
    )
    (bench.studio / "logbook").mkdir()
    (bench.studio / "logbook" / "left.jsonl").write_bytes(lines.write(other))
    bench.fill(more=ONE_RUN)
    close(bench.job, bench.root / "one", around())
    assert b"TT-1" in book_of(bench)
    close(bench.job, bench.root / "two", around())
    assert bench.tree(bench.root / "one") == bench.tree(bench.root / "two")


def test_a_logbook_that_cannot_be_written_only_warns(
    bench: Any, around: Callable[..., Any], acting: Callable[..., Any]
) -> None:
    bench.fill(more=ONE_RUN)
    progress = acting("", lambda: None)

    class Refusing(Disk):
        def append_line(self, path: Path, line: bytes) -> None:
            if path.suffix == ".jsonl":
                raise PermissionError(13, "no", str(path))
            super().append_line(path, line)

    outcome = close(bench.job, bench.out, around(disk=Refusing(), progress=progress))
    assert outcome.built is not None
    (line,) = progress.lines
    assert line.startswith("Writing to the logbook left.jsonl failed: Permission denied")
    assert line.endswith("The package stands; `tailsout recount` adds the line later.")
    assert recount([bench.out], bench.studio, disk=Disk(), progress=Silent()).added == 1


def test_a_reel_that_was_not_played(bench: Any, around: Callable[..., Any], bagit: Any) -> None:
    bench.put("images/box.jpg", b"\xff\xd8 a photograph")
    bench.form({}, top='kind = "record only"')
    outcome = close(bench.job, bench.out, around())
    assert codes(outcome) == ["not-played-unexplained"]
    assert (bench.package / "data/images/box.jpg").read_bytes() == b"\xff\xd8 a photograph"
    checked = check(bench.package, Silent())
    assert checked.judgement.verdict is Verdict.OPEN
    assert checked.dossier.transfer is not None
    assert transfer_in(bench.package / "data/TT-1.json")["kind"] == "record only"
    payload = sorted(p.name for p in (bench.package / "data").rglob("*") if p.is_file())
    assert payload == ["TT-1.json", "box.jpg"]
    bagit.Bag(str(bench.package)).validate(processes=1)
    bench.form({}, top='kind = "record only"\nnot_played_because = "mould"')
    explained = close(bench.job, bench.root / "explained", around())
    assert codes(explained) == []
    assert explained.judgement.verdict is Verdict.PASS
    assert check(bench.root / "explained/TT-1", Silent()).judgement.verdict is Verdict.PASS


def test_without_captures_only_a_record_is_packed(bench: Any, around: Callable[..., Any]) -> None:
    bench.form({})
    with pytest.raises(MaterialError, match="record only"):
        close(bench.job, bench.out, around())


def test_a_job_told_afterwards_gets_one_note(bench: Any, around: Callable[..., Any]) -> None:
    bench.fill(top='kind = "retrospective"')
    form = bench.job / "job.toml"
    form.write_text(form.read_text().replace("started = 2026-03-14\n", ""))
    outcome = close(bench.job, bench.out, around())
    assert codes(outcome) == ["told-afterwards"]
    assert outcome.judgement.verdict is Verdict.PASS
    received = check(bench.package, Silent()).judgement
    assert received.verdict is Verdict.PASS
    # Nobody asks for the day that nobody wrote down.
    assert [f.code for f in received.findings] == ["told-afterwards"]


def values(table: Any) -> Counter[str]:
    """Every value that stands in a form; a list of words is one."""
    if isinstance(table, dict):
        return sum((values(one) for one in table.values()), Counter())
    if isinstance(table, list) and table and isinstance(table[0], dict):
        return sum(map(values, table), Counter())
    return Counter([str(table)])


def typed(before: str, after: str) -> int:
    """How many values an edit of a form added or changed."""
    return (values(tomllib.loads(after)) - values(tomllib.loads(before))).total()


def edited(form: Path, edit: dict[str, str]) -> int:
    """Fill a form in as at a keyboard: each row as offered, and what becomes of it."""
    before = text = form.read_text("utf-8")
    for offered, filled in edit.items():
        assert f"\n{offered}\n" in text, offered
        text = text.replace(f"\n{offered}\n", f"\n{filled}\n", 1)
    form.write_text(text, "utf-8")
    return typed(before, text)


def test_typed_values_are_counted() -> None:
    assert typed("a = 1\n[b]\nc = 2\n", "a = 1\n[b]\nc = 3\nd = ['x', 'y']\n[[e]]\nf = 1\n") == 3
    assert typed("a = 1\n", "a = 1\n") == 0


def test_the_second_reel_of_a_session_is_eight_values(
    bench: Any, around: Callable[..., Any]
) -> None:
    """An evening: begun like the first reel, what is typed is counted, and it closes."""
    sessions = bench.studio / "sessions"
    sessions.mkdir()
    (sessions / "s1.toml").write_text('id = "s1"\nmachine = "left"\non = 2026-03-14\n')
    told = '[[passes]]\nid = "p1"\nsession = "s1"\nsides = ["A"]\n[[reel.stock]]\nid = "x"\n'
    bench.fill(more=told + '[[reel.sides]]\nid = "A"\n')
    second = bench.root / "second"
    begin(
        second,
        Wish(like=bench.job, identifier="HA/SKL/8", short=True),
        job_id="00000000-0000-4000-8000-00000000000b",
        disk=Disk(),
    )
    assert 'id = "x"' not in (second / "job.toml").read_text("utf-8")  # told of one reel alone
    count = edited(
        second / "job.toml",
        {
            '#title = "Skerrow Light, spoken log, reel 7"': 'title = "reel 8"',
            '#end_out_on_arrival = "heads"': 'end_out_on_arrival = "heads"',
            '#end_out_on_leaving = "tails"': 'end_out_on_leaving = "tails"',
            '#last_motion = "head to tail"': 'last_motion = "head to tail"',
            "#[[reel.stock]]": "[[reel.stock]]",
            '#id = "s1"': 'id = "s1"',
            '#base = "polyester"': 'base = "polyester"',
            '#base_told_by = ["light through the pack"]': 'base_told_by = ["tear"]',
            '#started = "2026-03-14T10:21:07+00:00"': "started = 2026-03-14T10:30:00Z",
        },
    )
    assert count == 8
    outcome = closed_a_minute_later(bench, around, second)
    assert outcome.judgement.verdict is Verdict.PASS, codes(outcome)
    assert outcome.built is not None
    assert outcome.built.path.name == "HA-SKL-8"


def closed_a_minute_later(bench: Any, around: Callable[..., Any], job: Path) -> Outcome:
    (name,) = (one["file"] for one in tomllib.loads((job / "job.toml").read_text())["captures"])
    capture = job / name
    capture.write_bytes(bench.wave(own=bench.own_bext()))
    then = around(seconds_now=lambda: capture.stat().st_mtime + 60)
    return close(job, bench.out, then)


def test_a_short_job_of_ten_lines(bench: Any, around: Callable[..., Any]) -> None:
    """A first reel at nine in the evening: no session, no other job to be like."""
    job = bench.root / "first"
    begin(
        job,
        Wish(studio=bench.studio, short=True),
        job_id="00000000-0000-4000-8000-00000000000c",
        disk=Disk(),
    )
    count = edited(
        job / "job.toml",
        {
            "#[reel]": "[reel]",
            '#title = "Skerrow Light, spoken log, reel 7"': 'title = "Spoken log"',
            '#end_out_on_arrival = "heads"': 'end_out_on_arrival = "unknown"',
            '#end_out_on_leaving = "tails"': 'end_out_on_leaving = "tails"',
            '#last_motion = "head to tail"': 'last_motion = "head to tail"',
            "#[[reel.identifiers]]": "[[reel.identifiers]]",
            '#value = "SKL-0007"': 'value = "HA 7"',
            "#[[passes]]": "[[passes]]",
            '#id = "p1"': 'id = "p1"',
            "#[[captures]]": "[[captures]]",
            '#id = "side-a"': 'id = "a"',
            '#file = "captures/side-a.wav"': 'file = "captures/a.wav"',
            '#pass_id = "p1"': 'pass_id = "p1"',
            '#started = "2026-03-14T10:21:07+00:00"': "started = 2026-03-14",
        },
    )
    assert count == 10
    assert closed_a_minute_later(bench, around, job).judgement.verdict is Verdict.PASS
