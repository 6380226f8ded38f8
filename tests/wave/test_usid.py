"""The identifier of EBU R 99-2011. The pattern is that of other readers, not of its own text."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tailsout.ground.errors import MaterialError
from tailsout.wave import usid
from tailsout.wave.usid import Usid

# The first is from a recorder's file, as are the two templates below.
SEEN = "USSDVGR1112089007124001008206301"


def test_one_that_was_seen_is_taken_apart() -> None:
    assert usid.parse(SEEN) == Usid(
        country="US",
        organisation="SDV",
        serial="GR1112089007",
        time="124001",
        random="008206301",
    )
    assert str(usid.parse(SEEN)) == SEEN
    assert usid.remark(SEEN) == ""


@pytest.mark.parametrize(
    "text",
    [
        "",
        SEEN[:-1],
        SEEN + "1",
        "us" + SEEN[2:],
        "U1" + SEEN[2:],
        SEEN[:2] + "sdv" + SEEN[5:],
        SEEN[:17] + "244001" + SEEN[23:],
        SEEN[:17] + "126001" + SEEN[23:],
        SEEN[:17] + "124060" + SEEN[23:],
        SEEN[:-1] + "x",
        SEEN[:-1] + "٣",
        SEEN[:8] + "é" + SEEN[9:],
        SEEN + "\n",
        "SKL-0007",
    ],
)
def test_anything_else_is_none(text: str) -> None:
    assert usid.parse(text) is None


@pytest.mark.parametrize(
    "text",
    [
        "USJPHNNNNNNNNN202829RRRRRRRRR",
        "CCOOONNNNNNNNNNNNHHMMSSRRRRRRRRR",
        "GBSPRKX000000001HHMMSS1",
    ],
)
def test_a_form_that_nobody_filled_in_is_remarked(text: str) -> None:
    assert "not filled in" in usid.remark(text)


@pytest.mark.parametrize("text", ["", "SKL-0007", "See Description for identifiers", "RRRRR"])
def test_an_archives_own_reference_is_not(text: str) -> None:
    assert usid.remark(text) == ""


def test_a_serial_of_such_letters_that_is_filled_in_is_not_remarked() -> None:
    assert usid.remark("GBSPRNNNNNNNNNNNN124001008206301") == ""


FIT = {
    "country": "GB",
    "organisation": "SPR",
    "serial": "SALTPAN00042",
    "time": "093000",
    "random": "123456789",
}


def test_one_is_put_together() -> None:
    assert str(usid.make(**FIT)) == "GBSPRSALTPAN00042093000123456789"


@pytest.mark.parametrize(
    ("part", "value"),
    [
        ("country", "gb"),
        ("organisation", "SP"),
        ("serial", "42"),
        ("serial", "SALTPÄN00042"),
        ("time", "250000"),
        ("random", "12345678"),
        ("random", "12345678x"),
    ],
)
def test_what_does_not_fit_is_refused(part: str, value: str) -> None:
    with pytest.raises(MaterialError, match="EBU R 99"):
        usid.make(**{**FIT, part: value})


def test_parts_that_only_fit_shifted_are_refused() -> None:
    with pytest.raises(MaterialError, match="EBU R 99"):
        usid.make(**{**FIT, "country": "GBS", "organisation": "PR"})


@given(st.text(max_size=40))
def test_no_text_whatever_raises(text: str) -> None:
    found = usid.parse(text)

    assert found is None or str(found) == text
    assert isinstance(usid.remark(text), str)
