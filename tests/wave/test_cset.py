"""The `CSET` chunk: RIFF 1991 chapter 2; numbers of code pages from memory."""

import codecs

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tailsout.ground.errors import MaterialError
from tailsout.wave import cset
from tailsout.wave.cset import CODECS, Cset

DANISH = Cset(code_page=1252, country=45, language=6, dialect=1)
OCTETS = bytes.fromhex("E404 2D00 0600 0100")


def test_worked_octets_are_written_and_read() -> None:
    assert cset.encode(DANISH) == OCTETS
    assert cset.decode(OCTETS) == (DANISH, ())
    assert cset.encode(Cset()) == bytes(8)


@pytest.mark.parametrize("octets", range(8))
def test_less_than_eight_octets_are_none(octets: int) -> None:
    found, (fault,) = cset.decode(OCTETS[:octets], offset=20)

    assert found is None
    assert (fault.kind, fault.offset) == ("cset-size", 20)


def test_more_than_eight_octets_are_told_and_read() -> None:
    found, (fault,) = cset.decode(OCTETS + b"\0\0")

    assert (found, fault.kind) == (DANISH, "cset-size")


@pytest.mark.parametrize("field", ["code_page", "country", "language", "dialect"])
@pytest.mark.parametrize("value", [-1, 65_536])
def test_a_number_past_16_bits_is_refused(field: str, value: int) -> None:
    with pytest.raises(MaterialError, match="16 bits"):
        cset.encode(Cset(**{field: value}))


def test_every_code_page_is_one_that_python_reads() -> None:
    for page, name in CODECS.items():
        assert codecs.lookup(name), page
        # Text of all of them is ASCII where it is ASCII, and holds NULs nowhere else.
        assert b"Reel 7\\\0".decode(name) == "Reel 7\\\0", page
    assert b"\xe6".decode(CODECS[1252]) == "æ"
    assert b"\x91".decode(CODECS[437]) == "æ"
    assert b"\xf1".decode(CODECS[28595]) == "ё"


@given(*[st.integers(0, 65_535)] * 4)
def test_what_is_written_is_read_back(page: int, country: int, language: int, dialect: int) -> None:
    one = Cset(code_page=page, country=country, language=language, dialect=dialect)

    assert cset.decode(cset.encode(one)) == (one, ())
