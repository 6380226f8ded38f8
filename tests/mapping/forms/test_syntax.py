"""What is not TOML is told in words for people, for every mistake that is easily made.

Which complaints the standard library's reader has, and where, was asked of CPython 3.11 to 3.13.
"""

import tomllib

import pytest

from tailsout.mapping.forms import syntax


def slips(form: str) -> list[tuple[int, str]]:
    return list(syntax.read(form, tomllib.loads)[1])


WORDS = [
    ("speed_ips = ７.5 = 1", 1, "here is no value"),
    ("speed_ips = 7.5 = 1", 1, "something is left over behind a value"),
    ("on = 2026-02-30", 1, "no calendar or clock has this"),
    ("[reel]\n\n[reel]", 3, "this table stands already"),
    ("note = 1\nnote = 2", 2, "this key stands already"),
    ('note "x"', 1, "behind a key stands =, and a key has plain letters"),
    ('höhe = "x"', 1, "behind a key stands =, and a key has plain letters"),
    ('= "x"', 1, "this is neither key = value nor [table]"),
    ('file = "captures\\Seite.wav"', 1, "a backslash stands in a text"),
    ('file = "C:\\Users"', 1, "a backslash stands in a text"),
    ('e = { standard = "NAB"\n}', 1, "a table in braces does not end on its line"),
    ("speeds_ips = [3,75 7,5 15]", 1, "between the entries of a list stand commas"),
]


@pytest.mark.parametrize(("form", "line", "said"), WORDS)
def test_a_slip_is_told_with_its_line(form: str, line: int, said: str) -> None:
    told = slips(form + "\n")[0]
    assert told[0] == line
    assert told[1].startswith(f"in `{form.split(chr(10))[line - 1]}`: {said}")
    assert told[1].endswith(".")


MEANT = [
    ('title = "x', 'title = "x"'),
    ("title = “x”", 'title = "x"'),
    ("title = „x“", 'title = "x"'),
    ('title = "a "b" c"', r'title = "a \"b\" c"'),
    ("place = Quay 3, the harbour", 'place = "Quay 3, the harbour"'),
    ("note = unknown # not yet", 'note = "unknown"'),
    ("kept = yes", "kept = true"),
    ("kept = False", "kept = false"),
    ("speed_ips = 7,5", "speed_ips = 7.5"),
    ("speed_ips = 7½", "speed_ips = 7.5"),
    ("speed_ips = 3 3/4 ips", "speed_ips = 3.75"),
    ('diameter_in = 7"', "diameter_in = 7"),
    ("thickness_um = 52 µm", "thickness_um = 52"),
    ("on = 14.3.2026", 'on = "2026-03-14"'),
    ("on = 14.03.2026 9:05", 'on = "2026-03-14T09:05"'),
    ("start = 0:03", 'start = "0:03"'),
    ("at = 12:31", 'at = "12:31"'),
    ("shelf = 007", 'shelf = "007"'),
    ("shelf = 3/4", 'shelf = "3/4"'),
    ("packed_in = 3/4", 'packed_in = "3/4"'),
    ("tracks = 1,2", 'tracks = "1,2"'),
    ("barcode = 2026W11", 'barcode = "2026W11"'),
    ("title = 12.3.1964", 'title = "12.3.1964"'),
    ("title = 90 s", 'title = "90 s"'),
    ("reference_fluxivity_nwb_m = 320 nWb/m", "reference_fluxivity_nwb_m = 320"),
    ("[[passes]", "[[passes]]"),
    ("[reel", "[reel]"),
]


@pytest.mark.parametrize(("form", "meant"), MEANT)
def test_what_can_be_one_thing_only_is_offered_and_read_on_with(form: str, meant: str) -> None:
    found, told = syntax.read(form + "\nlast = 1\n", tomllib.loads)
    assert told == ((1, f"in `{form}`: write `{meant}`."),)
    assert found == tomllib.loads(meant + "\nlast = 1\n")


