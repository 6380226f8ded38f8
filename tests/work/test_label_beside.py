"""The label that `close` and `amend` lay beside the receipt, and that nothing hangs on."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tailsout.bag.disk import Disk
from tailsout.ground.errors import CutOffError, SurroundingsError
from tailsout.ground.progress import Silent
from tailsout.work.amend import amend
from tailsout.work.close_out import close
from tailsout.work.label import label

FORM = (
    'by = "isolde"\non = 2026-05-02\nwhy = "a letter"\n'
    '[[statements]]\nat = "note"\nchange = "added"\nnow = "found later"\n'
)


class Heard(Silent):
    """Keeps what is said."""

    def __init__(self) -> None:
        self.said: list[str] = []

    def say(self, sentence: str) -> None:
        self.said.append(sentence)


class NoLabels(Disk):
    """Takes everything but labels."""

    def write_beside(self, path: Path, content: bytes) -> None:
        if path.name.endswith(".label.svg"):
            raise SurroundingsError("The disk is full.")
        super().write_beside(path, content)


def test_it_is_the_one_that_is_made_of_the_package(bench: Any, around: Callable[..., Any]) -> None:
    bench.fill()
    outcome = close(bench.job, bench.out, around())
    assert outcome.label == bench.out / "TT-1.label.svg"
    first = (bench.out / "TT-1.label.svg").read_bytes()
    assert first == label(bench.package, Silent())
    form = bench.root / "amendment.toml"
    form.write_text(FORM)
    new = amend(bench.package, form, bench.out, around()).outcome
    assert new.built is not None
    assert new.label == bench.out / "TT-1.v2.label.svg"
    later = (bench.out / "TT-1.v2.label.svg").read_bytes()
    assert first != later == label(new.built.path, Silent())


def test_what_stands_there_stays(bench: Any, around: Callable[..., Any]) -> None:
    bench.fill()
    place = bench.out / "TT-1.label.svg"
    bench.out.mkdir()
    place.write_text("drawn by hand")
    heard = Heard()
    outcome = close(bench.job, bench.out, around(progress=heard))
    assert (outcome.label, place.read_text()) == (None, "drawn by hand")
    assert outcome.receipt == bench.receipt
    assert bench.receipt.is_file()
    (said,) = [one for one in heard.said if "label" in one]
    assert said.startswith("No label was laid beside it (")
    assert "is there already" in said
    assert said.endswith("`tailsout label TT-1 -o FILE` makes it.")


def test_a_disk_that_takes_no_label_commits_all_the_same(
    bench: Any, around: Callable[..., Any]
) -> None:
    bench.fill()
    heard = Heard()
    outcome = close(bench.job, bench.out, around(disk=NoLabels(), progress=heard))
    assert outcome.built is not None
    assert outcome.label is None
    assert sorted(one.name for one in bench.out.iterdir()) == ["TT-1", "TT-1.receipt.json"]
    assert any("The disk is full" in one for one in heard.said)


def test_a_label_that_was_cut_off_is_laid_by_the_resume(
    bench: Any, around: Callable[..., Any]
) -> None:
    class CutOff(Disk):
        def write_beside(self, path: Path, content: bytes) -> None:
            if path.name.endswith(".label.svg"):
                raise KeyboardInterrupt
            super().write_beside(path, content)

    bench.fill()
    with pytest.raises(CutOffError, match="with its receipt"):
        close(bench.job, bench.out, around(disk=CutOff()))
    assert not (bench.out / "TT-1.label.svg").exists()
    resumed = close(bench.job, bench.out, around(), resume=True)
    assert resumed.label == bench.out / "TT-1.label.svg"
    content = (bench.out / "TT-1.label.svg").read_bytes()
    assert content == label(bench.package, Silent())
    assert len(list(bench.out.iterdir())) == 3
