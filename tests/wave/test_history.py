"""EBU R 98-1999, the format of the CodingHistory field."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tailsout.ground.errors import MaterialError
from tailsout.wave.history import KEYS, MAX_PARAMETERS, Line, parse, render, split

ANALOGUE = Line(
    parameters=(("A", "ANALOGUE"), ("M", "stereo"), ("T", "deck; SN 17; 19.05 cm/s; IEC1"))
)
DIGITAL = Line(
    parameters=(("A", "PCM"), ("F", "96000"), ("W", "24"), ("M", "stereo"), ("T", "A/D"))
)
TEXT = (
    "A=ANALOGUE,M=stereo,T=deck; SN 17; 19.05 cm/s; IEC1\r\nA=PCM,F=96000,W=24,M=stereo,T=A/D\r\n"
)


def test_a_tape_chain_is_read_and_written() -> None:
    assert parse(TEXT) == ((ANALOGUE, DIGITAL), ())
    assert render((ANALOGUE, DIGITAL)) == TEXT
    assert DIGITAL.get("F") == "96000"
    assert ANALOGUE.get("F") is None


def test_no_history_is_no_fault() -> None:
    assert parse("") == ((), ())
    assert parse("\r\n\r\n") == ((), ())
    assert render(()) == ""


def test_a_comma_before_the_line_end_is_the_examples_own_habit() -> None:
    assert parse("A=PCM,F=48000,W=16,M=mono,\r\n")[1] == ()


def test_the_text_ends_at_the_first_nul() -> None:
    assert parse(TEXT + "\0\0old,text") == ((ANALOGUE, DIGITAL), ())


@pytest.mark.parametrize("ending", ["\n", "\r"])
def test_other_line_ends_are_taken(ending: str) -> None:
    assert parse(TEXT.replace("\r\n", ending))[0] == (ANALOGUE, DIGITAL)


def test_only_cr_and_lf_end_a_line() -> None:
    lines, _ = parse("A=PCM,T=a\vb\u2028c\x85d\r\n")

    assert lines == (Line(parameters=(("A", "PCM"), ("T", "a\vb\u2028c\x85d"))),)


# A text, the parameters read from it, and a word of the one remark on it.
ODD = {
    "last line open": ("A=PCM,W=24", [("A", "PCM"), ("W", "24")], "CR LF"),
    "key of its own": ("A=PCM,R=48000\r\n", [("A", "PCM"), ("R", "48000")], "key R"),
    "small key": ("a=PCM\r\n", [("A", "PCM")], "capital"),
    "other spelling of analogue": ("A=ANALOG\r\n", [("A", "ANALOG")], "A=ANALOG"),
    "capital in the mode": ("A=PCM,M=Mono\r\n", [("A", "PCM"), ("M", "Mono")], "M=Mono"),
    "rate in kHz": ("A=PCM,F=48k\r\n", [("A", "PCM"), ("F", "48k")], "F=48k"),
    "key twice": ("A=PCM,W=24,W=16\r\n", [("A", "PCM"), ("W", "24"), ("W", "16")], "twice"),
    "comma in the free text": ("A=PCM,T=a, b\r\n", [("A", "PCM"), ("T", "a, b")], "comma"),
    "fragment before the free text": ("A=PCM,what,W=24\r\n", [("A", "PCM"), ("W", "24")], "what"),
}


@pytest.mark.parametrize("name", ODD)
def test_departures_are_read_and_remarked(name: str) -> None:
    text, parameters, word = ODD[name]
    lines, remarks = parse(text)

    assert lines == (Line(parameters=tuple(parameters)),)
    assert len(remarks) == 1
    assert word in remarks[0]


def test_equals_signs_inside_the_free_text_make_no_key() -> None:
    lines, remarks = parse("A=PCM,T=VERSION=1.10; x=3\r\n")

    assert remarks == ()
    assert lines[0].get("T") == "VERSION=1.10; x=3"


@pytest.mark.parametrize("mode", ["5chn", "multitrack"])
def test_modes_of_practice_pass(mode: str) -> None:
    assert parse(f"A=PCM,M={mode}\r\n")[1] == ()


def test_prose_is_left_out_and_remarked_safely() -> None:
    lines, remarks = parse("Copied by\x1b]2;x, in haste\r\nA=PCM\r\n")

    assert lines == (Line(parameters=(("A", "PCM"),)),)
    assert len(remarks) == 1
    assert "Line 1" in remarks[0]
    assert remarks[0].isprintable()


def test_a_history_without_end_is_cut_off() -> None:
    lines, remarks = parse("A=PCM\r\n" * 5000)

    assert len(lines) == 1000
    assert len(remarks) == 1


def test_the_order_is_that_of_the_recommendation() -> None:
    mixed = Line(
        parameters=(
            ("T", "x"),
            ("Z", "2"),
            ("R", "1"),
            ("M", "mono"),
            ("W", "24"),
            ("F", "1"),
            ("A", "PCM"),
        )
    )

    assert render([mixed]) == "A=PCM,F=1,W=24,M=mono,T=x,Z=2,R=1\r\n"


@pytest.mark.parametrize(
    "parameters",
    [
        (),
        (("T", "a,b"),),
        (("T", "a\r\nA=PCM"),),
        (("T", "a\0"),),
        (("T", "a\x7f"),),
        (("T", "Müller"),),
        (("T", ""),),
        (("T", "a"), ("T", "b")),
        (("t", "a"),),
        (("TT", "a"),),
        (("Ä", "a"),),
        (("", "a"),),
    ],
)
def test_what_the_recommendation_forbids_is_not_written(
    parameters: tuple[tuple[str, str], ...],
) -> None:
    with pytest.raises(MaterialError):
        render([Line(parameters=parameters)])


def test_lines_stand_as_they_are_and_are_counted_as_the_remarks_count_them() -> None:
    text = "A=PCM\r\n\r\nprose\nA=PCM,x=3\rlast\0A=PCM"
    assert split(text) == ("A=PCM", "", "prose", "A=PCM,x=3", "last")
    assert split("A=PCM\r\n") == ("A=PCM",)
    assert split("") == ()
    assert parse(text)[1][1].startswith("Line 3: 'prose'")


def test_of_a_line_without_end_a_part_is_read() -> None:
    lines, remarks = parse("T=" + "x," * 500_000 + "\r\n")
    assert lines[0].get("T") == ",".join("x" * MAX_PARAMETERS)
    assert remarks[0] == f"Line 1: Only what stands before comma {MAX_PARAMETERS} was read."


VALUES = st.text(
    st.characters(min_codepoint=0x20, max_codepoint=0x7E, exclude_characters=","), min_size=1
)
LINES = st.dictionaries(st.sampled_from(KEYS), VALUES, min_size=1).map(
    lambda found: Line(parameters=tuple((key, found[key]) for key in KEYS if key in found))
)


@given(st.lists(LINES, max_size=5))
def test_what_is_written_is_read_back(lines: list[Line]) -> None:
    assert parse(render(lines))[0] == tuple(lines)


@given(st.text())
def test_no_text_whatever_raises(text: str) -> None:
    lines, remarks = parse(text)

    assert all(line.parameters for line in lines)
    assert all(remark.isprintable() for remark in remarks)
