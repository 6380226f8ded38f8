"""Many jobs closed in one run: each for itself, and a night that was cut off taken up again."""

import json
import os
import re
import threading
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tailsout.ground.errors import CutOffError, RefusedError, SurroundingsError, UsageError
from tailsout.ground.findings import Verdict
from tailsout.ground.progress import Progress, Silent
from tailsout.mapping import receipt
from tailsout.work.batch import Closed, Wish, close_all
from tailsout.work.check import check
from tailsout.work.close_out import close
from tailsout.work.parallel import Done, run_each


class Night:
    """A studio with several jobs, each of one tiny capture."""

    def __init__(self, bench: Any, around: Callable[..., Any]) -> None:
        self.bench, self.around = bench, around
        self.jobs: list[str] = []

    def lay(self, count: int) -> None:
        for number in range(1, count + 1):
            self.bench.job = self.bench.root / f"reel-{number}"
            self.bench.package_id = f"TT-{number}"
            (self.bench.job / "captures").mkdir(parents=True)
            wave = self.bench.wave(frames=4_800 + number)
            machine = f'[[passes]]\nid = "p1"\nmachine = "left"\non = 2026-03-{number:02}'
            self.bench.fill(wave, more=machine)
            form = self.bench.job / "job.toml"
            form.write_text(form.read_text().replace("2c07", f"2c{number:02}"))
            self.jobs.append(str(self.bench.job))

    def run(self, *, at_once: int = 1, **wish: Any) -> dict[str, Done[Closed]]:
        done = close_all(
            self.jobs,
            self.bench.out,
            self.around(),
            Wish(**wish),
            jobs=at_once,
            progress_of=lambda _name: Silent(),
        )
        return {Path(one.name).name: one for one in done}


@pytest.fixture
def night(bench: Any, around: Callable[..., Any]) -> Night:
    return Night(bench, around)


def committed(done: Done[Closed]) -> bool:
    return bool(done.came and done.came.outcome and done.came.outcome.built)


@pytest.mark.parametrize("at_once", [1, 3])
def test_each_job_becomes_its_package(night: Night, at_once: int) -> None:
    night.lay(3)
    done = night.run(at_once=at_once)
    assert all(committed(one) for one in done.values())
    for number in (1, 2, 3):
        assert check(night.bench.out / f"TT-{number}", Silent()).judgement.verdict is Verdict.PASS
    log = (night.bench.studio / "logbook/left.jsonl").read_text().splitlines()
    assert sorted(json.loads(line)["key"] for line in log) == ["TT-1", "TT-2", "TT-3"]


SESSION = """\
id = "2026-03-14-left"
on = 2026-03-14
machine = "left"
[[settings]]
id = "7-nab"
capture = "left.wav"
"""


def lay_a_session(night: Night, count: int) -> None:
    """Lay jobs that all rest on one session with one capture of its calibration tape."""
    night.lay(count)
    for job in night.jobs:
        form = Path(job) / "job.toml"
        told = 'session = "2026-03-14-left"\non = 2026-03-14'
        form.write_text(re.sub(r'machine = "left"\non = 2026-03-\d\d', told, form.read_text()))
    folder = night.bench.studio / "sessions/2026-03-14-left"
    folder.mkdir(parents=True)
    folder.with_suffix(".toml").write_text(SESSION)
    (folder / "left.wav").write_bytes(night.bench.wave(frames=1000))
    os.utime(folder / "left.wav", (1_700_000_000, 1_700_000_000))


def packed_in(night: Night, number: int) -> str:
    """Which package a package says holds the capture; that it holds what it says is checked."""
    base = night.bench.out / f"TT-{number}"
    [told] = json.loads((base / "data/audio/a.json").read_bytes())["calibrations"]
    [*found] = base.rglob("calibration/**/*.wav")
    assert bool(found) is (told["packed_in"] == base.name)
    return str(told["packed_in"])


