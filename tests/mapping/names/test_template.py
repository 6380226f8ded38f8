"""Templates as recipients write them: what is one, what is none and where, and names by it."""

from collections.abc import Mapping

import pytest

from tailsout.mapping.names.fields import FIELDS, MOST_LETTERS, Fault, Template, Value
from tailsout.mapping.names.filling import fill, read_back, tell, written
from tailsout.mapping.names.template import MOST_FIELDS, parse

KNOWN: Mapping[str, Value] = {
    "package": "SKL-0007",
    "identifier": "HA/SKL/7",
    "identifier:shelf-mark": "HA/SKL/7",
    "identifier:barcode": "0000418207",
    "work": "keepers-log",
    "work-part": 7,
    "side": "A",
    "side-number": 1,
    "region": "A3",
    "region-number": 3,
    "capture": "side-a",
    "capture-number": 1,
    "part": 2,
    "track": 11,
    "role": "master",
    "studio": "Saltpan Röw",
    "recipient": "harbour-archive",
    "date": "2026-03-14",
}


def template(
    text: str, roles: tuple[str, ...] = ("master", "pm"), letters: str = "any"
) -> Template:
    found = parse(text, roles=roles, letters=letters)
    assert isinstance(found, Template), found
    return found


@pytest.mark.parametrize(
    ("text", "name"),
    [
        ("{package}_{side}", "SKL-0007_A"),
        ("{package:lower}_{side:lower}", "skl-0007_a"),
        ("{capture:upper}", "SIDE-A"),
        ("{identifier:barcode}_{side-number:02}", "0000418207_01"),
        ("{identifier:barcode:10:lower}", "0000418207"),
        ("{package:8}{side:1}", "SKL-0007A"),
        ("{package}_p{part:03}", "SKL-0007_p002"),
        ("{package}.{part}", "SKL-0007.2"),
        ("{package} {side}", "SKL-0007 A"),
        ("{date}-{capture}", "20260314-side-a"),
        ("{work}_{work-part:02}", "keepers-log_07"),
        ("{region}_{region-number}_{role}", "A3_3_master"),
        ("{recipient}_{package}_{package}", "harbour-archive_SKL-0007_SKL-0007"),
        ("{capture-number}_{track:02}", "1_11"),
    ],
)
def test_a_name_by_a_template(text: str, name: str) -> None:
    made = template(text)
    assert fill(made, KNOWN) == name
    assert read_back(made, name) == written(made, KNOWN)


def test_every_field_can_stand_alone() -> None:
    for word in FIELDS:
        made = template(f"{{{word}}}")
        assert isinstance(fill(made, KNOWN, "-"), str)


