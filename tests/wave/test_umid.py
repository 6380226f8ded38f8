"""The UMID of SMPTE ST 330: layout from memory and public parsers, not from the standard's text."""

import uuid

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tailsout.ground.errors import MaterialError
from tailsout.wave import umid
from tailsout.wave.umid import Umid

NUMBER = bytes(range(0xA0, 0xB0))
BASIC = bytes.fromhex(
    "060A2B34 01010105 0101"  # universal label
    "0F"  # material type: not identified
    "20"  # material number by UUID, instance number not defined
    "13"  # nineteen octets follow
    "000000"  # instance number
) + bytes(NUMBER)
EXTENDED = (
    bytes.fromhex(
        "060A2B34 01010101 0101"  # the older label
        "02"  # material type: audio
        "11"  # material number by SMPTE's method, instance number by local registration
        "33"  # fifty-one octets follow
        "00012C"  # instance number 300
    )
    + NUMBER
    + bytes(range(1, 9))  # time and date
    + bytes(range(9, 21))  # position
    + b"SKL SALTROW "
)


def patched(octets: bytes, at: int, new: bytes) -> bytes:
    return octets[:at] + new + octets[at + len(new) :]


def test_a_basic_one_is_taken_apart() -> None:
    assert umid.decode(BASIC) == (
        Umid(
            material_type=0x0F,
            material_method=2,
            instance_method=0,
            instance_number=0,
            material_number=NUMBER,
        ),
        (),
    )


def test_an_extended_one_is_taken_apart() -> None:
    assert umid.decode(EXTENDED) == (
        Umid(
            material_type=2,
            material_method=1,
            instance_method=1,
            instance_number=300,
            material_number=NUMBER,
            time_date=bytes(range(1, 9)),
            position=bytes(range(9, 21)),
            country="SKL",
            organisation="SALT",
            user="ROW",
        ),
        (),
    )


@pytest.mark.parametrize("octets", [b"", bytes(32), bytes(64)])
def test_zeros_are_none_and_no_fault(octets: bytes) -> None:
    assert umid.decode(octets) == (None, ())


def test_zeros_behind_a_basic_one_are_the_chunks_own_room() -> None:
    assert umid.decode(BASIC + bytes(32)) == umid.decode(BASIC)


SPOILT = {
    "a bare UUID": (NUMBER + bytes(48), "umid-label", 0, False),
    "half a label": (patched(BASIC, 9, b"\2"), "umid-label", 0, False),
    "a label of another register": (patched(BASIC, 7, b"\2"), "umid-label", 0, False),
    "seven octets": (BASIC[:7], "umid-short", 0, False),
    "thirty-one octets": (BASIC[:31], "umid-short", 0, False),
    "a length that is none": (patched(BASIC, 12, b"\x20"), "umid-length", 12, True),
    "basic that states extended": (patched(BASIC, 12, b"\x33"), "umid-length", 12, True),
    "extended that states basic": (patched(EXTENDED, 12, b"\x13"), "umid-length", 12, True),
    "a country in control characters": (patched(EXTENDED, 52, b"\1"), "umid-text", 52, True),
    "a user outside ASCII": (patched(EXTENDED, 60, b"\xe9"), "umid-text", 60, True),
}


@pytest.mark.parametrize("name", SPOILT)
def test_one_thing_off_is_told_where_it_is(name: str) -> None:
    octets, kind, at, is_read = SPOILT[name]
    found, damage = umid.decode(octets, offset=368)

    assert [(fault.kind, fault.offset) for fault in damage] == [(kind, 368 + at)]
    assert (found is not None) == is_read


def test_words_that_end_in_nuls_are_whole() -> None:
    found, damage = umid.decode(patched(EXTENDED, 52, b"GB\0\0"))

    assert damage == ()
    assert found is not None
    assert found.country == "GB"


def test_ours_is_the_basic_one_of_a_uuid() -> None:
    assert umid.basic(NUMBER) == BASIC
    assert umid.basic(uuid.UUID("12345678-1234-5678-9234-567812345678").bytes)[16:].hex() == (
        "12345678123456789234567812345678"
    )


@pytest.mark.parametrize("octets", [0, 15, 17, 32])
def test_a_number_of_another_length_is_refused(octets: int) -> None:
    with pytest.raises(MaterialError, match=f"has {octets} octets"):
        umid.basic(bytes(octets))


@given(st.binary(min_size=16, max_size=16))
def test_what_is_made_is_read_back(number: bytes) -> None:
    found, damage = umid.decode(umid.basic(number))

    assert damage == ()
    assert found is not None
    assert (found.material_number, found.instance_number) == (number, 0)


@pytest.mark.parametrize("end", range(65))
def test_cut_off_anywhere_it_is_read_or_told(end: int) -> None:
    found, damage = umid.decode(EXTENDED[:end])

    assert (found is None) == (end < 32)
    # Cut by its last octets only, it still holds more than a basic one.
    assert bool(damage) == (0 < end <= 32)


@given(st.binary(max_size=80) | st.binary(max_size=70).map(lambda tail: BASIC[:10] + tail))
def test_no_octets_whatever_raise(octets: bytes) -> None:
    found, damage = umid.decode(octets)

    assert found is not None or damage or not octets.strip(b"\0")
