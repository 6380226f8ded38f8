"""The record at closing: jottings, answers, logbooks, reels not played, jobs told afterwards."""

import json
from collections.abc import Callable
from datetime import UTC, datetime
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from tailsout.bag.disk import Disk
from tailsout.ground.errors import MaterialError, UsageError
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
    assert "jotting-unfiled" in codes(outcome)
    assert transfer_in(bench.package / "data/audio/a.json")["jottings"] == [
        {"at": "2026-03-14T10:33:20Z", "pass_id": "p1", "text": "splice opened"}
    ]


def test_a_filed_jotting_is_not_told_again(bench: Any, around: Callable[..., Any]) -> None:
    event = '[[reel.events]]\nkind = "splice repair"\njotting = 2026-03-14T10:33:20Z\n'
    bench.fill(more=ONE_RUN + event)
    note(bench.job, "splice opened", instant=INSTANT, pass_id=RUNNING, disk=Disk())
    assert "jotting-unfiled" not in codes(close(bench.job, bench.out, around()))


def test_a_form_that_cannot_be_read_keeps_no_jotting_from_being_kept(bench: Any) -> None:
    (bench.job / "job.toml").write_bytes(b'id = "half')
    line = note(bench.job, "heard a click", instant=INSTANT, pass_id=None, disk=Disk())
    assert (bench.job / "jottings.txt").read_text("utf-8") == f"{line}\n"
    (bench.job / "jottings.txt").write_bytes(b"torn")
    note(bench.job, "again", instant=INSTANT, pass_id=None, disk=Disk())
    assert (bench.job / "jottings.txt").read_bytes() == b"torn\n2026-03-14T10:33:20Z again\n"


def test_nothing_to_note(bench: Any, tmp_path: Path) -> None:
    with pytest.raises(UsageError, match="nothing to note"):
        note(bench.job, " \n", instant=INSTANT, pass_id=None, disk=Disk())
    with pytest.raises(UsageError, match="no job folder"):
        note(tmp_path / "none", "x", instant=INSTANT, pass_id=None, disk=Disk())


def test_an_answered_question_is_a_note_and_travels(bench: Any, around: Callable[..., Any]) -> None:
    bench.fill(more=WRONG_END)
    asked = close(bench.job, bench.root / "asked", around())
    assert asked.judgement.verdict is Verdict.OPEN
    assert [f.answer_at for f in asked.judgement.findings] == ["reel.end_out_on_leaving"]
    bench.form({"a": "captures/a.wav"}, more=WRONG_END + ANSWER)
    answered = close(bench.job, bench.out, around())
    assert answered.judgement.verdict is Verdict.PASS
    received = check(bench.package, Silent()).judgement
    assert received.verdict is Verdict.PASS
    assert ["house rule" in f.answered for f in received.findings] == [True]


def test_an_answer_to_nothing_is_a_question(bench: Any, around: Callable[..., Any]) -> None:
    bench.fill(more=ANSWER)
    outcome = close(bench.job, bench.out, around())
    assert codes(outcome) == ["answer-to-nothing"]
    assert outcome.judgement.verdict is Verdict.OPEN


def test_the_logbook_gets_one_line_a_package_and_can_be_rebuilt(
    bench: Any, around: Callable[..., Any]
) -> None:
    bench.fill(more=ONE_RUN)
    book = bench.studio / "logbook" / "left.jsonl"
    close(bench.job, bench.out, around())
    (line,), unread = lines.read(book.read_bytes())
    assert (line.key, line.machine, line.programme_minutes) == ("TT-1", "left", Decimal(30))
    assert unread == ()
    again = recount([bench.out], bench.studio, disk=Disk(), progress=Silent())
    assert (again.packages, again.with_statements, again.added) == (1, 1, 0)
    written = book.read_bytes()
    book.unlink()
    assert recount([bench.out], bench.studio, disk=Disk(), progress=Silent()).added == 1
    assert book.read_bytes() == written


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


