"""What a job states: forms, jottings, the files that go along, the hours since care."""

import os
from collections.abc import Callable
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from tailsout.bag.names import to_disk
from tailsout.ground.errors import SurroundingsError
from tailsout.ground.findings import Finding
from tailsout.ground.progress import Silent
from tailsout.mapping import logbook as lines
from tailsout.mapping.forms.job_forms import read_job
from tailsout.records.logbook import LogLine
from tailsout.records.machine import HoursSince, Machine
from tailsout.records.transfer import Transfer
from tailsout.work.job import Stated, state

LEFT_OUT = "hidden-file-left-out"
ONE_RUN = '[[passes]]\nid = "p1"\nmachine = "left"\non = 2026-03-14T10:20:00Z\n'


def stated(bench: Any, progress: Any = None) -> Stated:
    forms, findings = read_job(bench.job)
    assert forms is not None, findings
    return state(bench.job, forms, (), progress or Silent())


def transfer(bench: Any, progress: Any = None) -> Transfer:
    found = stated(bench, progress)
    assert found.dossier.transfer is not None, found.findings
    return found.dossier.transfer


def told(findings: tuple[Finding, ...]) -> list[tuple[str, str]]:
    return [(finding.code, str(finding.place)) for finding in findings]


# Forms


def test_a_faulty_form_states_nothing_and_is_told(bench: Any) -> None:
    bench.form({}, top="note = 7")
    found = stated(bench)
    assert found.dossier.transfer is None
    assert found.dossier.reading == ()
    assert told(found.findings) == [("form-value", "job.toml:4 note")]


def test_a_sound_form_is_told_by_the_dossier_alone(bench: Any) -> None:
    bench.form({})
    found = stated(bench)
    assert found.findings == ()
    assert found.dossier.transfer is not None
    assert found.dossier.examined == {"statements", "headers"}


# Jottings


def test_jottings_come_along_and_what_is_none_is_noted(bench: Any) -> None:
    bench.form({})
    content = b"2026-03-14T10:33:20Z [p1] splice opened\nremember the box\n2026-03-14T10:34:00Z x"
    (bench.job / "jottings.txt").write_bytes(content)
    found = stated(bench)
    assert found.dossier.transfer is not None
    kept = [(one.at, one.pass_id, one.text) for one in found.dossier.transfer.jottings]
    assert kept == [
        ("2026-03-14T10:33:20Z", "p1", "splice opened"),
        ("2026-03-14T10:34:00Z", None, "x"),
    ]
    (unread,) = found.dossier.reading
    assert (unread.code, str(unread.place)) == ("jotting-unread", "jottings.txt:2")
    assert unread.text == "remember the box"
    assert (bench.job / "jottings.txt").read_bytes() == content


def test_a_jotting_has_a_place_of_its_own(bench: Any) -> None:
    bench.form({})
    assert str(stated(bench).dossier.place("/jottings/2")) == "jottings.txt#/2"


def test_jottings_that_cannot_be_read(bench: Any) -> None:
    bench.form({})
    (bench.job / "jottings.txt").mkdir()
    with pytest.raises(SurroundingsError, match=r"Reading jottings\.txt failed"):
        stated(bench)


# Files that go along


def test_photographs_and_documents_go_along_in_order(bench: Any) -> None:
    bench.form({})
    for name in ("images/b.jpg", "images/a/c.jpg", "documents/ä.pdf", "captures/a.wav", "x.txt"):
        bench.put(to_disk(name), b"x")
    found = stated(bench)
    assert list(found.kept) == ["documents/ä.pdf", "images/a/c.jpg", "images/b.jpg"]
    assert found.kept["images/b.jpg"] == bench.job / "images/b.jpg"
    assert found.dossier.reading == ()


@pytest.mark.parametrize(
    "name", [".DS_Store", "._box.jpg", "Thumbs.db", "thumbs.DB", "desktop.ini", "Desktop.ini"]
)
def test_what_a_desktop_leaves_behind_is_left_out_and_said(bench: Any, name: str) -> None:
    bench.form({})
    bench.put(f"images/{name}", b"x")
    bench.put("images/box.jpg", b"x")
    found = stated(bench)
    assert list(found.kept) == ["images/box.jpg"]
    assert told(found.dossier.reading) == [(LEFT_OUT, f"images/{name}")]


def test_a_hidden_folder_is_said_once(bench: Any) -> None:
    bench.form({})
    for name in ("documents/.git/a", "documents/.git/b/c", "images/x/.thumbs/1.jpg"):
        bench.put(name, b"x")
    found = stated(bench)
    assert dict(found.kept) == {}
    assert told(found.dossier.reading) == [
        (LEFT_OUT, "documents/.git"),
        (LEFT_OUT, "images/x/.thumbs"),
    ]


def test_what_is_hidden_elsewhere_or_looks_alike_is_no_matter(bench: Any) -> None:
    bench.form({})
    for name in (".git/a", "captures/.DS_Store", ".DS_Store", "images/a.DS_Store", "images/x.db"):
        bench.put(name, b"x")
    found = stated(bench)
    assert list(found.kept) == ["images/a.DS_Store", "images/x.db"]
    assert found.dossier.reading == ()


