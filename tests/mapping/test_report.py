"""Reports of earlier checks, read line by line: the last word counts, a torn line is none."""

from typing import Any

import pytest

from tailsout.ground.findings import Judgement, Verdict
from tailsout.mapping import json_output
from tailsout.mapping.plain import json_line
from tailsout.mapping.report import Report, read
from tailsout.records.dossier import Depth
from tailsout.records.fingerprint import Fingerprint

SEEN = Fingerprint(files=3, octets=70, listing_sha256="a" * 64, tag_files={"bagit.txt": "b" * 64})
NOW = "2026-03-14T10:21:07Z"
SOFTWARE = "tailsout 0"
ALIKE = {"software": SOFTWARE, "depth": "full", "bagit_only": None}


def entry(path: str, **other: Any) -> dict[str, Any]:
    line = json_output.judged(path, Judgement(findings=(), checks=()), SOFTWARE)
    line |= json_output.looked_at(Depth.FULL, bagit_only=False, judged=NOW, fingerprint=SEEN)
    return {key: value for key, value in (line | other).items() if value is not None}


def of(*lines: dict[str, Any] | bytes) -> Report:
    octets = [
        line if isinstance(line, bytes) else json_line(line).encode() + b"\n" for line in lines
    ]
    return read(octets, alike=ALIKE)


def test_an_entry_comes_back_whole() -> None:
    found = of(entry("one"), entry("two", verdict="fail"))
    assert (found.unreadable, found.unfit) == (0, 0)
    assert list(found.entries) == ["one", "two"]
    one = found.entries["one"]
    assert (one.line, one.verdict, one.judged) == (entry("one"), Verdict.PASS, NOW)
    assert one.fingerprint == SEEN
    assert found.entries["two"].verdict is Verdict.FAIL


def test_a_line_on_all_packages_together_is_passed_over() -> None:
    line = json_output.together((), SOFTWARE, packages=2, compared=2)
    found = of(entry("one"), line)
    assert (list(found.entries), found.unreadable, found.unfit) == (["one"], 0, 0)


def test_the_last_word_on_a_package_counts() -> None:
    found = of(entry("one"), entry("one", verdict="fail"))
    assert found.entries["one"].verdict is Verdict.FAIL
    gone = of(entry("one"), json_output.could_not(json_output.CHECK, "one", "It is not there.", 2))
    assert (dict(gone.entries), gone.unfit) == ({}, 1)


@pytest.mark.parametrize(
    "line",
    [
        json_line(entry("one")).encode(),
        json_line(entry("one")).encode()[:100] + b"\n",
        b"\n",
        b"[]\n",
        b"{}\n",
        b"\xff\n",
        json_line(entry("one", seen={"files": 1})).encode() + b"\n",
        json_line(entry("one", schema="urn:tailsout:schema:check:9.9")).encode() + b"\n",
        json_line(entry("one", verdict="splendid")).encode() + b"\n",
    ],
)
def test_what_is_no_whole_entry_is_counted_and_left_out(line: bytes) -> None:
    found = of(entry("two"), line)
    assert (list(found.entries), found.unreadable, found.unfit) == (["two"], 1, 0)


@pytest.mark.parametrize(
    "other",
    [
        {"software": "tailsout 1"},
        {"depth": "structure"},
        {"bagit_only": True},
        {"seen": None},
        {"judged": None},
        {"verdict": "not examined"},
    ],
)
def test_what_was_judged_otherwise_is_of_no_use(other: dict[str, Any]) -> None:
    found = of(entry("one", **other))
    assert (dict(found.entries), found.unreadable, found.unfit) == ({}, 0, 1)