@pytest.mark.parametrize(
    "form",
    ["hours = 1,204", "on = 3/14/2026", "on = 31.2.2026", "e = a = b", "n = 19 cm/s\\", "l = [a b"],
)
def test_what_may_be_two_things_is_not_guessed(form: str) -> None:
    offered = slips(form + "\n")[0][1]
    assert "write `" not in offered or '"' in offered.partition("write `")[2]


@pytest.mark.parametrize(
    "form", ["title = Song #3", 'title = "a # b', 'title = "Song" (live)', "on = [a b]"]
)
def test_where_something_would_be_lost_nothing_is_offered(form: str) -> None:
    ((line, said),) = slips(form + "\n")
    assert line == 1
    assert "write `" not in said


def test_a_line_of_many_blanks_is_read_at_once() -> None:
    ((_, said),) = slips(f"a = x{' ' * 200_000}y\n")
    assert len(said) < 400


def test_all_slips_are_told_at_once() -> None:
    form = "a_mm = 6,3\nb = Quay 3\nhöhe = 1\nc = 1\nc = 2\n[[reel]\nd = yes\nl = [1 2]\n"
    found, told = syntax.read(form, tomllib.loads)
    assert [line for line, _ in told] == [1, 2, 3, 5, 6, 7, 8]
    assert found == {"a_mm": 6.3, "b": "Quay 3", "c": 1, "reel": [{"d": True}]}


def test_a_key_twice_below_a_header_that_is_still_a_comment_is_told_of_the_header() -> None:
    ((line, said),) = slips('[[a]]\nkind = "x"\n# Another.\n#[[a.b]]\n# What.\nkind = "y"\n')
    assert line == 6
    assert said.endswith("; take away the # of [[a.b]] above it, to which it belongs.")


def test_a_list_that_is_left_open_is_told_at_its_own_line() -> None:
    found, told = syntax.read('sides = ["A"\non = 14.3.2026\nkept = true\n', tomllib.loads)
    assert told == (
        (1, 'in `sides = ["A"`: write `sides = ["A"]`.'),
        (2, 'in `on = 14.3.2026`: write `on = "2026-03-14"`.'),
    )
    assert found == {"sides": ["A"], "on": "2026-03-14", "kept": True}
    # A list over several lines is looked at no further than its last one.
    assert slips('sides = [\n"A"\nkept = true\n')[0][0] == 2


def test_nothing_is_told_of_what_hangs_on_a_slip() -> None:
    assert [line for line, _ in slips('l = [\n1 2,\n"x"\n]\nnote = x\n')] == [2, 5]
    # Where a list is begun in the line of the slip, what follows is part of it.
    assert [line for line, _ in slips('l = 7 [\n"x",\n]\nnote = x\n')] == [1]


def test_a_form_of_nothing_but_slips_comes_to_an_end() -> None:
    assert len(slips("a = ,\n" * 1000)) == 30


def test_of_a_very_long_form_the_first_slip_is_told() -> None:
    assert len(slips("a = ,\n" * 50_000)) == 1


@pytest.mark.parametrize(
    ("form", "said"),
    [
        ("sides = ['A'", "a list does not end; it ends with ]."),
        ('note = """x', "a text does not end; close it with the marks before it."),
        ("note = 'x", "a text does not end; close it with the mark before it."),
    ],
)
def test_what_is_never_closed_is_found_at_the_end(form: str, said: str) -> None:
    assert slips(form) == [(1, said)]


def test_another_complaint_is_passed_on_and_made_safe() -> None:
    def bell(_: str) -> dict[str, object]:
        raise tomllib.TOMLDecodeError("Bell \a (at line 2, column 1)")

    assert syntax.read("a = 1\n[b\x1b[2J\n", bell)[1] == ((2, r"in `[b\x1b[2J`: Bell \x07."),)


def test_a_long_line_is_cut() -> None:
    (_, said), *_ = slips("a = " + "x" * 5000 + "]")
    assert len(said) < 300
