"""`tailsout gate` as it is typed: pages, JSON, the printed sheet, exit codes."""

import itertools
import json
import os
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tailsout.mapping import schemas

SIDE = "[[reel.sides]]\nid = 'A'\n\n[[passes]]\nid = 'p1'\nsides = ['A']\n"


@pytest.fixture
def job(bench: Any) -> Any:
    bench.fill(more=SIDE)
    form = bench.job / "job.toml"
    form.write_text(form.read_text() + "pass_id = 'p1'\n")
    return bench


def test_the_reel_may_come_off(job: Any, cli: Callable[..., Any]) -> None:
    ran = cli("gate", job.job)
    assert ran.code == 0
    assert ran.out.index("WAIT: THE SAMPLES") < ran.out.index("THE REEL MAY COME OFF")
    again = cli("gate", job.job)
    assert "WAIT" not in again.out
    assert ran.out.endswith(again.out)


def test_open_questions_are_a_failure_where_that_is_asked_for(
    job: Any, cli: Callable[..., Any]
) -> None:
    assert cli("gate", job.job, "--strict").code == 1


@pytest.mark.parametrize("at", ["threading", "unloading", "boxing"])
def test_json_is_one_line_that_keeps_its_schema(job: Any, cli: Callable[..., Any], at: str) -> None:
    ran = cli("gate", job.job, "--at", at, "--json")
    (line,) = ran.out.splitlines()
    told = json.loads(line)
    assert schemas.faults(told, "gate-0.1") == ()
    assert (told["stage"], told["why"]) == (at, "as asked")


def test_forms_with_faults_are_told_in_json_too(job: Any, cli: Callable[..., Any]) -> None:
    (job.job / "job.toml").write_text("nonsense = \n")
    ran = cli("gate", job.job, "--json")
    told = json.loads(ran.out)
    assert (ran.code, told["word"], told["is_whole"]) == (1, "KEEP", False)
    assert schemas.faults(told, "gate-0.1") == ()


def test_the_sheet_is_written_for_the_printer_and_never_over_another(
    job: Any, cli: Callable[..., Any], tmp_path: Path
) -> None:
    sheet = tmp_path / "sheet.txt"
    assert cli("gate", job.job, "--at", "threading", "--sheet", sheet).code == 0
    written = sheet.read_text("utf-8")
    assert "SET-UP SHEET" in written
    assert "█" not in written
    assert cli("gate", job.job, "--at", "threading", "--sheet", sheet).code == 3
    assert cli("gate", job.job, "--at", "boxing", "--sheet", tmp_path / "b").code == 2
    assert sheet.read_text("utf-8") == written


def test_a_stop_sign_has_a_code_of_its_own(bench: Any, cli: Callable[..., Any]) -> None:
    bench.form({}, more="[[reel.condition]]\nmoment = 'on arrival'\nmould = 'slight'\n")
    ran = cli("gate", bench.job)
    assert ran.code == 3
    assert "##  STOP" in ran.out


def test_a_capture_awaited_is_an_open_question(bench: Any, cli: Callable[..., Any]) -> None:
    bench.form({"a": "captures/a.wav"}, more=SIDE)
    ran = cli("gate", bench.job, "--at", "unloading")
    assert (ran.code, "KEEP THE REEL ON" in ran.out) == (0, True)


def test_a_growing_capture_is_not_examined(job: Any, cli: Callable[..., Any]) -> None:
    os.utime(job.job / "captures/a.wav")
    ran = cli("gate", job.job)
    assert (ran.code, "capture-growing" in ran.out) == (4, True)


def test_no_job_and_no_such_gate_are_faults_of_the_command_line(
    tmp_path: Path, job: Any, cli: Callable[..., Any]
) -> None:
    assert cli("gate", tmp_path / "none").code == 2
    assert cli("gate", job.job, "--at", "lunch").code == 2


@pytest.fixture
def no_waiting(monkeypatch: pytest.MonkeyPatch) -> list[int]:
    """A clock that goes by a second at every look, and a priority that stays."""
    seconds = itertools.count()
    nice: list[int] = []
    monkeypatch.setattr(time, "sleep", lambda _seconds: None)
    monkeypatch.setattr(time, "monotonic", lambda: float(next(seconds)))
    monkeypatch.setattr(os, "nice", nice.append)
    return nice


def test_a_watch_ends_when_all_is_there_and_rings_its_bell(
    job: Any, cli: Callable[..., Any], no_waiting: list[int]
) -> None:
    ran = cli("gate", job.job, "--watch")
    assert ran.code == 0
    assert "THE REEL MAY COME OFF" in ran.out
    assert "a: at rest, being read" in ran.err
    assert ran.err.count("\a") == 2
    assert no_waiting == [15]


def test_a_watch_in_json_is_a_line_an_answer(
    job: Any, cli: Callable[..., Any], no_waiting: list[int]
) -> None:
    told = [json.loads(line) for line in cli("gate", job.job, "--watch", "--json").out.splitlines()]
    assert [one["word"] for one in told] == ["KEEP", "OFF"]
    assert all(schemas.faults(one, "gate-0.1") == () for one in told)
    assert no_waiting


def test_a_watch_that_is_interrupted_says_so(
    bench: Any, cli: Callable[..., Any], no_waiting: list[int], monkeypatch: pytest.MonkeyPatch
) -> None:
    def stop(_seconds: float) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(time, "sleep", stop)
    bench.form({"a": "captures/a.wav"}, more=SIDE)
    ran = cli("gate", bench.job, "--watch")
    assert (ran.code, no_waiting) == (130, [15])
    assert "KEEP THE REEL ON" in ran.out


def test_a_watch_stands_at_one_gate_only(job: Any, cli: Callable[..., Any]) -> None:
    assert cli("gate", job.job, "--watch", "--at", "boxing").code == 2


def test_the_first_answer_waits_for_no_meter(job: Any, process: Callable[..., Any]) -> None:
    """Nor does the last, of captures that were measured before."""
    code = (
        "import sys\n"
        "from pathlib import Path\n"
        "from tailsout.doors.cli.close import surroundings\n"
        "from tailsout.ground.progress import Silent\n"
        "from tailsout.work.gate import gates\n"
        "for one in gates(Path(sys.argv[1]), None, surroundings(Silent())):\n"
        "    print(one.word, sorted({'numpy', 'numba'} & set(sys.modules)))\n"
    )
    first = process(job.job, code=code).out.splitlines()
    assert first == ["WAIT []", "OFF ['numba', 'numpy']"]
    assert process(job.job, code=code).out.splitlines() == ["OFF []"]