@pytest.mark.parametrize(
    ("text", "at", "says"),
    [
        ("{package", 0, "'{' has no fellow"),
        ("package}", 7, "'}' has no fellow"),
        ("a]{side}", 1, "']' has no fellow"),
        ("{side}[_{part}", 6, "'[' has no fellow"),
        ("{side}[_{part}[_{track}]]", 14, "stands inside another"),
        ("{package}_{sid}", 10, "did you mean 'side'?"),
        ("{}", 0, "there is no field ''; there are package, identifier"),
        ("{quux}", 0, "there are package, identifier"),
        ("{package:xx}", 0, "'xx' is not an option of package"),
        ("{package:shelf-mark}", 0, "'shelf-mark' is not an option of package"),
        ("{part:lower}", 0, "'lower' is not an option of part"),
        ("{part:02:03}", 0, "'03' is not an option of part"),
        ("{part:10}", 0, "a width of 1 to 9 digits"),
        ("{part:0}", 0, "'0' is not an option"),
        ("{package:65}", 0, "'65' is not an option"),
        ("{side:lower:upper}", 0, "'upper' is not an option"),
        ("{identifier:barcode:shelf-mark}", 0, "'shelf-mark' is not an option"),
        ("{identifier:isbn}", 0, "it takes a kind (shelf-mark, barcode"),
        ("{role:2}", 0, "it takes none"),
        ("{date:lower}", 0, "it takes none"),
        ("{side}[x]", 6, "nothing in these brackets"),
        ("[{side}]", 0, "all of it could be left out"),
        ("tape", 0, "it must have 1 to 16 fields, and has 0"),
        ("{side}" * (MOST_FIELDS + 1), 0, "and has 17"),
        ("{side}é", 6, "'é' is not allowed"),
        ("{side} x", 6, "' ' is not allowed"),
        ("a/{side}", 1, "'/' is not allowed"),
        (".{side}", 0, "may not begin with '.'"),
        ("-{side}", 0, "may not begin with '-'"),
        ("{side}.wav", 6, "the ending is put behind it by itself"),
        ("{side}.WAV", 6, "the ending is put behind it by itself"),
        ("x" * (MOST_LETTERS + 1), MOST_LETTERS, "more than 200 letters"),
        ("{package:64}{side:64}{region:64}{capture:64}", 0, "could need more than 200 letters"),
        ("{package}{side}", 0, "as package 'AA', side 'A' or as package 'A', side 'AA'"),
        ("{package}_{side-number}{part}", 10, "could be read as"),
        (
            "{package}[_{region-number:02}][_{part:02}]",
            10,
            "'A', region-number '00' or as package 'A', part '00'",
        ),
    ],
)
def test_what_is_no_template_is_told_with_its_place(text: str, at: int, says: str) -> None:
    fault = parse(text)
    assert isinstance(fault, Fault)
    assert says in fault.text
    assert fault.at == at
    assert fault.text.endswith((".", "?"))


@pytest.mark.parametrize(
    ("roles", "says"),
    [(("p m",), "'p m' cannot stand"), (("",), "'' cannot stand"), ((), "none is there to stand")],
)
def test_words_for_roles_that_no_name_may_hold(roles: tuple[str, ...], says: str) -> None:
    fault = parse("{package}_{role}", roles=roles)
    assert isinstance(fault, Fault)
    assert says in fault.text


@pytest.mark.parametrize(
    ("letters", "text", "is_one"),
    [
        ("lower-case portable", "Tape_{side:lower}", False),
        ("lower-case portable", "tape_{side:lower}", True),
        ("POSIX portable", "Tape_{side}", True),
        ("POSIX portable", "Tape {side}", False),
        ("any", "Tape {side} – ä", True),
        ("any", "Tape?{side}", False),
        ("any", "Tape%{side}", False),
        ("any", "Tape\n{side}", False),
    ],
)
def test_letters_that_a_name_may_hold(letters: str, text: str, *, is_one: bool) -> None:
    assert isinstance(parse(text, letters=letters), Template) is is_one


# Where two fields could not be told apart, the later ones may not hold what parts fields.


def test_the_first_field_may_hold_what_parts_fields_as_long_as_names_have_one_reading() -> None:
    made = template("{package}_v{work-part:02}f{side-number:02}_{role}", letters="POSIX portable")
    known: dict[str, Value] = {
        "package": "SKL_0007",
        "work-part": 7,
        "side-number": 1,
        "role": "pm",
    }
    assert fill(made, known) == "SKL_0007_v07f01_pm"
    assert read_back(made, "SKL_0007_v07f01_pm") == known


@pytest.mark.parametrize(
    ("key", "value", "says"),
    [
        ("region", "a_b", "region 'a_b' holds '_', which cannot stand there."),
        ("side", "a/b", "side 'a/b' holds '/', which cannot stand there."),
        ("side", "", "side '' is empty."),
        ("package", "SKL-00071", "package 'SKL-00071' has 9 letters, and 8 are asked."),
        ("package", "SKL 0007", "package 'SKL 0007' holds ' ', which cannot stand there."),
        ("part", 100, "part '100' does not fit into 2 digits."),
        ("part", -1, "part '-1' is not a number that can stand there."),
        ("part", "two", "part 'two' is not a number that can stand there."),
        ("role", "edit", "role 'edit' is not one of the recipient's words."),
        ("date", "2026", "date '2026' is not a day."),
        ("date", "1961-11~", "date '1961-11~' is not a day."),
    ],
)
def test_what_cannot_stand_in_a_name(key: str, value: Value, says: str) -> None:
    text = "{package:8}_{side}_{region}_{part:02}_{role}_{date}"
    made = template(text, letters="POSIX portable")
    fault = fill(made, {**KNOWN, key: value})
    assert isinstance(fault, Fault)
    assert (fault.text, fault.key) == (says, key)
    assert text[fault.at :].startswith(f"{{{key}")


