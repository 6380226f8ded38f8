"""What is no TOML is told in words for people, for every mistake that is easily made.

Which complaints the standard library's reader has, and where, was asked of CPython 3.11 to 3.13.
"""

import tomllib

import pytest

from tailsout.mapping.forms import syntax

SLIPS = [
    ('title = "x', 1, "a text does not end on its line"),
    ("a = 1\ntitle = “x”", 2, "here is no value"),
    ("note = unknown", 1, "here is no value"),
    ("kept = yes", 1, "here is no value"),
    ("kept = True", 1, "here is no value"),
    ("speed_ips = 7,5", 1, "something is left over behind a value"),
    ("speed_ips = 7½", 1, "something is left over behind a value"),
    ("speed_ips = ７.5", 1, "here is no value"),
    ("on = 14.3.2026", 1, "something is left over behind a value"),
    ("on = 2026-02-30", 1, "no calendar or clock has this"),
    ("[reel]\n\n[reel]", 3, "this table stands already"),
    ("note = 1\nnote = 2", 2, "this key stands already"),
    ("[reel", 1, "the name of a table ends with ]"),
    ("[[passes]", 1, "the name of a table that repeats ends with ]]"),
    ('note "x"', 1, "behind a key stands =, and a key has plain letters"),
    ('höhe = "x"', 1, "behind a key stands =, and a key has plain letters"),
    ('= "x"', 1, "this is neither key = value nor [table]"),
    ('file = "captures\\Seite.wav"', 1, "a backslash stands in a text"),
    ('file = "C:\\Users"', 1, "a backslash stands in a text"),
    ('e = { standard = "NAB"\n}', 1, "a table in braces does not end on its line"),
]


@pytest.mark.parametrize(("form", "line", "said"), SLIPS)
def test_a_slip_is_told_with_its_line(form: str, line: int, said: str) -> None:
    with pytest.raises(tomllib.TOMLDecodeError) as complaint:
        tomllib.loads(form + "\n")
    told = syntax.told(str(complaint.value), form + "\n")
    assert told[0] == line
    assert told[1].startswith(f"in `{form.split(chr(10))[line - 1]}`: {said}")
    assert told[1].endswith(".")


@pytest.mark.parametrize(
    ("form", "said"),
    [
        ("sides = ['A'", "a list does not end; it ends with ]."),
        ('note = """x', "a text does not end; close it with the marks before it."),
        ("note = 'x", "a text does not end; close it with the mark before it."),
    ],
)
def test_what_is_never_closed_is_found_at_the_end(form: str, said: str) -> None:
    with pytest.raises(tomllib.TOMLDecodeError) as complaint:
        tomllib.loads(form)
    assert syntax.told(str(complaint.value), form) == (1, said)


def test_another_complaint_is_passed_on_and_made_safe() -> None:
    assert syntax.told("Bell \a (at line 2, column 1)", "a = 1\nb\x1b[2J\n") == (
        2,
        r"in `b\x1b[2J`: Bell \x07.",
    )


def test_a_long_line_is_cut() -> None:
    _, said = syntax.told("Invalid value (at line 1, column 5)", "a = " + "x" * 5000)
    assert len(said) < 300
