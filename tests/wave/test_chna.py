"""The `chna` chunk, ITU-R BS.2088-1: layout from memory; another reader is heard in outside/."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tailsout.wave import chna
from tailsout.wave.chna import Chna, Row

FIRST = (
    bytes.fromhex("0100")  # track 1
    + b"ATU_00000001"
    + b"AT_00010001_01"
    + b"AP_00010002"
    + b"\0"
)
SECOND = bytes.fromhex("0200") + b"ATU_00000002" + b"AT_00010002_01" + bytes(11) + b"\0"
GOOD = bytes.fromhex("0200 0200") + FIRST + SECOND
ROWS = (
    Row(track=1, uid="ATU_00000001", track_format="AT_00010001_01", pack_format="AP_00010002"),
    Row(track=2, uid="ATU_00000002", track_format="AT_00010002_01", pack_format=""),
)


def test_a_table_is_read() -> None:
    assert chna.decode(GOOD) == (Chna(tracks=2, rows=ROWS), ())


def test_rows_beyond_those_stated_are_room_to_spare() -> None:
    assert chna.decode(GOOD + bytes(80)) == chna.decode(GOOD)


def test_a_row_of_track_0_names_no_track() -> None:
    found, damage = chna.decode(bytes.fromhex("0200 0300") + FIRST + SECOND + bytes(40))

    assert damage == ()
    assert found is not None
    assert found.rows[2] == Row(track=0, uid="", track_format="", pack_format="")


def test_two_rows_may_name_one_track() -> None:
    found, damage = chna.decode(bytes.fromhex("0100 0200") + FIRST + FIRST)

    assert damage == ()
    assert found is not None
    assert [row.track for row in found.rows] == [1, 1]


SPOILT = {
    "nothing": (b"", "chna-short", 0, 0),
    "three octets": (GOOD[:3], "chna-short", 0, 0),
    "a row cut short": (GOOD[:-1], "chna-rows", 2, 1),
    "65535 rows stated": (b"\2\0\xff\xff" + GOOD[4:], "chna-rows", 2, 2),
    "another count of tracks": (b"\3\0" + GOOD[2:], "chna-tracks", 0, 2),
    "text outside ASCII": (GOOD[:6] + b"\xc9" + GOOD[7:], "chna-text", 4, 2),
}


@pytest.mark.parametrize("name", SPOILT)
def test_one_thing_off_is_told(name: str) -> None:
    payload, kind, at, rows = SPOILT[name]
    found, damage = chna.decode(payload, offset=100)

    assert [(fault.kind, fault.offset) for fault in damage] == [(kind, 100 + at)]
    assert len(found.rows if found else ()) == rows


@pytest.mark.parametrize("end", range(len(GOOD)))
def test_cut_off_anywhere_it_is_told(end: int) -> None:
    found, damage = chna.decode(GOOD[:end])

    assert damage
    assert (found is None) == (end < 4)


def test_the_largest_table_is_as_large_as_said() -> None:
    payload = (b"\1\0\xff\xff" + FIRST * 0xFFFF)[: chna.MAX_OCTETS]
    found, damage = chna.decode(payload)

    assert damage == ()
    assert found is not None
    assert len(found.rows) == 0xFFFF
    assert len(payload) == chna.MAX_OCTETS


@given(st.binary(max_size=200))
def test_no_octets_whatever_raise(payload: bytes) -> None:
    found, damage = chna.decode(payload)

    assert found is not None or damage
