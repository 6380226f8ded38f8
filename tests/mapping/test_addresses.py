"""Percent codes (RFC 3986 §2.1): octets of UTF-8, upper-case figures."""

from urllib.parse import quote, unquote_to_bytes

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tailsout.mapping.addresses import address, leads_out, path_at


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


# RFC 3986 §5.2.4: dots in a relative address; §4.2: one with a scheme is not relative.
@pytest.mark.parametrize(
    ("told", "folder", "path"),
    [
        ("a.wav", "", "a.wav"),
        ("a.wav", "metadata", "metadata/a.wav"),
        ("../data/a%20b.wav?x#y", "metadata", "data/a b.wav"),
        ("./x/../a.wav", "data/audio", "data/audio/a.wav"),
        ("../../a.wav", "data/audio", "a.wav"),
        ("data/%C3%BC%FF", "", "data/ü\udcff"),
        ("../../../a.wav", "data/audio", None),
        ("%2e%2e/a.wav", "", None),
        ("/data/a.wav", "", None),
        ("file:a.wav", "", None),
    ],
)
def test_where_a_relative_address_leads(told: str, folder: str, path: str | None) -> None:
    assert path_at(told, folder) == path


@pytest.mark.parametrize(
    ("told", "is_out"),
    [
        ("../data/a.wav", False),
        ("../../a.wav", True),
        ("/a.wav", True),
        ("FILE:///a.wav", True),
        ("https://archive.example/a.wav", False),
        ("urn:x:a", False),
    ],
)
def test_what_leads_out_of_the_bag(told: str, *, is_out: bool) -> None:
    assert leads_out(told, "metadata") == is_out