def test_no_link_is_followed_and_no_pipe_opened(bench: Any) -> None:
    bench.form({})
    bench.put("captures/a.wav", b"x")
    (bench.job / "images").mkdir()
    (bench.job / "images/link.wav").symlink_to(bench.job / "captures/a.wav")
    (bench.job / "images/folder").symlink_to(bench.job / "captures")
    os.mkfifo(bench.job / "images/pipe")
    assert dict(stated(bench).kept) == {}


def test_a_folder_that_cannot_be_listed_is_not_passed_over(
    bench: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    bench.form({})
    bench.put("images/box/front.jpg", b"x")
    listing = os.scandir

    def refuse(path: Any) -> Any:
        if Path(path).name == "box":
            raise PermissionError(13, "Permission denied", str(path))
        return listing(path)

    monkeypatch.setattr(os, "scandir", refuse)
    with pytest.raises(SurroundingsError, match="Looking through job failed"):
        stated(bench)


IMAGE = '[[reel.images]]\nfile = "{}"\nrole = "box"\n'


@pytest.mark.parametrize(
    ("name", "why"),
    [
        ("images/none.jpg", "there is no file 'images/none.jpg' in the job folder."),
        ("box.jpg", "'box.jpg' would not be packed: what is packed lies in images or documents"),
        ("images/.box.jpg", "'images/.box.jpg' would not be packed: "),
        ("captures/../images/box.jpg", "there is no file 'captures/../images/box.jpg'"),
    ],
)
def test_a_photograph_named_that_would_be_missing(bench: Any, name: str, why: str) -> None:
    for there in ("box.jpg", "images/box.jpg", "images/.box.jpg"):
        bench.put(there, b"x")
    bench.form({}, more=IMAGE.format(name))
    (finding,) = stated(bench).findings
    assert (finding.code, str(finding.place)) == (
        "form-reference",
        "job.toml:8 reel.images[1].file",
    )
    assert finding.text.startswith(why)


@pytest.mark.parametrize("name", ["images/box.jpg", "./images//box.jpg", "documents/box.jpg"])
def test_a_photograph_that_is_there(bench: Any, name: str) -> None:
    for there in ("images/box.jpg", "documents/box.jpg"):
        bench.put(there, b"x")
    bench.form({}, more=IMAGE.format(name))
    assert transfer(bench).reel.images[0].file == name


# Hours since care


CARE = '[[care]]\nkind = "cleaned"\non = 2026-03-10\n'


def other(key: str = "TT-0", minutes: int = 90) -> LogLine:
    return LogLine(
        key=key,
        job_id="00000000-0000-4000-8000-00000000000a",
        machine="left",
        on="2026-03-12",
        programme_minutes=Decimal(minutes),
    )


@pytest.fixture
def machine(bench: Any) -> Callable[..., Machine]:
    """The machine as the transfer freezes it; `told` are the lines of its logbook, None if none."""

    def freeze(*told: LogLine, care: str = CARE, has_logbook: bool = True) -> Machine:
        path = bench.studio / "machines" / "left.toml"
        path.write_text(f'id = "left"\nmaker = "Tidewright"\nmodel = "Mark 3"\n{care}')
        if has_logbook:
            (bench.studio / "logbook").mkdir(exist_ok=True)
            book = b"".join(map(lines.write, told))
            (bench.studio / "logbook" / "left.jsonl").write_bytes(book)
        bench.form({}, more=ONE_RUN)
        (one,) = transfer(bench).machines
        return one

    return freeze


def test_hours_rest_on_lines_in_no_order_of_theirs(machine: Callable[..., Machine]) -> None:
    told = (other("TT-0", 90), other("TT-9", 60), other("TT-5", 1))
    first = machine(*told)
    assert first.hours_since == (
        HoursSince(
            since="cleaned",
            on="2026-03-10",
            at_least_hours=Decimal("2.5"),
            rests_on=("TT-0", "TT-5", "TT-9"),
        ),
    )
    assert machine(*reversed(told)) == first


def test_a_lost_logbook_is_not_examined(machine: Callable[..., Machine]) -> None:
    one = machine(has_logbook=False)
    assert one.hours_since == ()
    assert one.absent["hours_since"] == "not examined"


def test_an_empty_logbook_was_examined(machine: Callable[..., Machine]) -> None:
    one = machine()
    assert [since.at_least_hours for since in one.hours_since] == [0]
    assert "hours_since" not in one.absent


def test_without_care_there_is_nothing_to_count_from(machine: Callable[..., Machine]) -> None:
    one = machine(care="", has_logbook=False)
    assert (one.hours_since, "hours_since" in one.absent) == ((), False)


def test_what_a_logbook_cannot_say_is_told_while_reading(
    bench: Any, machine: Callable[..., Machine], acting: Callable[..., Any]
) -> None:
    machine(other())
    with (bench.studio / "logbook" / "left.jsonl").open("ab") as stream:
        stream.write(b'{"key": "TT-')
    progress = acting("", lambda: None)
    assert transfer(bench, progress).machines[0].hours_since[0].rests_on == ("TT-0",)
    assert [
        line.endswith("left.jsonl:2 is not a line of a logbook; it was passed over.")
        for line in progress.lines
    ] == [True]
