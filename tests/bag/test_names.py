"""RFC 8493 §5.1 (A01 to A07)."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tailsout.bag import names


@pytest.mark.parametrize(
    "path",
    [
        "../secret",
        "data/../../secret",
        "data/..",
        "..",
        ".",
        "data/./a.wav",
        "./data/a",
        "data//a.wav",
        "data/",
        "/etc/passwd",
        "//host/share",
        "~root/x",
        "~",
        "C:\\x",
        "C:x",
        "c:/x",
        "\\\\?\\C:\\x",
        "\\\\host\\share",
        "\\x",
        "data\\..\\x",
        "data/a\\..\\..\\..\\x",
        "data/a\x00b",
        "data/a\x01b",
        "data/a\x1bb",
        "data/a\x7fb",
        "data/a\x0bb",
    ],
)
def test_unsafe(path: str) -> None:
    assert names.unsafe(path)


@pytest.mark.parametrize(
    "path",
    [
        "data/a.wav",
        "data/a b ",
        "data/..a",
        "data/a..",
        "data/...",
        "data/~x",
        "data/%2e%2e%2fa",
        "data/a\nb",
        "data/a\rb",
        "data/a\tb",
        "data\\a.wav",
        "data/a:b",
        "data/Ä",
        "data/\udcff",
        "AB:x",
    ],
)
def test_safe(path: str) -> None:
    assert names.unsafe(path) == ""


@pytest.mark.parametrize("text", ["a", "ä", "日本", "\udcff"])
def test_the_way_to_the_disk_and_back(text: str) -> None:
    assert names.from_disk(names.to_disk(text)) == text


# What is answered at a glance is what a closer look says.

NAMES = st.one_of(
    st.text(max_size=20),
    st.text("aA.-_ ~:\\/\t\x00\u0130\u212a", max_size=12),
    st.sampled_from(
        ["con", "CON.txt", "com1", "COM\u00b9", "nul", "nuL.a", "contact", "lpt9.x", "aux"]
    ),
)


@given(NAMES)
def test_a_path_that_is_plain_is_safe(name: str) -> None:
    assert names.is_plain_payload("data/a/reel-0001 b.wav")
    for path in (name, f"data/{name}", f"data/{name}/{name}"):
        if names.is_plain_payload(path):
            assert names.unsafe(path) == ""
