"""Many packages at once: each judged as if alone, none waited for, all broken off together."""

import os
import shutil
import tarfile
import threading
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from tailsout.bag.workers import Workers
from tailsout.ground.errors import UsageError
from tailsout.ground.findings import Verdict
from tailsout.ground.progress import Progress, Silent
from tailsout.mapping.report import Entry
from tailsout.records.dossier import Depth
from tailsout.records.fingerprint import Fingerprint
from tailsout.work import check_many, parallel
from tailsout.work.check import check
from tailsout.work.check_many import Told, Wish, check_all, usual_jobs
from tailsout.work.close_out import close


@pytest.fixture
def packages(bench: Any, around: Callable[..., Any]) -> list[str]:
    """Five alike, the third with a bit off."""
    bench.fill(bench.wave(own=bench.own_bext()))
    assert close(bench.job, bench.out, around()).built is not None
    places = [bench.root / f"package-{n}" for n in range(5)]
    for place in places:
        shutil.copytree(bench.package, place)
    content = bytearray((places[2] / "data/audio/a.wav").read_bytes())
    content[-1] ^= 1
    (places[2] / "data/audio/a.wav").write_bytes(content)
    return [str(place) for place in places]


def silent(_: str) -> Progress:
    return Silent()


def all_of(packages: list[str], **more: Any) -> dict[str, Told]:
    given: dict[str, Any] = {
        "jobs": 3,
        "progress_of": silent,
        "say": lambda _: None,
        "earlier": {},
    } | more
    wish = given.pop("wish", Wish())
    return {told.package: told for told in check_all(packages, wish, **given)}


def verdict(told: Told) -> Verdict:
    assert told.checked is not None
    return told.checked.judgement.verdict


@pytest.mark.parametrize("jobs", [None, 1, 3])
def test_each_is_judged_as_if_alone(packages: list[str], jobs: int | None) -> None:
    found = all_of(packages, jobs=jobs)
    assert sorted(found) == packages
    for package, told in found.items():
        assert told.checked == check(Path(package), Silent())
    assert [verdict(found[one]).value for one in packages] == [
        "pass",
        "pass",
        "fail",
        "pass",
        "pass",
    ]


def test_the_wish_is_passed_on(packages: list[str]) -> None:
    found = all_of(packages, wish=Wish(depth=Depth.STRUCTURE))
    assert {verdict(told) for told in found.values()} == {Verdict.PASS}
    alone = all_of(packages[2:3], wish=Wish(bagit_only=True))[packages[2]].checked
    assert alone is not None
    assert {finding.code for finding in alone.judgement.findings} == {"digest-differs"}


def test_one_that_is_not_there_stops_no_other(packages: list[str]) -> None:
    found = all_of([*packages[:2], "no such package", *packages[3:]])
    assert isinstance(found["no such package"].error, UsageError)
    assert sum(told.checked is not None for told in found.values()) == 4


def test_none_at_all() -> None:
    assert all_of([]) == {}


class Interrupting(Silent):
    """Interrupts whoever it tells, as soon as a package is read."""

    def advance(self, octets: int) -> None:
        raise KeyboardInterrupt


def test_an_interrupt_in_one_breaks_off_all(packages: list[str]) -> None:
    def progress_of(package: str) -> Progress:
        return Interrupting() if package == packages[0] else Silent()

    with pytest.raises(KeyboardInterrupt):
        all_of(packages, progress_of=progress_of, jobs=1)


def test_who_stops_listening_breaks_off_what_is_under_way(packages: list[str]) -> None:
    begun: list[str] = []

    class Waiting(Silent):
        """Is at the first package until all is stopped."""

        def __init__(self, package: str) -> None:
            self.package = package

        def begin(self, doing: str, octets: int) -> None:
            begun.append(self.package)

    told = check_all(packages, Wish(), jobs=1, progress_of=Waiting, say=lambda _: None, earlier={})
    assert next(told).package == packages[0]
    told.close()
    assert set(begun) <= set(packages[:3])