def test_the_first_job_of_a_session_packs_its_calibration_captures(night: Night) -> None:
    lay_a_session(night, 3)
    # It takes the longest: were it not waited for, another would be first.
    capture = Path(night.jobs[0]) / "captures/a.wav"
    capture.write_bytes(night.bench.wave(frames=480_000))
    os.utime(capture, (1_700_000_000, 1_700_000_000))
    done = night.run(at_once=3)
    assert all(committed(one) for one in done.values())
    assert [packed_in(night, number) for number in (1, 2, 3)] == ["TT-1"] * 3


def test_where_the_first_fails_the_next_one_packs_them(night: Night) -> None:
    lay_a_session(night, 3)
    (Path(night.jobs[0]) / "captures/a.wav").write_bytes(b"no wave")
    done = night.run(at_once=3)
    assert not committed(done["reel-1"])
    assert [packed_in(night, number) for number in (2, 3)] == ["TT-2"] * 2


def test_one_that_fails_never_stops_the_rest(night: Night) -> None:
    night.lay(4)
    (Path(night.jobs[0]) / "captures/a.wav").unlink()
    (Path(night.jobs[1]) / "job.toml").write_text("no = [form")
    night.jobs.insert(2, str(night.bench.root / "nowhere"))
    done = night.run()
    assert committed(done["reel-3"])
    assert committed(done["reel-4"])
    assert isinstance(done["nowhere"].error, UsageError)
    for name in ("reel-1", "reel-2"):
        came = done[name].came
        assert came is not None
        assert came.outcome is not None
        assert came.outcome.judgement.verdict is Verdict.FAIL
        assert came.outcome.built is None


def test_a_fault_of_the_program_costs_one_job(
    night: Night, monkeypatch: pytest.MonkeyPatch
) -> None:
    night.lay(2)
    own = close

    def faulty(job: Path, *given: Any, **more: Any) -> Any:
        if job.name == "reel-1":
            raise ZeroDivisionError("a fault")
        return own(job, *given, **more)

    monkeypatch.setattr("tailsout.work.batch.close", faulty)
    done = night.run()
    assert "ZeroDivisionError: a fault" in done["reel-1"].fault
    assert committed(done["reel-2"])


def test_two_jobs_of_one_name_become_one_package(night: Night) -> None:
    night.lay(2)
    form = Path(night.jobs[1]) / "job.toml"
    form.write_text(form.read_text().replace("TT-2", "TT-1"))
    done = night.run()
    assert committed(done["reel-1"])
    assert isinstance(done["reel-2"].error, RefusedError)
    # Nor is the second one taken for done when the night is gone on with.
    again = night.run(resume=True)
    assert again["reel-1"].came is not None
    assert again["reel-1"].came.finished == night.bench.out / "TT-1"
    error = again["reel-2"].error
    assert isinstance(error, RefusedError)
    assert "TT-1 was made from another job, whose job_id is" in str(error)


def test_what_stands_with_its_receipt_is_passed_over(night: Night) -> None:
    night.lay(3)
    kept = night.jobs
    night.jobs = kept[:2]
    night.run()
    before = night.bench.tree(night.bench.out)
    night.jobs = kept
    done = night.run(resume=True)
    assert [one.came.finished for one in done.values() if one.came] == [
        night.bench.out / "TT-1",
        night.bench.out / "TT-2",
        None,
    ]
    after = night.bench.tree(night.bench.out)
    assert {path: after[path] for path in before} == before
    assert (night.bench.out / "TT-3").is_dir()


def test_what_a_cut_kept_from_the_logbooks_is_added(night: Night) -> None:
    night.lay(2)
    night.run()
    logbook = night.bench.studio / "logbook/left.jsonl"
    lines = logbook.read_bytes().splitlines(keepends=True)
    logbook.write_bytes(lines[1])
    for _ in range(2):
        assert all(one.came and one.came.finished for one in night.run(resume=True).values())
        assert sorted(logbook.read_bytes().splitlines(keepends=True)) == sorted(lines)


def test_without_resume_what_stands_is_refused(night: Night) -> None:
    night.lay(1)
    night.run()
    assert isinstance(night.run()["reel-1"].error, RefusedError)