def test_a_logbook_that_cannot_be_written_only_warns(
    bench: Any, around: Callable[..., Any], acting: Callable[..., Any]
) -> None:
    bench.fill(more=ONE_RUN)
    (bench.studio / "logbook").write_bytes(b"a file where a folder should be")
    (bench.studio / "logbook").unlink()
    progress = acting("", lambda: None)

    class Refusing(Disk):
        def append_line(self, path: Path, line: bytes) -> None:
            raise PermissionError(13, "no", str(path))

    outcome = close(bench.job, bench.out, around(disk=Refusing(), progress=progress))
    assert outcome.built is not None
    assert any("recount" in line for line in progress.lines)


def test_a_reel_that_was_not_played(bench: Any, around: Callable[..., Any]) -> None:
    (bench.job / "images").mkdir()
    (bench.job / "images" / "box.jpg").write_bytes(b"\xff\xd8 a photograph")
    bench.form({}, top='kind = "record only"')
    outcome = close(bench.job, bench.out, around())
    assert codes(outcome) == ["not-played-unexplained"]
    assert (bench.package / "data/images/box.jpg").read_bytes() == b"\xff\xd8 a photograph"
    checked = check(bench.package, Silent())
    assert checked.judgement.verdict is Verdict.OPEN
    assert checked.dossier.transfer is not None
    assert transfer_in(bench.package / "data/TT-1.json")["kind"] == "record only"
    bench.form({}, top='kind = "record only"\nnot_played_because = "mould"')
    explained = close(bench.job, bench.root / "explained", around())
    assert explained.judgement.verdict is Verdict.PASS


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


def test_the_second_reel_of_a_session_is_eight_values(
    bench: Any, around: Callable[..., Any]
) -> None:
    """Begun like the first one: what is typed is counted, and it closes."""
    sessions = bench.studio / "sessions"
    sessions.mkdir()
    (sessions / "s1.toml").write_text('id = "s1"\nmachine = "left"\non = 2026-03-14\n')
    told = '[[passes]]\nid = "p1"\nsession = "s1"\nsides = ["A"]\n[[reel.stock]]\nid = "x"\n'
    bench.fill(more=told + '[[reel.sides]]\nid = "A"\n')
    begin(
        bench.root / "second",
        Wish(like=bench.job, identifier="HA/SKL/8", short=True),
        job_id="00000000-0000-4000-8000-00000000000b",
        disk=Disk(),
    )
    form = bench.root / "second" / "job.toml"
    text = form.read_text("utf-8")
    assert 'id = "x"' not in text  # told of one reel alone
    typed = {
        '#title = "Skerrow Light, spoken log, reel 7"': 'title = "reel 8"',
        '#end_out_on_arrival = "heads"': 'end_out_on_arrival = "heads"',
        '#end_out_on_leaving = "tails"': 'end_out_on_leaving = "tails"',
        '#last_motion = "head to tail"': 'last_motion = "head to tail"',
        "#[[reel.stock]]": "[[reel.stock]]",
        '#id = "s1"': 'id = "s1"',
        '#base = "polyester"': 'base = "polyester"',
        '#base_told_by = ["light through the pack"]': 'base_told_by = ["tear"]',
        '#started = "2026-03-14T10:21:07+00:00"': "started = 2026-03-14T11:40:00Z",
    }
    for offered, filled in typed.items():
        assert offered in text, offered
        text = text.replace(offered, filled, 1)
    form.write_text(text, "utf-8")
    assert sum("=" in filled for filled in typed.values()) == 8
    capture = bench.root / "second" / "captures" / "a.wav"
    capture.write_bytes((bench.job / "captures/a.wav").read_bytes())
    around_then = around(seconds_now=lambda: capture.stat().st_mtime + 60)
    outcome = close(bench.root / "second", bench.out, around_then)
    assert outcome.judgement.verdict is Verdict.PASS, codes(outcome)
    assert outcome.built is not None
