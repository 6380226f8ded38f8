"""Patterns of paths: `*` is zero or more characters, a slash among them (BagIt Profiles 1.4)."""

import re
import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tailsout.mapping.path_patterns import Patterns

TEXT = st.text(alphabet="ab/.*[?é", max_size=8)


@pytest.mark.parametrize(
    ("pattern", "path"),
    [
        ("*", ""),
        ("*", "metadata/deep/er/list.txt"),
        ("a.txt", "a.txt"),
        ("*.txt", ".txt"),
        ("*.txt", "metadata/list.txt"),  # crosses the slash
        ("metadata/*", "metadata/a/b"),
        ("metadata/*", "metadata/"),
        ("m*/l*.t*t", "metadata/list.txt"),
        ("a*a", "aa"),
        ("**", "x"),
        ("[ab]?", "[ab]?"),  # of other dialects, nothing is special
    ],
)
def test_what_matches(pattern: str, path: str) -> None:
    assert Patterns((pattern,)).match(path)


@pytest.mark.parametrize(
    ("pattern", "path"),
    [
        ("a.txt", "b/a.txt"),
        ("a.txt", "a.txt2"),
        ("a.txt", "A.txt"),
        ("*.txt", "list.txt.gz"),
        ("metadata/*", "metadata"),
        ("metadata/*", "x/metadata/a"),
        ("a*a", "a"),  # one letter cannot stand on both sides
        ("a*b*a", "aba/ab"),
        ("[ab]", "a"),
        ("?", "a"),
        ("", "a"),
    ],
)
def test_what_does_not(pattern: str, path: str) -> None:
    assert not Patterns((pattern,)).match(path)


def test_any_of_several_will_do_and_none_matches_nothing() -> None:
    several = Patterns(("a", "b*", "*c"))
    assert [path for path in ("a", "bx", "xc", "x", "ax") if several.match(path)] == [
        "a",
        "bx",
        "xc",
    ]
    assert not Patterns(()).match("a")


def test_two_spellings_of_one_letter_are_one() -> None:
    spelled = unicodedata.normalize("NFD", "é")
    assert Patterns(("é*",)).match(f"{spelled}.txt")
    assert Patterns((spelled,)).match("é")


@given(pattern=TEXT, path=TEXT)
def test_it_is_what_an_expression_with_the_same_meaning_says(pattern: str, path: str) -> None:
    meaning = ".*".join(re.escape(part) for part in pattern.split("*"))
    assert Patterns((pattern,)).match(path) == bool(re.fullmatch(meaning, path, re.DOTALL))


def test_many_asterisks_take_no_longer_than_the_path_is() -> None:
    assert not Patterns(("a*" * 1000 + "b",)).match("a" * 100_000)


@pytest.mark.parametrize(
    ("pattern", "directory", "reaches"),
    [
        ("a/*", "a/", True),
        ("*", "a/b/", True),
        ("*.wav", "a/", True),
        ("a/b/c.wav", "a/", True),
        ("a/b*", "a/", True),
        ("a/b*", "a/bc/", True),
        ("b/*", "a/", False),
        ("a", "a/", False),
        ("a/", "a/", False),
        ("ab/*", "a/", False),
    ],
)
def test_what_reaches_below_a_directory(pattern: str, directory: str, *, reaches: bool) -> None:
    assert Patterns((pattern,)).reach_below(directory) is reaches


@given(pattern=TEXT, directory=TEXT.map(lambda text: f"{text}/"), inside=TEXT.filter(bool))
def test_what_matches_a_path_below_reaches_below(pattern: str, directory: str, inside: str) -> None:
    patterns = Patterns((pattern,))
    assert not patterns.match(directory + inside) or patterns.reach_below(directory)
