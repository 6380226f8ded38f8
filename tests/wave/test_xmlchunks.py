"""The `iXML` and `axml` chunks as octets. What fills them up is as seen in recorders' files."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tailsout.ground.errors import MaterialError
from tailsout.wave import xmlchunks

DOCUMENT = b'<?xml version="1.0" encoding="UTF-8"?>\n<BWFXML/>\n'


def read(payload: bytes) -> bytes:
    octets, damage = xmlchunks.content(payload, len(payload))
    assert damage == ()
    return octets


@pytest.mark.parametrize("filler", [b"", b"\0", b"\0" * 500, b" ", b" \0 \0", b"   "])
def test_what_fills_the_chunk_up_is_left_out(filler: bytes) -> None:
    assert read(DOCUMENT + filler) == DOCUMENT


@pytest.mark.parametrize("encoding", ["utf-16-le", "utf-16-be"])
@pytest.mark.parametrize("filler", ["", "\0", "\0 \0", "  "])
@pytest.mark.parametrize("odd", [b"", b"\0", b" "])
def test_a_document_in_utf_16_keeps_its_last_character(
    encoding: str, filler: str, odd: bytes
) -> None:
    # U+0100 ends in NUL in one order of octets, and begins with it in neither.
    document = "\ufeff<a>Ā</a>Ā".encode(encoding)
    assert read(document + filler.encode(encoding) + odd) == document


def test_half_a_character_of_utf_16_is_kept() -> None:
    document = "\ufeff<a/>".encode("utf-16-le") + b"x"
    assert read(document) == document


@pytest.mark.parametrize("payload", [b"", b"\0\0", b"   ", b"\xff\xfe", b"\xff\xfe\0\0"])
def test_a_chunk_without_a_document_is_empty(payload: bytes) -> None:
    assert read(payload) in {b"", b"\xff\xfe"}


def test_a_chunk_declared_too_large_is_told_and_not_begun() -> None:
    most = xmlchunks.MAX_OCTETS
    octets, damage = xmlchunks.content(DOCUMENT, most + 1, offset=40)

    assert octets == b""
    assert [(fault.kind, fault.offset) for fault in damage] == [("xml-oversize", 40)]
    assert str(most + 1) in damage[0].text
    assert xmlchunks.content(DOCUMENT, most) == (DOCUMENT, ())


@given(st.binary(max_size=60))
def test_what_is_written_is_even_and_read_back(body: bytes) -> None:
    document = b"<a>" + body + b"</a>"
    payload = xmlchunks.encode(document)

    assert len(payload) % 2 == 0
    assert len(payload) - len(document) < 2
    assert read(payload) == document


def test_the_largest_document_is_written_and_none_larger() -> None:
    most = xmlchunks.MAX_OCTETS
    assert len(xmlchunks.encode(b"x" * (most - 1))) == most
    with pytest.raises(MaterialError, match=str(most + 1)):
        xmlchunks.encode(b"x" * (most + 1))


@given(st.binary(max_size=40) | st.binary(max_size=40).map(lambda tail: b"\xff\xfe" + tail))
def test_no_octets_whatever_raise(payload: bytes) -> None:
    assert payload.startswith(read(payload))
