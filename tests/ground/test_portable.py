"""RFC 8493 §6.1 (A15, A17 to A21)."""

import re
import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tailsout.ground import portable


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
    assert portable.not_portable(name)


@pytest.mark.parametrize(
    "name",
    ["a", "a.wav", ".a", "COM", "COM10", "console", "nulls", "Ä b", "x" * 255, "~$a", "日本"],
)
def test_portable(name: str) -> None:
    assert portable.not_portable(name) == ""


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
    assert (portable.twin_key(one) == portable.twin_key(other)) is twins


# What is answered at a glance is what a closer look says.

NAMES = st.one_of(
    st.text(max_size=20),
    st.text("aA.-_ ~:\\/\t\x00\u0130\u212a", max_size=12),
    st.sampled_from(
        ["con", "CON.txt", "com1", "COM\u00b9", "nul", "nuL.a", "contact", "lpt9.x", "aux"]
    ),
)


@given(NAMES)
def test_a_name_that_is_plain_stands_on_every_system(name: str) -> None:
    at_a_glance = portable.not_portable(name)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(portable, "_PLAIN", re.compile(r"(?!)"))
        assert portable.not_portable(name) == at_a_glance
    assert portable._PLAIN.fullmatch("reel-0001 b.wav")


@given(NAMES)
def test_twins_are_told_by_letters_of_any_kind(name: str) -> None:
    folded = portable.composed(portable.composed(name).casefold())
    assert portable.twin_key(name) == folded


@pytest.mark.parametrize(
    ("path", "present", "said"),
    [
        ("images/Box.JPG", ["images/box.jpg"], "; did you mean 'images/box.jpg'?"),
        ("side a.wav", ["captures/side a.wav"], "; did you mean 'captures/side a.wav'?"),
        ("images/none.jpg", ["images/box.jpg"], "."),
        ("images/box.jpg", [], "."),
        ("captures\reel.wav", ["captures/reel.wav"], "; between the folders of a path stands /"),
        # The same letters to the eye: one with an umlaut, one with an accent behind its u.
        ("images/R\u00fccken.jpg", ["images/Ru\u0308cken.jpg"], " there has other accents"),
    ],
)
def test_a_path_that_is_not_there_is_told_with_its_like(
    path: str, present: list[str], said: str
) -> None:
    told = portable.most_like(path, present)
    assert said in told
    assert told.endswith((".", "?"))
