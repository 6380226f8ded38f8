"""The general library opens every bag we stage; where it disagrees nothing gets its name."""

import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tailsout.bag import build as build_module
from tailsout.bag.build import build
from tailsout.bag.disk import Disk
from tailsout.bag.plan import Made, make_plan
from tailsout.bag.second_opinion import disagreement
from tailsout.ground.errors import MaterialError
from tailsout.ground.findings import Verdict
from tailsout.ground.progress import Silent


def run(parent: Path, judge: Callable[[Path], Verdict], progress: Any = None) -> Path:
    plan = make_plan(
        name="reel-0001", payload=[Made(path="data/Ä b.wav", make=lambda _written: b"x")]
    )
    progress = progress or Silent()
    return build(plan, parent, disk=Disk(), judge=judge, progress=progress).path


def passing(_stage: Path) -> Verdict:
    return Verdict.PASS


def test_it_agrees_with_what_we_write(tmp_path: Path) -> None:
    assert disagreement(run(tmp_path, passing)) == ""


@pytest.mark.parametrize(
    "harm",
    [
        lambda base: (base / "bagit.txt").unlink(),
        lambda base: (base / "data" / "stray").touch(),
        lambda base: (base / "data" / "Ä b.wav").unlink(),
        lambda base: (base / "bag-info.txt").write_bytes(b"Payload-Oxum: many\n"),
        lambda base: (base / "manifest-sha512.txt").write_bytes(b"\xff\n"),
        lambda base: shutil.rmtree(base / "data"),
    ],
)
def test_it_says_why_it_does_not(tmp_path: Path, harm: Callable[[Path], object]) -> None:
    base = run(tmp_path, passing)
    harm(base)
    told = disagreement(base)
    assert told
    assert "\n" not in told


def test_a_bag_it_finds_incomplete_does_not_get_its_name(tmp_path: Path) -> None:
    def judge(stage: Path) -> Verdict:
        (stage / "data" / "stray").touch()
        return Verdict.PASS

    with pytest.raises(MaterialError, match="not by the bagit library"):
        run(tmp_path, judge)
    assert list(tmp_path.iterdir()) == []


def test_where_it_cannot_read_the_names_it_is_not_asked(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    class Told(Silent):
        lines: tuple[str, ...] = ()

        def say(self, line: str) -> None:
            self.lines = (*self.lines, line)

    told = Told()
    monkeypatch.setattr(build_module, "can_be_asked", lambda: False)
    monkeypatch.setattr(build_module, "disagreement", None)
    assert run(tmp_path, passing, told).is_dir()
    assert told.lines == ("No second opinion on completeness: this locale is not UTF-8.",)