def test_what_is_not_known() -> None:
    known = {key: value for key, value in KNOWN.items() if key != "side"}
    fault = fill(template("{package}_{side}"), known)
    assert fault == Fault(at=10, text="nothing is known for side.", key="side")
    assert fill(template("{package}[_{side}]"), known) == "SKL-0007"


def test_a_field_that_stands_twice_is_spelled_alike() -> None:
    fault = fill(template("{package}_{package:lower}"), KNOWN)
    assert isinstance(fault, Fault)
    assert "would not be spelled alike" in fault.text
    said = read_back(template("{package}_{package}"), "SKL-0007_SKL-0008")
    assert isinstance(said, Fault)
    assert "it says package twice" in said.text


@pytest.mark.parametrize(
    ("value", "separator", "stands"),
    [
        ("HA/SKL/7", "-", "HA-SKL-7"),
        ("Röhre 7 / b", "-", "Rohre-7-b"),
        ("  7 ", "_", "7"),
        ("HA_SKL_7", "-", "HA-SKL-7"),
        ("海", "-", ""),
    ],
)
def test_what_a_separator_stands_for(value: str, separator: str, stands: str) -> None:
    made = template("{package}_{identifier}_{side}", letters="POSIX portable")
    name = fill(made, {"package": "7", "identifier": value, "side": "A"}, separator)
    if stands and separator == "-":
        assert name == f"7_{stands}_A"
    else:
        assert isinstance(name, Fault)


@pytest.mark.parametrize(
    ("name", "at", "says"),
    [
        ("SKL-0007", 8, "it ends before the template is filled."),
        ("", 0, "it ends before the template is filled."),
        ("SKL 0007_A", 3, "it departs from the template at its letter 4."),
        ("SKL-0007_A_pm_p1 ", 16, "it departs from the template at its letter 17."),
        ("SKL-0007xA_pm", 8, "it departs from the template at its letter 9."),
        # What follows the side could still be of the side until the name ends.
        ("SKL-0007_A_em", 13, "it ends before the template is filled."),
    ],
)
def test_a_name_that_is_not_by_the_template(name: str, at: int, says: str) -> None:
    made = template("{package:8}_{side}_{role}[_p{part:02}]", letters="POSIX portable")
    assert read_back(made, name) == Fault(at=at, text=says)


def test_the_worst_of_templates_is_small() -> None:
    """A side-car of a stranger can hold any; the number of states bounds the work."""
    for text in ("[{package}]" * 7 + "{side}", "[_{region:12}]" * 14 + "{side}"):
        assert isinstance(parse(text), Fault)
    made = template("{package}[_{part}]_{side}_{capture}" + "-{region}" * 3)
    assert len(made.positions.takes) <= MOST_LETTERS
    assert isinstance(read_back(made, "_-" * 20_000), Fault)


# Texts that are not names


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("{identifier} side {side}: log, no. {work-part:03}?", "HA/SKL/7 side A: log, no. 007?"),
        ("{studio:upper}[ ({side})]", "SALTPAN RÖW (A)"),
        ("{package}{side}", "SKL-0007A"),
        ("made {date}", "made 2026-03-14"),
        ("nothing to fill", "nothing to fill"),
    ],
)
def test_a_text_with_fields(text: str, told: str) -> None:
    assert tell(text, KNOWN) == told


def test_a_text_that_cannot_be_filled() -> None:
    assert tell("{package}[ {side}]", {"package": "x"}) == "x"
    lacking = Fault(at=2, text="nothing is known for side.", key="side")
    assert tell("a {side}", {}) == lacking
    assert isinstance(tell("{sid}", KNOWN), Fault)
