"""Taking up what a crash left: what stays, what goes, and when nothing may be taken up (§2.1.8).

The protocol and its cases are those of crash tests of well-known data stores: any damage to what
was left, a crash during recovery, another plan than the one begun.
"""

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tailsout.bag import journal
from tailsout.bag.build import Built, build
from tailsout.bag.disk import Disk
from tailsout.bag.plan import Made, Plan, Streamed, make_plan
from tailsout.bag.stage import Stage
from tailsout.ground.errors import (
    MaterialError,
    RefusedError,
    SurroundingsError,
    ToldToEndError,
    UnprovedError,
    UsageError,
)
from tailsout.ground.findings import Verdict
from tailsout.ground.progress import Silent

SIDES = {"a": b"A" * 70_000, "b": b"B" * 90_000, "c": b"C" * 50_000}
STAGE, JOURNAL = ".reel-0001.part", ".reel-0001.part.journal"


class PowerCutError(Exception):
    """The power goes."""


class Cut(Disk):
    """A disk whose machine loses its power at the n-th call; it tidies nothing afterwards."""

    def __init__(self, at: int = 0) -> None:
        super().__init__()
        self.at, self.calls = at, 0
        self.created: list[str] = []

    def tick(self) -> None:
        self.calls += 1
        if self.at and self.calls >= self.at:
            raise PowerCutError


def cutting(call: str) -> Any:
    def method(self: Cut, *arguments: Any) -> Any:
        self.tick()
        if call == "create":
            self.created.append(arguments[0].name)
        return getattr(Disk, call)(self, *arguments)

    return method


for _call in (
    *("create", "write", "sync_file", "make_directory", "set_mode", "sync_directory"),
    *("rename_no_replace", "remove", "remove_tree", "append_line", "is_there"),
):
    setattr(Cut, _call, cutting(_call))


def streamed(side: str, source: str | None = None) -> Streamed:
    content = SIDES[side]

    def write(take: Callable[[bytes], object]) -> None:
        for start in range(0, len(content), 20_000):
            take(content[start : start + 20_000])

    name = f"data/audio/{side}.wav"
    source = side if source is None else source
    return Streamed(path=name, octets=len(content), write=write, source=source)


def make(**changed: Any) -> Plan:
    given: dict[str, Any] = {
        "name": "reel-0001",
        "payload": [
            streamed("a"),
            Made(path="data/audio/a.json", make=lambda w: w["data/audio/a.wav"].path.encode()),
            streamed("b"),
            streamed("c", source=""),
        ],
        "tags": [Made(path="metadata/told.txt", make=lambda w: "\n".join(sorted(w)).encode())],
        "instant": "2026-03-15T12:00:00Z",
        "software": "tailsout 0",
    }
    return make_plan(**{**given, **changed})


def run(parent: Path, disk: Disk | None = None, plan: Plan | None = None, **more: Any) -> Built:
    more = {"judge": lambda _stage: Verdict.PASS, "progress": Silent(), **more}
    return build(plan or make(), parent, disk=disk or Disk(), **more)


def tree(base: Path) -> dict[str, tuple[int, bytes]]:
    return {
        p.relative_to(base).as_posix(): (p.lstat().st_mode, p.read_bytes() if p.is_file() else b"")
        for p in sorted(base.rglob("*"))
    }


def cut_at(parent: Path, at: int, **more: Any) -> bool:
    """Cut the power at the n-th call; tell whether it came to that."""
    try:
        run(parent, Cut(at), **more)
    except PowerCutError:
        return True
    return False


@pytest.fixture(scope="module")
def reference(tmp_path_factory: pytest.TempPathFactory) -> dict[str, tuple[int, bytes]]:
    return tree(run(tmp_path_factory.mktemp("reference")).path)


@pytest.fixture
def cut(tmp_path: Path) -> Path:
    """Where both large files stand and the tag files are half written."""

    def judge(_stage: Path) -> Verdict:
        raise PowerCutError

    place = tmp_path / "out"
    with pytest.raises(PowerCutError):
        run(place, CutAtJudge(), judge=judge)
    assert {p.name for p in place.iterdir()} == {STAGE, JOURNAL}
    return place


class CutAtJudge(Disk):
    """Can no longer remove anything once the power went."""

    def remove_tree(self, path: Path) -> None:
        raise OSError(5, "gone", str(path))


def taken_up(place: Path, **more: Any) -> list[str]:
    """Resume, and return which files were written."""
    disk = Cut()
    run(place, disk, resume=True, **more)
    assert [p.name for p in place.iterdir()] == ["reel-0001"]
    return disk.created


# Wherever the power goes


