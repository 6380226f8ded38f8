"""Text in a field of fixed length."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tailsout.wave import fixed_text


@pytest.mark.parametrize(
    ("raw", "text", "is_ascii"),
    [
        (b"", "", True),
        (b"lamp\0\0\0", "lamp", True),
        (b"lamp   ", "lamp", True),
        (b"lamp", "lamp", True),
        (b"lamp\0old words", "lamp", True),
        (b"  lamp", "  lamp", True),
        (b"caf\xe9\0", "café", False),
    ],
)
def test_it_ends_at_the_first_nul(raw: bytes, text: str, *, is_ascii: bool) -> None:
    assert fixed_text.read(raw) == (text, is_ascii)


@given(st.binary(max_size=20))
def test_no_octets_whatever_raise(raw: bytes) -> None:
    text, is_ascii = fixed_text.read(raw)

    assert raw.startswith(text.encode("latin-1"))
    assert is_ascii == text.isascii()
