import pytest
from hypothesis import given
from hypothesis import strategies as st

from tailsout.mapping.toml_lines import lines_of

FORM = """\
# a form
plain = 1
yes = true
day = 2026-03-14 # a remark
list = [
  1,
  "two",
]
g.h.i = true
g.h.j = 2

[table]
no = false
text = '''
several

lines'''
inline = {q = true, r = [1, {s = 2}]}
"quoted.key" = 1
'lit/eral~' = 2

[[many]]
k = true
[[many]]
k = 10:00:00
[many.sub]
v = 1.5
[[many.inner]]
w = ""

[p.q.r]
s = true

[[u.w]]
y = 1

[o.first]
a = 1
[[o.many]]
c = 1
[between]
[o.second]
b = true
[[o.many]]
c = 2
"""
ROWS = FORM.split("\n")


def line(pointer: str, key: str = "") -> str:
    return ROWS[lines_of(FORM, [(pointer, key)])[pointer, key] - 1]


@pytest.mark.parametrize(
    ("pointer", "row"),
    [
        ("/plain", "plain = 1"),
        ("/yes", "yes = true"),
        ("/day", "day = 2026-03-14 # a remark"),
        ("/list", "list = ["),
        ("/list/1", "list = ["),
        ("/g/h/i", "g.h.i = true"),
        ("/g/h/j", "g.h.j = 2"),
        ("/g", "g.h.i = true"),
        ("/table", "[table]"),
        ("/table/no", "no = false"),
        ("/table/text", "text = '''"),
        ("/table/inline", "inline = {q = true, r = [1, {s = 2}]}"),
        ("/table/inline/q", "inline = {q = true, r = [1, {s = 2}]}"),
        ("/table/inline/r/1/s", "inline = {q = true, r = [1, {s = 2}]}"),
        ("/table/quoted.key", '"quoted.key" = 1'),
        ("/table/lit~1eral~0", "'lit/eral~' = 2"),
        ("/many", "[[many]]"),
        ("/many/0", "[[many]]"),
        ("/many/0/k", "k = true"),
        ("/many/1/k", "k = 10:00:00"),
        ("/many/1/sub", "[many.sub]"),
        ("/many/1/sub/v", "v = 1.5"),
        ("/many/1/inner/0/w", 'w = ""'),
        ("/p", "[p.q.r]"),
        ("/p/q", "[p.q.r]"),
        ("/p/q/r", "[p.q.r]"),
        ("/p/q/r/s", "s = true"),
        ("/u", "[[u.w]]"),
        ("/u/w/0/y", "y = 1"),
        ("/o/first/a", "a = 1"),
        ("/o/second/b", "b = true"),
        ("/o/many/0/c", "c = 1"),
        ("/o/many/1/c", "c = 2"),
        ("/o", "[o.first]"),
    ],
)
def test_the_line_of_a_value(pointer: str, row: str) -> None:
    assert line(pointer) == row


@pytest.mark.parametrize(
    ("pointer", "key", "row"),
    [
        ("/table", "no", "no = false"),
        ("/table", "missing", "[table]"),
        ("/many/1", "missing", "[[many]]"),
        ("/many/1/sub/v", "deeper", "v = 1.5"),
        ("/many/7", "k", "[[many]]"),
        ("/many/x", "k", "[[many]]"),
        ("", "plain", "plain = 1"),
        ("", "missing", "# a form"),
        ("", "", "# a form"),
        ("/nowhere/at/all", "", "# a form"),
    ],
)
def test_the_line_of_a_key_or_of_what_lacks_it(pointer: str, key: str, row: str) -> None:
    assert line(pointer, key) == row


@pytest.mark.parametrize(
    ("absent", "row"),
    [
        ('absent = { note = "unknown" }', 3),
        ('absent.note = "unknown"', 3),
        ('[reel.absent]\nnote = "unknown"', 3),
        ('absent = { other = "unknown" }', 1),
        ("absent = 7", 1),
    ],
)
def test_the_line_of_an_absence_written_by_hand(absent: str, row: int) -> None:
    text = f"[reel]\nwidth_mm = 6.3\n{absent}\n"
    assert lines_of(text, [("/reel", "note")]) == {("/reel", "note"): row}


def test_the_second_of_two_tables_has_its_own_line() -> None:
    found = lines_of(FORM, [("/many/0", ""), ("/many/1", "")])
    first = ROWS.index("[[many]]")
    assert list(found.values()) == [first + 1, ROWS.index("[[many]]", first + 1) + 1]


def test_many_places_at_once_and_one_asked_for_twice() -> None:
    wanted = [("/yes", ""), ("", "yes"), ("/yes", ""), ("/table/no", "")]
    found = lines_of(FORM, wanted)
    assert found == {("/yes", ""): 3, ("", "yes"): 3, ("/table/no", ""): 13}


def test_what_is_no_toml_has_no_lines() -> None:
    assert lines_of("a = ", [("/a", "")]) == {}


def test_nothing_asked_for() -> None:
    assert lines_of(FORM, []) == {}


def test_a_form_that_holds_the_mark_itself_is_no_trouble() -> None:
    text = 'a = "@line-wanted=0@"\n# @line-wanted=9@ @line-wanted-=0@\nb = 1\n'
    assert lines_of(text, [("/b", ""), ("/a", "")]) == {("/b", ""): 3, ("/a", ""): 1}


_VALUES = st.sampled_from(
    ["1", "true", '"x"', "'y'", "1.5", "2026-01-01", "[1,\n 2,\n]", '"""\n\n"""', "{ z = 1 }"]
)


@given(st.lists(st.tuples(_VALUES, st.sampled_from(["", " # c", "\n", "\n# c"])), max_size=12))
def test_lines_of_a_form_put_together_value_by_value(parts: list[tuple[str, str]]) -> None:
    text, wanted = "", {}
    for number, (value, after) in enumerate(parts):
        if number % 4 == 3:
            text += f"[t{number}]\n"
            prefix = f"/t{number}"
        else:
            prefix = f"/t{number - number % 4 - 1}" if number > 3 else ""
        wanted[f"{prefix}/k{number}", ""] = text.count("\n") + 1
        text += f"k{number} = {value}{after}\n"
    assert lines_of(text, wanted) == wanted
