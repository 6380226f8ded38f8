"""RFC 8493 §5.1 (A01 to A07) and §6.1 (A15, A17 to A21)."""

import unicodedata

import pytest

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


@pytest.mark.parametrize(
    "name",
    [
        "",
        ".",
        "..",
        "a.",
        "a ",
        " a",
        "a\u00a0",
        "CON",
        "con",
        "nul.txt",
        "COM1.wav",
        "LPT9",
        "LPT¹",
        "aux.tar.gz",
        "PRN .txt",
        "CONIN$",
        *(f"a{c}b" for c in '<>:"/|?*\\\x00\x1f\x7f\x85\u202e\u200b\u2028\ufeff' if c != "/"),
        "x" * 256,
        "ä" * 128,
    ],
)
def test_not_portable(name: str) -> None:
    assert names.not_portable(name)


@pytest.mark.parametrize(
    "name",
    ["a", "a.wav", ".a", "COM", "COM10", "console", "nulls", "Ä b", "x" * 255, "~$a", "日本"],
)
def test_portable(name: str) -> None:
    assert names.not_portable(name) == ""


@pytest.mark.parametrize(
    ("one", "other", "twins"),
    [
        ("data/A.wav", "data/a.wav", True),
        ("data/ä", unicodedata.normalize("NFD", "data/ä"), True),
        ("data/Ä", unicodedata.normalize("NFD", "data/ä"), True),
        ("data/straße", "data/STRASSE", True),
        ("data/a", "data/b", False),
        ("data/ﬁ", "data/f i", False),
    ],
)
def test_twins(one: str, other: str, twins: bool) -> None:
    assert (names.twin_key(one) == names.twin_key(other)) is twins


@pytest.mark.parametrize("text", ["a", "ä", "日本", "\udcff"])
def test_the_way_to_the_disk_and_back(text: str) -> None:
    assert names.from_disk(names.to_disk(text)) == text