def test_whoever_reports_progress_after_the_end_is_broken_off() -> None:
    stop = threading.Event()
    progress = parallel.Stoppable(Silent(), stop)
    progress.begin("x", 1)
    progress.advance(1)
    stop.set()
    with pytest.raises(KeyboardInterrupt):
        progress.begin("x", 1)
    with pytest.raises(KeyboardInterrupt):
        progress.advance(1)
    progress.say("still heard")


# What an earlier report tells of


def entry(package: str, seen: Fingerprint | None = None) -> Entry:
    known = check(Path(package), Silent()).fingerprint
    assert known is not None
    return Entry(line={}, verdict=Verdict.OPEN, judged="2026-03-14", fingerprint=seen or known)


def test_what_nobody_wrote_to_is_not_read_again(packages: list[str]) -> None:
    earlier = {package: entry(package) for package in packages[:3]}
    (Path(packages[1]) / "data/audio/a.json").touch()
    found = all_of(packages[:4], earlier=earlier)
    assert found[packages[0]] == Told(package=packages[0], earlier=earlier[packages[0]])
    assert found[packages[2]].earlier is not None
    for package in (packages[1], packages[3]):
        assert found[package].earlier is None
        assert verdict(found[package]) is Verdict.PASS


def test_an_archive_that_nobody_wrote_to_is_not_opened(
    packages: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    archive = Path(packages[0]).with_name("TT-1.tar.gz")
    with tarfile.open(archive, "w:gz") as out:
        out.add(packages[0], "TT-1")
    earlier = {str(archive): entry(str(archive))}
    with monkeypatch.context() as watched:
        watched.setattr(check_many, "check", pytest.fail)
        assert all_of([str(archive)], earlier=earlier)[str(archive)].earlier is not None
    archive.with_name("TT-1.tar.gz.sha512").write_text("no digest")
    told = all_of([str(archive)], earlier=earlier)[str(archive)]
    assert told.checked is not None
    assert "archive-digest-unread" in {one.code for one in told.checked.judgement.findings}


def test_a_receipt_that_came_to_it_is_read_with_the_package(packages: list[str]) -> None:
    earlier = {packages[0]: entry(packages[0])}
    Path(f"{packages[0]}.receipt.json").write_text("{}")
    told = all_of(packages[:1], earlier=earlier)[packages[0]]
    assert verdict(told) is Verdict.OPEN


def test_what_is_gone_since_is_told_as_gone(packages: list[str]) -> None:
    earlier = {packages[0]: entry(packages[0])}
    shutil.rmtree(packages[0])
    assert isinstance(all_of(packages[:1], earlier=earlier)[packages[0]].error, UsageError)


# Rotating disks


def test_a_rotating_disk_is_read_one_file_at_a_time_and_that_is_said(
    packages: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    made: list[tuple[int, bool]] = []

    class Counted(Workers):
        def __init__(self, count: int, *, spread: bool) -> None:
            made.append((count, spread))
            super().__init__(count, spread=spread)

    def disk(path: Path) -> str:
        return "sdb" if path.name in {"package-1", "package-3"} else ""

    monkeypatch.setattr(check_many, "Workers", Counted)
    monkeypatch.setattr(check_many, "rotating_disk", disk)
    said: list[str] = []
    found = all_of(packages, jobs=None, say=said.append)
    assert len(found) == 5
    assert said == ["sdb is a rotating disk: it is read one file at a time."]
    assert made == [(usual_jobs(), False), (1, True)]
    made.clear()
    all_of(packages, jobs=5, say=said.append)
    assert (made, len(said)) == ([(5, False)], 1)


def test_as_many_jobs_as_processors_and_four_at_most(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(os, "sched_getaffinity", lambda _: {0, 1, 2}, raising=False)
    assert usual_jobs() == 3
    monkeypatch.setattr(os, "sched_getaffinity", lambda _: set(range(64)))
    assert usual_jobs() == 4
    monkeypatch.delattr(os, "sched_getaffinity")
    monkeypatch.setattr(os, "cpu_count", lambda: None)
    assert usual_jobs() == 1


@pytest.fixture(autouse=True)
def no_thread_is_left() -> Iterator[None]:
    yield
    names = ("prove", "digest", "package")
    assert not [t for t in threading.enumerate() if t.name.startswith(names)]