def test_one_that_was_begun_is_gone_on_with(night: Night, full_disk: Callable[[int], Any]) -> None:
    night.lay(2)
    wave = night.bench.wave(frames=48_000)
    night.bench.put(f"{night.jobs[1]}/captures/a.wav", wave)
    own = night.around
    night.around = lambda: own(disk=full_disk(250_000))
    stopped = night.run()
    assert any(isinstance(one.error, SurroundingsError) for one in stopped.values())
    night.around = own
    done = night.run(resume=True)
    assert [one.error for one in done.values()] == [None, None]
    assert not [name for name in night.bench.left() if ".part" in name]
    for number in (1, 2):
        assert check(night.bench.out / f"TT-{number}", Silent()).judgement.verdict is Verdict.PASS


def test_a_package_whose_receipt_is_wanting_gets_it(night: Night) -> None:
    night.lay(1)
    night.run()
    receipt_file = night.bench.out / "TT-1.receipt.json"
    kept = receipt_file.read_bytes()
    receipt_file.unlink()
    done = night.run(resume=True)
    # Nothing tells that a build was cut off, so the package may be anybody's.
    assert isinstance(done["reel-1"].error, RefusedError)
    receipt_file.write_bytes(kept)
    assert night.run(resume=True)["reel-1"].error is None


@pytest.mark.parametrize(
    "spoil",
    [
        lambda out: (out / "TT-1.receipt.json").write_text("{}"),
        lambda out: (out / "TT-1.receipt.json").write_bytes(b"\xff"),
        lambda out: (out / "TT-1/tagmanifest-sha256.txt").write_text("x"),
        lambda out: (out / "TT-1/tagmanifest-sha512.txt").unlink(),
        lambda out: (out / "TT-1/tagmanifest-md5.txt").write_text("x"),
        lambda out: (out / "TT-1.receipt.json").write_text(
            (out / "TT-1.receipt.json").read_text().replace('"TT-1"', '"TT-9"')
        ),
    ],
)
def test_a_package_that_is_not_its_receipts_is_not_taken_for_finished(
    night: Night, spoil: Callable[[Path], object]
) -> None:
    night.lay(1)
    night.run()
    spoil(night.bench.out)
    done = night.run(resume=True)["reel-1"]
    assert isinstance(done.error, RefusedError)
    assert "not what the receipt beside it tells of" in str(done.error)


@pytest.mark.parametrize("content", [b"", b"[]", b'{"schema": 1}', b"{" * 1000])
def test_what_is_no_receipt_proves_nothing(content: bytes) -> None:
    assert receipt.tag_manifests(content, "TT-1") is None


def test_a_plan_of_many_writes_nothing(night: Night) -> None:
    night.lay(2)
    done = night.run(only_plan=True)
    assert all(one.came and one.came.outcome and one.came.outcome.plan for one in done.values())
    assert not night.bench.out.exists()


@pytest.mark.parametrize("at_once", [1, 2])
def test_an_interruption_is_passed_on(at_once: int) -> None:
    def act(name: str, progress: Progress) -> str:
        progress.begin(name, 1)
        if name == "b":
            raise KeyboardInterrupt
        return name

    done = run_each(["a", "b", "c"], act, jobs=at_once, progress_of=lambda _: Silent())
    with pytest.raises(KeyboardInterrupt):
        list(done)


def test_what_stands_complete_when_interrupted_is_told() -> None:
    def act(_name: str, _progress: Progress) -> str:
        raise CutOffError("It stands.")

    with pytest.raises(CutOffError):
        list(run_each(["a"], act, jobs=1, progress_of=lambda _: Silent()))


def test_whoever_breaks_it_off_waits_for_no_more_than_is_under_way() -> None:
    reached = threading.Event()

    def act(name: str, progress: Progress) -> str:
        if name == "a":
            return name
        reached.set()
        while True:
            progress.advance(1)

    done = run_each(["a", "b", "c", "d"], act, jobs=2, progress_of=lambda _: Silent())
    assert next(done).came == "a"
    assert reached.wait(5)
    done.close()
