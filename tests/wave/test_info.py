"""A `LIST` of type `INFO`: RIFF 1991 chapter 2."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tailsout.ground.errors import MaterialError
from tailsout.wave import info
from tailsout.wave.info import TITLES, Entry
from tailsout.wave.lists import join

ENTRIES = (
    Entry(id="IARL", text="Skerrow Light"),
    Entry(id="ICRD", text="1961-05"),
    Entry(id="ICMT", text=""),
)
OCTETS = (
    b"INFO"
    b"IARL\x0e\0\0\0Skerrow Light\0"  # 14 octets with the NUL
    b"ICRD\x08\0\0\x001961-05\0"
    b"ICMT\x01\0\0\0\0\0"  # one NUL, and a pad
)


def one(raw: bytes, code_page: int | None = None) -> tuple[str, list[str]]:
    """Read the text of a list of one entry."""
    (entry,), damage = info.decode(join(b"INFO", [(b"INAM", raw)]), code_page=code_page)
    return entry.text, [fault.kind for fault in damage]


def test_worked_octets_are_written_and_read() -> None:
    assert info.encode(ENTRIES) == OCTETS
    assert info.decode(OCTETS) == (ENTRIES, ())


@pytest.mark.parametrize(
    ("raw", "text", "kinds"),
    [
        (b"Reel 7\0", "Reel 7", []),
        (b"\0", "", []),
        (b"", "", ["info-unended"]),
        (b"Reel 7", "Reel 7", ["info-unended"]),
        (b"Reel 17\0\0", "Reel 17", ["info-nuls"]),
        (b"Reel 7\0\0", "Reel 7", []),  # the pad octet counted into the size
        (b"Reel 7\0\0\0", "Reel 7", ["info-nuls"]),
        (b"\0\0", "", []),
        (b"\0\0\0", "", ["info-nuls"]),
        (b"Reel 7\0old text", "Reel 7", ["info-after-nul"]),
        (b"\0x", "", ["info-after-nul"]),
        (b"one\r\n\ttwo\0", "one\r\n\ttwo", []),
        (b"a\x1b[2J\0", "a\x1b[2J", ["info-control"]),
        (b"a\x7f\0", "a\x7f", ["info-control"]),
        ("Læsø\0".encode(), "Læsø", ["info-not-ascii"]),
        (b"L\xe6s\xf8\0", "Læsø", ["info-not-ascii"]),
        (b"L\xe6s\xf8\x07", "Læsø\x07", ["info-unended", "info-not-ascii", "info-control"]),
    ],
)
def test_text_is_kept_and_its_faults_told(raw: bytes, text: str, kinds: list[str]) -> None:
    assert one(raw) == (text, kinds)


@pytest.mark.parametrize(
    ("raw", "code_page", "text", "coding"),
    [
        (b"\x91\0", None, "\x91", "ISO 8859-1"),
        (b"\x91\0", 0, "\x91", "ISO 8859-1"),
        (b"\x91\0", 437, "æ", "code page 437"),
        (b"\xf1\0", 1251, "с", "code page 1251"),
        (b"\x81\0", 1252, "\x81", "ISO 8859-1"),  # 1252 has no such character
        (b"\x91\0", 1200, "\x91", "ISO 8859-1"),  # UTF-16 is not read
        (b"\x91\0", 65_535, "\x91", "ISO 8859-1"),
        ("æ\0".encode(), 437, "æ", "UTF-8"),  # what is UTF-8 by its octets is read so
        ("æ\0".encode(), 65_001, "æ", "UTF-8"),
    ],
)
def test_what_is_not_ascii_is_read_and_said_to_be(
    raw: bytes, code_page: int | None, text: str, coding: str
) -> None:
    payload = join(b"INFO", [(b"INAM", raw)])
    (entry,), (fault,) = info.decode(payload, code_page=code_page)

    assert entry.text == text
    assert fault.text.startswith("INAM of INFO ")
    assert fault.text.endswith(f"read as {coding}.")


def test_a_fault_lies_where_the_text_does() -> None:
    payload = join(b"INFO", [(b"IARL", b"a\0"), (b"INAM", b"Reel")])

    assert [fault.offset for fault in info.decode(payload, offset=100)[1]] == [122]


def test_an_id_that_comes_twice_is_told_and_both_are_kept() -> None:
    payload = join(b"INFO", [(b"INAM", b"one\0"), (b"INAM", b"two\0")])
    entries, (fault,) = info.decode(payload, offset=100)

    assert [entry.text for entry in entries] == ["one", "two"]
    assert (fault.kind, fault.offset) == ("info-duplicate", 124)


def test_an_unknown_id_is_kept_and_no_fault() -> None:
    entries, damage = info.decode(join(b"INFO", [(b"I~ x", b"one\0")]))

    assert (entries, damage) == ((Entry(id="I~ x", text="one"),), ())
    assert "I~ x" not in TITLES


def test_a_list_inside_is_no_entry() -> None:
    entries, damage = info.decode(join(b"INFO", [(b"LIST", OCTETS), (b"INAM", b"one\0")]))

    assert [entry.id for entry in entries] == ["INAM"]
    assert [fault.kind for fault in damage] == ["list-nested"]


def test_another_list_has_no_entries() -> None:
    entries, damage = info.decode(b"adtl" + OCTETS[4:])

    assert entries == ()
    assert [fault.kind for fault in damage] == ["list-type"]


def test_a_sub_chunk_longer_than_its_list_is_told() -> None:
    payload = b"INFOINAM" + (1000).to_bytes(4, "little") + b"Reel\0\0"
    entries, damage = info.decode(payload)

    assert entries == (Entry(id="INAM", text="Reel"),)
    assert [fault.kind for fault in damage] == ["list-part-long"]


def test_the_table_is_that_of_riff_1991_and_two_of_1994() -> None:
    # The ids of RIFF 1991 chapter 2, INFO list chunk; IDIT and ISMP are of the 1994 update. From
    # memory.
    assert " ".join(TITLES) == (
        "IARL IART ICMS ICMT ICOP ICRD ICRP IDIM IDPI IENG IGNR IKEY ILGT IMED INAM IPLT IPRD "
        "ISBJ ISFT ISHP ISRC ISRF ITCH IDIT ISMP"
    )
    assert TITLES["IARL"] == "Archival location"


@pytest.mark.parametrize("text", ["Læsø", "a\nb", "a\tb", "a\0", "\x1b[2J", "a\x7f"])
def test_what_is_no_plain_ascii_is_refused_by_name(text: str) -> None:
    with pytest.raises(MaterialError, match="INAM of INFO"):
        info.encode([Entry(id="INAM", text=text)])


@pytest.mark.parametrize(
    "name", ["", "INA", "inam", "INAMX", "IN M", "ÄNAM", "INAM\n", "LIST", "RIFF"]
)
def test_an_id_is_four_capitals_or_digits(name: str) -> None:
    with pytest.raises(MaterialError, match="four capitals"):
        info.encode([Entry(id=name, text="")])
    assert info.encode([Entry(id="I3AM", text="")])


def test_an_id_is_written_once() -> None:
    with pytest.raises(MaterialError, match="INAM of INFO comes twice"):
        info.encode([ENTRIES[0], Entry(id="INAM", text=""), Entry(id="INAM", text="x")])


def test_a_cut_list_never_raises() -> None:
    whole = {4: 0, 26: 1, 42: 2}
    for octets in range(len(OCTETS)):
        entries, damage = info.decode(OCTETS[:octets])
        assert bool(damage) == (octets not in whole), octets
        assert all(entry.id in {"IARL", "ICRD", "ICMT"} for entry in entries)
        assert whole.get(octets, len(entries)) == len(entries)


PLAIN = st.text(st.characters(min_codepoint=0x20, max_codepoint=0x7E), max_size=12)
IDS = st.from_regex(r"[A-Z0-9]{4}", fullmatch=True).filter(lambda x: x not in {"LIST", "RIFF"})
ENTRY = st.builds(Entry, id=IDS, text=PLAIN)


@given(st.lists(ENTRY, max_size=6, unique_by=lambda entry: entry.id))
def test_what_is_written_is_read_back(entries: list[Entry]) -> None:
    payload = info.encode(entries)

    assert len(payload) % 2 == 0
    assert info.decode(payload) == (tuple(entries), ())


@given(st.binary(max_size=60), st.none() | st.integers(0, 65_535))
def test_no_octets_whatever_raise(octets: bytes, code_page: int | None) -> None:
    payload = join(b"INFO", [(b"INAM", octets)])
    entries, damage = info.decode(payload, code_page=code_page)

    assert len(entries) == 1
    assert damage or octets.isascii()
    info.decode(b"INFO" + octets, code_page=code_page)