@pytest.mark.parametrize("share", range(4))
def test_at_any_call_and_then_at_any_call_of_the_resume(
    tmp_path: Path, reference: dict[str, tuple[int, bytes]], share: int
) -> None:
    """T2: killed before every call of a build, and of the resume that follows."""
    whole = Cut()
    (tmp_path / "whole").mkdir()
    run(tmp_path / "whole", whole)
    for at in range(1 + share, whole.calls + 1, 4):
        place = tmp_path / str(at)
        place.mkdir()
        assert cut_at(place, at)
        for again in range(1, whole.calls + 1, 7):
            names = {p.name for p in place.iterdir()}
            if not names & {STAGE, JOURNAL}:
                break
            assert names & {"reel-0001", STAGE} in ({"reel-0001"}, {STAGE}, set())
            if not cut_at(place, again, resume=True):
                break
        names = {p.name for p in place.iterdir()}
        if names & {STAGE, JOURNAL} or not names:
            run(place, resume=bool(names))
        assert tree(place / "reel-0001") == reference
        assert [p.name for p in place.iterdir()] == ["reel-0001"]


# What stays


def test_what_is_finished_is_not_written_again(
    cut: Path, reference: dict[str, tuple[int, bytes]]
) -> None:
    created = taken_up(cut)
    assert "c.wav" in created
    assert not {"a.wav", "b.wav"} & set(created)
    assert tree(cut / "reel-0001") == reference


@pytest.mark.parametrize("harm", ["bit", "shorter", "longer", "gone", "link", "directory"])
def test_what_reads_back_differently_is_written_again(
    cut: Path, reference: dict[str, tuple[int, bytes]], harm: str
) -> None:
    side = cut / STAGE / "data" / "audio" / "b.wav"
    octets = bytearray(side.read_bytes())
    if harm == "bit":
        octets[500] ^= 1
        side.write_bytes(octets)
    elif harm == "shorter":
        side.write_bytes(octets[:-1])
    elif harm == "longer":
        side.write_bytes(octets + b"x")
    else:
        side.unlink()
        if harm == "link":
            precious = cut.parent / "precious"
            precious.write_bytes(SIDES["b"])
            side.symlink_to(precious)
        elif harm == "directory":
            side.mkdir()
            (side / "x").touch()
    assert "b.wav" in taken_up(cut)
    assert tree(cut / "reel-0001") == reference
    if harm == "link":
        assert (cut.parent / "precious").read_bytes() == SIDES["b"]


def test_what_is_in_no_journal_goes(cut: Path, reference: dict[str, tuple[int, bytes]]) -> None:
    stage = cut / STAGE
    (stage / "data" / "stray").mkdir()
    (stage / "data" / "stray" / "x").touch()
    (stage / "data" / "audio" / "y").touch()
    (stage / "z").symlink_to("nowhere")
    taken_up(cut)
    assert tree(cut / "reel-0001") == reference


@pytest.mark.parametrize(
    ("harm", "written"),
    [
        ("torn", {"b.wav"}),
        ("binary", {"b.wav"}),
        ("other keys", {"b.wav"}),
        ("another path", {"b.wav"}),
        ("other algorithms", {"b.wav"}),
        ("torn and more behind it", {"b.wav"}),
        ("first line", {"a.wav", "b.wav"}),
        ("empty", {"a.wav", "b.wav"}),
        ("gone", {"a.wav", "b.wav"}),
        ("a form to come", {"a.wav", "b.wav"}),
    ],
)
def test_a_journal_that_is_damaged_loses_work_and_nothing_else(
    cut: Path, reference: dict[str, tuple[int, bytes]], harm: str, written: set[str]
) -> None:
    path = cut / JOURNAL
    first, a, b = path.read_bytes().splitlines(keepends=True)
    told = json.loads(b)
    changed = {
        "torn": [first, a, b[:40]],
        "binary": [first, a, b"\xff\xfe" * 20],
        "other keys": [first, a, b'{"path": 3}\n[1]\n'],
        "another path": [first, a, json.dumps({**told, "path": "../b.wav"}).encode()],
        "other algorithms": [first, a, json.dumps({**told, "digests": {"md5": "0"}}).encode()],
        "torn and more behind it": [first, b[:40], b"\n", a],
        "first line": [first[:50], b"\n", a, b],
        "empty": [],
        "gone": [],
        "a form to come": [first.replace(b"journal 1", b"journal 2"), a, b],
    }[harm]
    path.write_bytes(b"".join(changed))
    if harm == "gone":
        path.unlink()
    created = taken_up(cut)
    assert {"a.wav", "b.wav"} & set(created) == written
    assert tree(cut / "reel-0001") == reference


def test_what_is_finished_outlives_a_shutdown_and_not_an_interruption(tmp_path: Path) -> None:
    """J07: SIGTERM and SIGHUP come before a shutdown; SIGINT from somebody at the keyboard."""

    def struck(error: BaseException) -> list[str]:
        def judge(_stage: Path) -> Verdict:
            raise error

        with pytest.raises(type(error)):
            run(tmp_path, judge=judge)
        return sorted(p.name for p in tmp_path.iterdir())

    assert struck(KeyboardInterrupt()) == []
    assert struck(ToldToEndError()) == [STAGE, JOURNAL]


