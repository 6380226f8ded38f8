"""Findings and verdicts in words, and exit codes."""

import os
import sys
from collections.abc import Iterable
from dataclasses import replace

import pytest

from tailsout.doors.cli import printing
from tailsout.ground.findings import (
    Check,
    Finding,
    Judgement,
    Kind,
    Place,
    Severity,
    Verdict,
    in_order,
)
from tailsout.records.bag_state import BagState, NotVerified


def kind(code: str, severity: Severity, *, needs_reel: bool = False) -> Kind:
    return Kind(
        code=code,
        severity=severity,
        title="Something",
        basis="own rule: for this test",
        remedy="Ask.",
        needs_reel=needs_reel,
    )


def judgement(findings: Iterable[Finding] = (), checks: Iterable[Check] = ()) -> Judgement:
    return Judgement(findings=tuple(findings), checks=tuple(checks))


@pytest.mark.parametrize(
    ("verdict", "code", "strict"),
    [
        (Verdict.PASS, 0, 0),
        (Verdict.OPEN, 0, 1),
        (Verdict.FAIL, 1, 1),
        (Verdict.REFUSED, 3, 3),
        (Verdict.NOT_EXAMINED, 4, 4),
    ],
)
def test_every_verdict_has_its_code(verdict: Verdict, code: int, strict: int) -> None:
    assert printing.exit_code(verdict, strict=False) == code
    assert printing.exit_code(verdict, strict=True) == strict


@pytest.mark.parametrize(
    ("codes", "most"),
    [
        ([], 0),
        ([0, 0], 0),
        ([0, 4], 4),
        ([4, 1, 0], 1),
        ([1, 3, 4], 3),
        ([3, 2, 1], 2),
    ],
)
def test_of_several_codes_the_most_serious(codes: list[int], most: int) -> None:
    assert printing.most_serious(iter(codes)) == most


def test_every_input_is_worked_on_before_the_code_is_chosen() -> None:
    done = []

    def work() -> Iterable[int]:
        for code in (2, 3, 0):
            done.append(code)
            yield code

    assert printing.most_serious(work()) == 2
    assert done == [2, 3, 0]


def test_a_pass_is_one_word() -> None:
    assert printing.judgement_text("reel", judgement()) == "reel: pass"


def test_a_bag_is_called_by_its_own_word_and_what_was_not_verified_is_told() -> None:
    paths = tuple(f"data/{n}.wav" for n in range(7))
    left = (
        NotVerified(why="no file read", count=12),
        NotVerified(why="left to be fetched", count=5, paths=paths[:5]),
        NotVerified(why="not looked at", count=7, paths=("data/\x1b[2J", *paths[1:])),
    )
    state = BagState(word="incomplete", not_verified=left)
    assert printing.judgement_text("reel", judgement(), state).splitlines() == [
        "reel: pass",
        "  as a bag (RFC 8493): incomplete",
        "    not verified, no file read (12)",
        "    not verified, left to be fetched (5): data/0.wav; data/1.wav; data/2.wav; data/3.wav;",
        "      data/4.wav",
        "    not verified, not looked at (7): data/\\x1b[2J; data/1.wav; data/2.wav; data/3.wav;",
        "      data/4.wav; …",
    ]


def test_a_finding_says_what_where_and_what_to_do() -> None:
    finding = kind("some-code", Severity.QUERY, needs_reel=True).at(
        Place(file="job.toml", line=3, part="reel.note"), "it says nothing."
    )
    assert printing.judgement_text("reel", judgement([finding])).splitlines() == [
        "reel: open questions (1 to decide)",
        "",
        "  query  some-code  [the reel is needed]",
        "         at job.toml:3 reel.note",
        "         it says nothing.",
        "         → Ask.",
    ]


def test_findings_are_counted_by_weight() -> None:
    mend, note = kind("a", Severity.MEND), kind("b", Severity.NOTE)
    found = [mend.at(Place(file=str(n)), "x.") for n in range(2)] + [note.at(Place(file="c"), "y.")]
    first = printing.judgement_text("reel", judgement(found)).splitlines()[0]
    assert first == "reel: fail (2 to mend, 1 to note)"


def test_many_of_one_code_stand_together_and_the_rest_is_counted() -> None:
    mend, note = kind("many", Severity.MEND), kind("few", Severity.NOTE)
    found = [mend.at(Place(file=f"{n:03d}"), "x.") for n in range(103)]
    text = printing.judgement_text("reel", judgement([*found, note.at(Place(file="z"), "y.")]))
    lines = text.splitlines()
    assert lines[:8] == [
        "reel: fail (103 to mend, 1 to note)",
        "",
        "     103  mend   many",
        "       1  note   few",
        "",
        "  mend   many, 103 times",
        "         → Ask.",
        "         at 000: x.",
    ]
    assert lines[106:] == [
        "         at 099: x.",
        "         … and 3 more of many",
        "",
        "  note   few",
        "         at z",
        "         y.",
        "         → Ask.",
    ]


