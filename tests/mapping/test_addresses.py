"""Percent codes (RFC 3986 §2.1): octets of UTF-8, upper-case figures."""

from urllib.parse import quote, unquote_to_bytes

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tailsout.mapping.addresses import address


@pytest.mark.parametrize(
    ("path", "told"),
    [
        ("data/a b.wav", "data/a%20b.wav"),
        ("data/50%.wav", "data/50%25.wav"),
        ("data/ü~.wav", "data/%C3%BC~.wav"),
        ("data/\udcff", "data/%FF"),
        ("javascript:alert(1)", "javascript%3Aalert%281%29"),
    ],
)
def test_what_is_odd_becomes_a_code(path: str, told: str) -> None:
    assert address(path) == told


@given(st.text(st.characters(exclude_categories=["Cs"])))
def test_an_address_leads_back_to_its_path(path: str) -> None:
    assert unquote_to_bytes(address(path)) == path.encode()
    assert address(path) == quote(path)