def test_a_bag_that_could_not_be_read_back_is_no_bad_bag(
    tmp_path: Path, reference: dict[str, tuple[int, bytes]]
) -> None:
    """A device that fails while the stage is proved: the work is kept, and judged again."""
    with pytest.raises(UnprovedError, match="could not be read back") as caught:
        run(tmp_path, judge=lambda _stage: Verdict.NOT_EXAMINED)
    assert caught.value.exit_code == 4
    assert sorted(p.name for p in tmp_path.iterdir()) == [STAGE, JOURNAL]
    run(tmp_path, resume=True)
    assert tree(tmp_path / "reel-0001") == reference


# When it is not to be taken up


@pytest.mark.parametrize(
    "changed",
    [
        {"instant": "2026-03-15T12:00:01Z"},
        {"software": "tailsout 1"},
        {"stated": "otherwise"},
        {"bag_info": [("Contact-Name", "Maren Skarv")]},
        {"algorithms": ["sha512"]},
        {"payload": [streamed("a", source="another")]},
        {"tags": []},
    ],
    ids=lambda changed: next(iter(changed)),
)
def test_another_plan_than_the_one_begun(cut: Path, changed: dict[str, Any]) -> None:
    before = tree(cut)
    with pytest.raises(MaterialError, match="not this one"):
        run(cut, CutAtJudge(), plan=make(**changed), resume=True)
    assert tree(cut) == before


def test_a_new_build_does_not_throw_finished_work_away(cut: Path) -> None:
    before = tree(cut)
    with pytest.raises(SurroundingsError, match="2 files stand finished there") as caught:
        run(cut)
    assert "--resume" in caught.value.remedy
    assert tree(cut) == before


def test_nothing_to_resume(tmp_path: Path) -> None:
    with pytest.raises(UsageError, match="nothing to resume"):
        run(tmp_path / "out", resume=True)
    assert list(tmp_path.iterdir()) == []


def test_what_stands_there_wins_over_what_was_left(cut: Path) -> None:
    (cut / "reel-0001").mkdir()
    before = tree(cut)
    with pytest.raises(RefusedError):
        run(cut, resume=True)
    assert tree(cut) == before


def test_what_somebody_is_at_is_neither_resumed_nor_cleared(cut: Path) -> None:
    before = tree(cut)
    lock = Disk().lock(cut / STAGE)
    try:
        for resume in (True, False):
            with pytest.raises(SurroundingsError, match="in use"):
                run(cut, resume=resume)
        with pytest.raises(SurroundingsError, match="in use"):
            Stage(cut / "reel-0001", Disk(), Silent()).discard()
    finally:
        Disk().release(lock)
    assert tree(cut) == before


# Discarding


def test_what_is_discarded_is_gone_and_nothing_else(cut: Path) -> None:
    (cut / "other").touch()
    stage = Stage(cut / "reel-0001", Disk(), Silent())
    assert stage.discard()
    assert [p.name for p in cut.iterdir()] == ["other"]
    assert not stage.discard()
    assert run(cut).path.is_dir()


def test_a_journal_alone_is_discarded(tmp_path: Path) -> None:
    (tmp_path / JOURNAL).write_bytes(b"")
    assert Stage(tmp_path / "reel-0001", Disk(), Silent()).discard()
    assert list(tmp_path.iterdir()) == []


# The record


def test_the_record_that_was_cut_off_is_made_by_the_resume(
    tmp_path: Path, reference: dict[str, tuple[int, bytes]]
) -> None:
    recorded: list[Built] = []

    def no(_built: Built) -> None:
        raise PowerCutError

    with pytest.raises(PowerCutError):
        run(tmp_path, record=no)
    assert {p.name for p in tmp_path.iterdir()} == {"reel-0001", JOURNAL}
    judged: list[Path] = []

    def judge(place: Path) -> Verdict:
        judged.append(place)
        return Verdict.PASS

    disk = Cut()
    run(tmp_path, disk, record=recorded.append, judge=judge, resume=True)
    assert judged == [tmp_path / "reel-0001"]
    assert (recorded[0].files, disk.created) == (len([1 for p in reference if "." in p]), [])
    assert [p.name for p in tmp_path.iterdir()] == ["reel-0001"]
    assert tree(tmp_path / "reel-0001") == reference


def test_a_bag_that_was_harmed_meanwhile_is_not_recorded(tmp_path: Path) -> None:
    def no(_built: Built) -> None:
        raise PowerCutError

    with pytest.raises(PowerCutError):
        run(tmp_path, record=no)
    with pytest.raises(MaterialError, match="fail"):
        run(tmp_path, judge=lambda _p: Verdict.FAIL, record=no, resume=True)
    assert {p.name for p in tmp_path.iterdir()} == {"reel-0001", JOURNAL}


def test_the_journal_tells_what_was_begun(cut: Path) -> None:
    begun = journal.read(cut / JOURNAL)
    assert begun is not None
    assert (begun.instant, begun.software) == ("2026-03-15T12:00:00Z", "tailsout 0")
    assert begun.plan == make().digest
    assert {path: one.octets for path, one in begun.written.items()} == {
        "data/audio/a.wav": 70_000,
        "data/audio/b.wav": 90_000,
    }
