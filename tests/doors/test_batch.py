"""Several jobs on one command line: what is printed, and what the exit code is."""

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest


@pytest.fixture
def jobs(bench: Any) -> list[Path]:
    """Three jobs: one that passes, one with a fault in its form, one that is not there."""
    made = []
    for number in (1, 2):
        bench.job = bench.root / f"reel-{number}"
        bench.package_id = f"TT-{number}"
        (bench.job / "captures").mkdir(parents=True)
        bench.fill(bench.wave(frames=4_800 + number))
        made.append(bench.job)
    form = made[1] / "job.toml"
    form.write_text(form.read_text().replace('title = "Reel 1"', "colour = 1"))
    return [*made, bench.root / "nowhere"]


def test_a_table_tells_of_all_the_worst_first(
    cli: Callable[..., Any], jobs: list[Path], bench: Any
) -> None:
    done = cli("close", *jobs, "-o", bench.out)
    assert done.code == 2
    table = done.out[done.out.rindex("\n\n", 0, -40) :].split("\n")
    lines = [line for line in done.out.splitlines() if line][-4:]
    assert [line.split("  ")[0] for line in lines[:3]] == ["fail", "not done", "pass"], table
    assert lines[0].endswith(str(jobs[1]))
    assert "nothing was written" in lines[0]
    assert "committed" in lines[2]
    assert lines[3] == "3 jobs: 1 fail, 1 not done, 1 pass"
    assert f"{jobs[2]}: There is no job.toml" in done.err
    assert (bench.out / "TT-1").is_dir()


@pytest.mark.parametrize(("which", "code"), [((0, 0), 3), ((0, 1), 1), ((1, 2), 2)])
def test_the_exit_code_is_the_most_serious(
    cli: Callable[..., Any], jobs: list[Path], bench: Any, which: tuple[int, ...], code: int
) -> None:
    named = [jobs[number] for number in which]
    assert cli("close", *named, "-o", bench.out, "--jobs", 1).code == code


def test_resume_says_what_was_done_before(
    cli: Callable[..., Any], jobs: list[Path], bench: Any
) -> None:
    cli("close", jobs[0], "-o", bench.out)
    (jobs[1] / "job.toml").write_text((jobs[0] / "job.toml").read_text().replace("TT-1", "TT-2"))
    done = cli("close", *jobs[:2], "-o", bench.out, "--resume")
    assert done.code == 0
    assert f"{jobs[0]}: closed already" in done.out
    assert done.out.splitlines()[-1] == "2 jobs: 1 pass, 1 done already"


def test_a_fault_of_the_program_has_its_own_code(
    cli: Callable[..., Any], jobs: list[Path], bench: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    def faulty(*_given: Any, **_more: Any) -> Any:
        raise ZeroDivisionError

    monkeypatch.setattr("tailsout.work.batch.close", faulty)
    done = cli("close", *jobs[:2], "-o", bench.out)
    assert done.code == 70
    assert "ZeroDivisionError" in done.err


def test_discard_is_for_one_job(cli: Callable[..., Any], jobs: list[Path], bench: Any) -> None:
    assert cli("close", *jobs, "-o", bench.out, "--discard").code == 2


def test_a_gate_takes_many_jobs(cli: Callable[..., Any], jobs: list[Path]) -> None:
    done = cli("gate", *jobs, "--at", "boxing")
    assert done.out.splitlines()[-1].startswith("3 jobs: ")
    assert done.code == 2
    assert f"{jobs[2]}: There is no job.toml" in done.err
    done = cli("gate", *jobs[:2], "--at", "boxing", "--json", "--jobs", 2)
    told = [json.loads(line) for line in done.out.splitlines()]
    assert sorted(one["path"] for one in told) == sorted(map(str, jobs[:2]))
    assert cli("gate", *jobs[:2], "--watch").code == 2


def test_a_table_of_reels_begins_jobs(cli: Callable[..., Any], bench: Any) -> None:
    table = bench.root / "reels.csv"
    table.write_text("reel.identifiers.value;reel.diameter_in\nHA/SKL/1;7\nHA/SKL/2;seven\n")
    jobs = bench.root / "jobs"
    done = cli("begin", jobs, "--from", table, "--studio", bench.studio, "--retrospective")
    assert done.code == 1
    assert "parted by semicolons" in done.err
    assert "line 3: reel.diameter_in: 'seven' is not a number" in done.err
    assert done.out.splitlines()[-1] == "2 rows: 1 not done, 1 done"
    table.write_text(table.read_text().replace("seven", "7"))
    done = cli("begin", jobs, "--from", table, "--studio", bench.studio, "--retrospective")
    assert done.code == 0
    assert done.out.splitlines()[-1] == "2 rows: 1 done, 1 done already"
    assert sorted(one.name for one in jobs.iterdir()) == ["HA-SKL-1", "HA-SKL-2"]
    assert cli("begin", jobs, "--from", table, "--identifier", "x").code == 2


def test_hours_are_printed_or_written(
    cli: Callable[..., Any], jobs: list[Path], bench: Any
) -> None:
    cli("close", jobs[0], "-o", bench.out)
    table = bench.root / "hours.csv"
    assert cli("hours", bench.out, "-o", table).code == 0
    assert table.read_text().startswith('"package","identifier"')
    assert cli("hours", bench.out, "-o", table).code == 3
