"""What was put into a name is what is read back, whatever the template.

Beside the reader stands a slow one that tries every way to part a name among the fields.
"""

from collections.abc import Iterator
from typing import Any

from hypothesis import example, given
from hypothesis import strategies as st

from tailsout.mapping.names.fields import LETTERS, Fault, Field, Piece, Template, Text, Value
from tailsout.mapping.names.filling import fill, read_back, written
from tailsout.mapping.names.template import parse, pieces_of

WORDS = ("package", "side", "capture")
NUMBERS = ("part", "track", "side-number")
ROLES = ("pm", "p", "am")


def fields() -> st.SearchStrategy[str]:
    text = st.builds(
        lambda word, width, case: "{" + ":".join(filter(None, (word, width, case))) + "}",
        st.sampled_from(WORDS),
        st.sampled_from(["", "", "1", "2"]),
        st.sampled_from(["", "", "lower", "upper"]),
    )
    number = st.builds(
        lambda word, width: "{" + ":".join(filter(None, (word, width))) + "}",
        st.sampled_from(NUMBERS),
        st.sampled_from(["", "1", "02"]),
    )
    return st.one_of(text, number, st.sampled_from(["{role}", "{date}"]))


def templates() -> st.SearchStrategy[str]:
    """Those that could be meant: fields with something between most of them."""
    between = st.sampled_from(["_", "_", "-", ".", "_s", "__", ""])
    group = st.builds(lambda part, field: f"[{part}{field}]", between, fields())
    more = st.lists(st.one_of(st.builds("".join, st.tuples(between, fields())), group), max_size=3)
    return st.builds(lambda first, rest: first + "".join(rest), fields(), more)


def values() -> st.SearchStrategy[dict[str, Value]]:
    text = st.text("aAsp01_-.", min_size=1, max_size=4)
    number = st.integers(0, 120)
    every: dict[str, st.SearchStrategy[Any]] = {
        **dict.fromkeys(WORDS, text),
        **dict.fromkeys(NUMBERS, number),
        "role": st.sampled_from(ROLES),
        "date": st.sampled_from(["2026-03-14", "20260315"]),
    }
    known = st.fixed_dictionaries(every)
    return st.one_of(known, st.fixed_dictionaries({}, optional=every))


def every_reading(
    groups: list[tuple[bool, list[tuple[Piece, frozenset[str]]]]], name: str
) -> Iterator[list[tuple[str, str]]]:
    """Yield every way to part a name among the pieces: key and letters of each field."""
    if not groups:
        if not name:
            yield []
        return
    optional, pieces = groups[0]
    if not pieces:
        yield from every_reading(groups[1:], name)
        return
    if optional:
        yield from every_reading(groups[1:], name)
    piece, takes = pieces[0]
    rest = [(False, pieces[1:]), *groups[1:]]
    for length in range(1, len(name) + 1):
        head = name[:length]
        if not stands(piece, takes, head):
            continue
        for further in every_reading(rest, name[length:]):
            yield [(piece.key, head), *further] if isinstance(piece, Field) else further


def stands(piece: Piece, takes: frozenset[str], letters: str) -> bool:
    if isinstance(piece, Text):
        return letters == piece.letters
    if piece.sort == "role":
        return letters in ROLES
    if piece.sort == "date":
        return letters.isdecimal() and len(letters) == 8
    if piece.sort == "number":
        fits = len(letters) == piece.width if piece.width else letters[0] != "0"
        return letters.isdecimal() and fits
    return set(letters) <= takes and len(letters) == (piece.width or len(letters))


def laid_out(template: Template) -> list[tuple[bool, list[tuple[Piece, frozenset[str]]]]]:
    return [
        (optional, [(template.pieces[n], template.takes.get(n, frozenset())) for n in members])
        for optional, members in template.groups
    ]


SETS = st.sampled_from(sorted(LETTERS))


@given(templates(), SETS, values(), st.sampled_from(["", "-", "_"]))
def test_a_name_is_read_back_as_it_was_filled(
    text: str, letters: str, known: dict[str, Value], separator: str
) -> None:
    template = parse(text, roles=ROLES, letters=letters)
    if isinstance(template, Fault):
        return
    name = fill(template, known, separator)
    told = written(template, known, separator)
    if isinstance(name, Fault):
        assert told == name
        assert 0 <= name.at < len(text)
        assert name.key in template.keys
        return
    assert not isinstance(told, Fault)
    assert read_back(template, name) == told
    assert len(list(every_reading(laid_out(template), name))) == 1
    assert written(template, told) == told
    assert fill(template, told) == name


@given(templates())
@example("{package}{side}")
@example("{package}[_{side}][_{part:02}]")
@example("{part}{track}")
def test_a_template_is_called_ambiguous_only_with_a_name_that_is(text: str) -> None:
    fault = parse(text, roles=ROLES)
    if isinstance(fault, Fault) and "could be read as" in fault.text:
        name = fault.text.split("'")[1]
        assert len(list(every_reading(as_narrow_as_can_be(text), name))) > 1


@given(st.text("{}[]:_-.apck2lower", max_size=30))
def test_anything_typed_is_a_template_or_a_fault_at_a_place(text: str) -> None:
    found = parse(text)
    assert isinstance(found, Template) or 0 <= found.at <= len(text)


@given(templates(), st.text("aAsp01_-.", max_size=8))
def test_any_name_is_read_as_the_slow_reader_does(text: str, name: str) -> None:
    template = parse(text, roles=ROLES)
    if isinstance(template, Fault):
        return
    found = read_back(template, name)
    ways = list(every_reading(laid_out(template), name))
    assert len(ways) <= 1
    if isinstance(found, Fault):
        assert not any(map(agrees, ways))
    else:
        assert found == {key: value_of(key, letters) for key, letters in ways[0]}


def value_of(key: str, letters: str) -> Value:
    return int(letters) if key in NUMBERS else letters


def agrees(way: list[tuple[str, str]]) -> bool:
    """A field that stands twice must say the same."""
    said = {(key, value_of(key, letters)) for key, letters in way}
    return len(said) == len({key for key, _ in said})


def as_narrow_as_can_be(text: str) -> list[tuple[bool, list[tuple[Piece, frozenset[str]]]]]:
    """Lay a template out so that no field holds what parts fields in it."""
    read = pieces_of(text)
    assert not isinstance(read, Fault)
    pieces, groups = read
    own = {c for one in pieces if isinstance(one, Text) for c in one.letters}
    parting = {c for c in own if not c.isalnum()}

    def takes(piece: Piece) -> frozenset[str]:
        case = piece.case if isinstance(piece, Field) else ""
        refused = {"lower": str.isupper, "upper": str.islower, "": str.isspace}[case]
        every = (LETTERS["POSIX portable"] | own) - parting
        return frozenset(c for c in every if not refused(c))

    both = [(one, takes(one)) for one in pieces]
    return [(optional, [both[n] for n in members]) for optional, members in groups]