def test_a_few_of_one_code_are_written_out() -> None:
    query = kind("some", Severity.QUERY)

    def told(count: int) -> str:
        found = [query.at(Place(file=str(n)), "x.") for n in range(count)]
        return printing.judgement_text("reel", judgement(found))

    assert told(5).count("  query  some\n") == told(5).count("→ Ask.") == 5
    assert told(6).count("  query  some, 6 times\n") == told(6).count("→ Ask.") == 1


def test_three_hundred_findings_are_counted_sorted_and_short() -> None:
    kinds = [
        kind("reel-wanted", Severity.QUERY, needs_reel=True),
        kind("bad", Severity.MEND),
        kind("odd", Severity.QUERY),
        kind("fine", Severity.NOTE),
    ]
    found = in_order(
        kinds[n % 4].at(Place(file="job.toml", line=n), "it is not as it should be.")
        for n in range(300)
    )
    lines = printing.judgement_text("reel", judgement(found)).splitlines()
    assert lines[2:6] == [
        "      75  query  reel-wanted  [the reel is needed]",
        "      75  mend   bad",
        "      75  query  odd",
        "      75  note   fine",
    ]
    headings = [line for line in lines if "75 times" in line]
    assert [line.split()[1] for line in headings] == ["reel-wanted,", "bad,", "odd,", "fine,"]
    # One line for each of them, and a few around.
    assert len(lines) < 300 + 20


def test_those_that_were_answered_stand_apart_from_those_that_were_not() -> None:
    query = kind("some", Severity.QUERY)
    asked = [query.at(Place(file=f"{n}"), "x.") for n in range(12)]
    answered = [replace(one, answer_at="a", answered="accepted") for one in asked[:6]]
    open_ones = [replace(one, answer_at=f"reel.sides[{n}]") for n, one in enumerate(asked[6:])]
    text = printing.judgement_text("reel", judgement([*open_ones, *answered]))
    assert "  query  some, 6 times\n" in text
    assert "  note   some, 6 times\n" in text
    assert text.count('         to answer one: code = "some", and its place\n') == 1
    assert '           place = "reel.sides[5]"' in text
    assert text.count("           answered: accepted\n") == 5


def test_a_path_is_never_broken() -> None:
    """So that it can be copied from the screen."""
    path = "data/audio/" + "a-very-long-name-" * 10 + ".wav"
    finding = kind("some-code", Severity.MEND).at(Place(file=path), "words " * 30 + "end.")
    lines = printing.judgement_text("reel", judgement([finding])).splitlines()
    assert f"         {path}" in lines or f"         at {path}" in lines
    assert all(len(line) <= 96 for line in lines if path not in line)


def test_checks_are_told_by_outcome() -> None:
    checks = [
        Check(name="one", outcome="passed"),
        Check(name="two", outcome="failed"),
        Check(name="three", outcome="not examined", why="nobody looked"),
        Check(name="four", outcome="passed"),
    ]
    lines = printing.judgement_text("reel", judgement([], checks)).splitlines()
    assert lines == [
        "reel: pass",
        "",
        "  failed: two",
        "  not examined, because nobody looked: three",
        "  passed: 2 checks",
    ]


def test_a_long_list_of_checks_is_counted_unless_they_failed() -> None:
    def told(outcome: str, count: int) -> str:
        checks = [Check(name=f"n{n}", outcome=outcome, why="nobody looked") for n in range(count)]
        return printing.judgement_text("reel", judgement([], checks)).partition("\n\n")[2]

    names = "; ".join(f"n{n}" for n in range(12))
    assert told("not examined", 12) == f"  not examined, because nobody looked: {names}"
    assert told("not examined", 13) == "  not examined, because nobody looked: 13 checks"
    assert told("failed", 13) == f"  failed: {names}; n12"
    assert told("passed", 1) == "  passed: 1 check"


def test_what_is_said_is_escaped_line_by_line_and_not_cut(
    capsys: pytest.CaptureFixture[str],
) -> None:
    printing.say("one\n\x1b]0;x\x07two\u202e\n" + "x" * 5000)
    out = capsys.readouterr().out
    assert out == "one\n\\x1b]0;x\\x07two\\u202e\n" + "x" * 5000 + "\n"


@pytest.mark.parametrize(
    ("columns", "widest"), [("30", 40), ("60", 60), ("200", 96), ("no number", 80)]
)
def test_a_narrow_terminal_gets_narrow_lines(
    monkeypatch: pytest.MonkeyPatch, columns: str, widest: int
) -> None:
    monkeypatch.setenv("COLUMNS", columns)
    monkeypatch.setattr(sys.stdout, "isatty", lambda: True)
    monkeypatch.setattr(os, "get_terminal_size", lambda _descriptor: os.terminal_size((80, 24)))
    assert printing.width() == widest
    found = kind("word-differs", Severity.QUERY).at(Place(file="a"), "word " * 60)
    assert max(map(len, printing.judgement_text("a", judgement([found])).split("\n"))) <= widest


def test_what_is_no_terminal_gets_lines_of_one_width(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COLUMNS", "30")
    assert printing.width() == 96
