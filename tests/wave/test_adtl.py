"""A `LIST` of type `adtl`: RIFF 1991 chapter 3."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tailsout.ground.errors import MaterialError
from tailsout.wave import adtl, lists
from tailsout.wave.adtl import Item, Label, Note, Other, Stretch
from tailsout.wave.lists import join

ITEMS: tuple[Item, ...] = (
    Label(number=1, text="splice"),
    Note(number=2, text="ok"),
    Stretch(
        number=2, frames=480, country=45, language=6, dialect=1, code_page=1252, text="dropout"
    ),
    Other(id=b"file", payload=b"\1\2\3"),
)
OCTETS = bytes.fromhex(
    "6164746C"  # adtl
    "6C61626C 0B000000 01000000"  # labl, 11 octets, name of the cue point
    "73706C69636500 00"  # splice, and a pad
    "6E6F7465 07000000 02000000 6F6B00 00"  # note: ok
    "6C747874 1B000000 02000000 E0010000 72676E20"  # ltxt, 27 octets, name, length, rgn
    "2D00 0600 0100 E404 64726F706F7574 00"  # country, language, dialect, code page, dropout
    "66696C65 03000000 010203 00"
)


def told(payload: bytes, numbers: set[int] | None = None) -> list[tuple[str, int]]:
    """What is told and where, for a list at octet 100."""
    damage = adtl.decode(payload, offset=100, numbers=numbers)[1]
    return [(fault.kind, fault.offset) for fault in damage]


def ltxt(raw: bytes, code_page: int = 0) -> bytes:
    figures = bytes(8) + b"rgn " + bytes(6) + code_page.to_bytes(2, "little")
    return join(b"adtl", [(b"ltxt", figures + raw)])


def test_worked_octets_are_written_and_read() -> None:
    assert adtl.encode(ITEMS) == OCTETS
    assert adtl.decode(OCTETS, numbers={1, 2}) == (ITEMS, ())


def test_what_is_said_of_no_cue_point_is_told_and_kept() -> None:
    assert told(OCTETS, {2}) == [("adtl-orphan", 112)]
    assert told(OCTETS, {1}) == [("adtl-orphan", 132), ("adtl-orphan", 148)]
    assert told(OCTETS, set()) == [("adtl-orphan", at) for at in (112, 132, 148)]
    assert told(OCTETS) == []
    assert adtl.decode(OCTETS, numbers=set())[0] == ITEMS


@pytest.mark.parametrize(("name", "needed"), [(b"labl", 4), (b"note", 4), (b"ltxt", 20)])
def test_what_is_too_short_for_its_figures_is_left_out(name: bytes, needed: int) -> None:
    for octets in range(needed):
        payload = join(b"adtl", [(name, bytes(octets)), (b"file", b"")])
        assert adtl.decode(payload)[0] == (Other(id=b"file", payload=b""),)
        assert told(payload) == [("adtl-short", 112)]


@pytest.mark.parametrize("name", [b"labl", b"note"])
@pytest.mark.parametrize(
    ("raw", "text", "kinds"),
    [
        (b"splice\0", "splice", []),
        (b"splice\0\0", "splice", []),  # the pad octet counted into the size
        (b"", "", ["adtl-unended"]),
        (b"splice", "splice", ["adtl-unended"]),
        (b"splice\0\0\0", "splice", ["adtl-nuls"]),
        (b"splice\0x", "splice", ["adtl-after-nul"]),
        (b"\x1b\0", "\x1b", ["adtl-control"]),
        ("Læsø\0".encode(), "Læsø", ["adtl-not-ascii"]),
        (b"L\x91\0", "Læ", ["adtl-not-ascii"]),  # by the code page of CSET
    ],
)
def test_text_is_kept_and_its_faults_told(
    name: bytes, raw: bytes, text: str, kinds: list[str]
) -> None:
    payload = join(b"adtl", [(name, bytes(4) + raw)])
    (item,), damage = adtl.decode(payload, code_page=437)

    assert item == (Label if name == b"labl" else Note)(number=0, text=text)
    assert [fault.kind for fault in damage] == kinds


@pytest.mark.parametrize(
    ("raw", "page", "text", "kinds"),
    [
        (b"", 0, "", []),
        (b"dropout", 0, "dropout", []),  # no NUL is asked for
        (b"dropout\0", 0, "dropout", []),
        (b"dropout\0x", 0, "dropout", ["adtl-after-nul"]),
        (b"L\x91", 0, "Læ", ["adtl-not-ascii"]),  # by the code page of CSET
        (b"L\xe6", 1252, "Læ", ["adtl-not-ascii"]),  # by its own
    ],
)
def test_the_text_of_a_stretch_needs_no_nul(
    raw: bytes, page: int, text: str, kinds: list[str]
) -> None:
    (item,), damage = adtl.decode(ltxt(raw, page), code_page=437)

    assert item == Stretch(number=0, frames=0, code_page=page, text=text)
    assert [fault.kind for fault in damage] == kinds


def test_another_list_has_no_items() -> None:
    assert adtl.decode(b"INFO" + OCTETS[4:])[0] == ()
    assert told(b"INFO" + OCTETS[4:]) == [("list-type", 100)]


REFUSED: list[tuple[Item, str]] = [
    (Label(number=1, text="Læsø"), "labl of cue point 1 must be ASCII"),
    (Note(number=1, text="a\nb"), "note of cue point 1 must be ASCII"),
    (Stretch(number=1, frames=0, text="a\0"), "ltxt of cue point 1 must be ASCII"),
    (Label(number=-1, text=""), "cue point -1 does not fit"),
    (Note(number=1 << 32, text=""), "cue point 4294967296 does not fit"),
    (Stretch(number=1, frames=1 << 32), "cue point 1 does not fit"),
    (Stretch(number=1, frames=0, country=65_536), "cue point 1 does not fit"),
    (Stretch(number=1, frames=0, purpose=b"rgn"), "four printable"),
    (Stretch(number=1, frames=0, purpose=b"rgn\0"), "four printable"),
    (Other(id=b"fil", payload=b""), "four printable"),
]


@pytest.mark.parametrize(("item", "words"), REFUSED)
def test_what_does_not_fit_is_refused(item: Item, words: str) -> None:
    with pytest.raises(MaterialError, match=words):
        adtl.encode([item])


def test_a_cut_list_never_raises() -> None:
    whole = {4, 24, 40, 76}
    for octets in range(len(OCTETS)):
        items, damage = adtl.decode(OCTETS[:octets])
        assert bool(damage) == (octets not in whole), octets
        assert len(items) <= len(ITEMS)


U16, U32 = st.integers(0, 65_535), st.integers(0, 0xFFFFFFFF)
PRINTABLE = st.characters(min_codepoint=0x20, max_codepoint=0x7E)
FOUR = st.text(PRINTABLE, min_size=4, max_size=4).map(str.encode)
PLAIN = st.text(PRINTABLE, max_size=12)
OURS = (b"labl", b"note", b"ltxt", *lists.LISTS)
ITEM = st.one_of(
    st.builds(Label, number=U32, text=PLAIN),
    st.builds(Note, number=U32, text=PLAIN),
    st.builds(
        Stretch,
        number=U32,
        frames=U32,
        purpose=FOUR,
        country=U16,
        language=U16,
        dialect=U16,
        code_page=U16,
        text=PLAIN,
    ),
    st.builds(Other, id=FOUR.filter(lambda x: x not in OURS), payload=st.binary(max_size=9)),
)


@given(st.lists(ITEM, max_size=6))
def test_what_is_written_is_read_back(items: list[Item]) -> None:
    assert adtl.decode(adtl.encode(items)) == (tuple(items), ())


@given(st.binary(max_size=60), st.sampled_from([b"labl", b"note", b"ltxt"]), st.none() | U16)
def test_no_octets_whatever_raise(octets: bytes, name: bytes, code_page: int | None) -> None:
    items, damage = adtl.decode(join(b"adtl", [(name, octets)]), code_page=code_page)

    assert items or damage
    adtl.decode(b"adtl" + octets, code_page=code_page, numbers={0})
