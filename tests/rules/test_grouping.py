"""Works on several reels: RFC 8493 §2.2.2, Bag-Group-Identifier and Bag-Count."""

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest

from tailsout.records.dossier import Dossier
from tailsout.records.facts import InfoLine, PackageFacts
from tailsout.records.recording import Work
from tailsout.records.transfer import Transfer

Run = Callable[[str, Dossier], list[tuple[str, str]]]
PLACE = "data/audio/reel.json#/transfer/work/part"
COUNTED = "parts of a work as counted in bag-info.txt"
AGREES = "bag-info.txt against what is stated of the work"


@pytest.mark.parametrize(
    ("part", "parts", "beyond"),
    [(5, 5, False), (6, 5, True), (6, None, False), (None, 5, False)],
)
def test_a_part_beyond_the_parts(
    run: Run,
    stating: Callable[[Transfer], Dossier],
    transfer: Callable[..., Transfer],
    part: int | None,
    parts: int | None,
    *,
    beyond: bool,
) -> None:
    dossier = stating(transfer(work=Work(id="HA/SKL", part=part, parts=parts)))
    expected = [("work-part-beyond", PLACE)] if beyond else []
    assert run("parts of a work as stated", dossier) == expected


@pytest.fixture
def package(stating: Callable[[Transfer], Dossier], transfer: Callable[..., Transfer]) -> Any:
    def make(*info: tuple[str, str], work: Work | None = None) -> Dossier:
        lines = tuple(
            InfoLine(label=label, value=value, line=number)
            for number, (label, value) in enumerate(info, 1)
        )
        facts = PackageFacts(
            name="x",
            bagit_version="1.0",
            encoding="UTF-8",
            bag_info=lines,
            manifests=(),
            files=(),
            observations=(),
        )
        dossier = stating(transfer(work=work))
        return replace(dossier, package=facts, examined=dossier.examined | frozenset({"structure"}))

    return make


@pytest.mark.parametrize("good", ["1 of 1", "2 of 5", "5 of 5", "7 of ?"])
def test_a_count_that_is_one(run: Run, package: Any, good: str) -> None:
    info = (("Bag-Group-Identifier", "HA/SKL"), ("bag-count", good))
    assert run(COUNTED, package(*info)) == []


@pytest.mark.parametrize(
    "odd", ["", "2", "2/5", "two of five", "6 of 5", "0 of 5", "? of 5", "2 of  5", "٢ of ٥"]
)
def test_a_count_that_is_none(run: Run, package: Any, odd: str) -> None:
    info = (("Bag-Group-Identifier", "HA/SKL"), ("Bag-Count", odd))
    assert run(COUNTED, package(*info)) == [("bag-count-odd", "bag-info.txt:2")]


def test_a_count_without_a_group(run: Run, package: Any) -> None:
    found = run(COUNTED, package(("Bag-Count", "2 of 5")))
    assert found == [("bag-count-alone", "bag-info.txt:1")]
    assert run(COUNTED, package(("Contact-Name", "Maren Skarv"))) == []


@pytest.mark.parametrize(
    ("group", "count", "lines"),
    [
        ("HA/SKL", "2 of 5", []),
        ("HA/SKL", "2 of ?", []),
        ("HA/OTHER", "2 of 5", [1]),
        ("HA/SKL", "3 of 5", [2]),
        ("ha/skl", "1 of 5", [1, 2]),
    ],
)
def test_bag_info_against_the_side_car(
    run: Run, package: Any, group: str, count: str, lines: list[int]
) -> None:
    info = (("Bag-Group-Identifier", group), ("Bag-Count", count))
    found = run(AGREES, package(*info, work=Work(id="HA/SKL", part=2, parts=5)))
    assert found == [("bag-group-differs", f"bag-info.txt:{line}") for line in lines]
    assert run(AGREES, package(*info)) == []
