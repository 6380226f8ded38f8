"""Sub-chunks of a `LIST`: RIFF 1991 chapter 2."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tailsout.ground.errors import MaterialError
from tailsout.wave import lists
from tailsout.wave.lists import MAX_PARTS, join, parts, parts_of

OCTETS = bytes.fromhex(
    "494E464F"  # INFO
    "494E414D 04000000 52656500"  # INAM, 4 octets: Ree and a NUL
    "49434D54 03000000 6E6F00 00"  # ICMT, 3 octets: no and a NUL, and a pad
)


def kinds_of(payload: bytes) -> list[tuple[str, int]]:
    """What is told and where, for a list at octet 100."""
    return [(fault.kind, fault.offset) for fault in parts(payload, offset=100)[2]]


def test_worked_octets_are_written_and_read() -> None:
    assert join(b"INFO", [(b"INAM", b"Ree\0"), (b"ICMT", b"no\0")]) == OCTETS

    list_type, found, damage = parts(OCTETS, offset=100)
    assert (list_type, damage) == (b"INFO", ())
    assert [(part.id, part.offset, part.payload) for part in found] == [
        (b"INAM", 112, b"Ree\0"),
        (b"ICMT", 124, b"no\0"),
    ]


@pytest.mark.parametrize("octets", [0, 2, 3])
def test_a_list_needs_a_type(octets: int) -> None:
    assert parts(OCTETS[:octets])[:2] == (b"", ())
    assert kinds_of(OCTETS[:octets]) == [("list-short", 100)]


def test_a_list_without_sub_chunks_is_sound() -> None:
    assert parts(b"INFO") == (b"INFO", (), ())


def test_of_a_sub_chunk_longer_than_its_list_what_is_there_is_kept() -> None:
    payload = b"INFOINAM" + (0xFFFFFFFF).to_bytes(4, "little") + b"Ree"
    _, (part,), (fault,) = parts(payload, offset=100)

    assert part.payload == b"Ree"
    assert (fault.kind, fault.offset) == ("list-part-long", 104)
    assert "INAM of 4294967295 octets, of which 3" in fault.text


# A name, the octets, and what is told where.
FAULTY: list[tuple[str, bytes, list[tuple[str, int]], list[bytes]]] = [
    ("no pad at the end", OCTETS[:-1], [("list-missing-pad", 127)], [b"Ree\0", b"no\0"]),
    (
        "no pad inside",
        b"INFO" + OCTETS[16:-1] + OCTETS[4:16],
        [("list-missing-pad", 115)],
        [b"no\0", b"Ree\0"],
    ),
    (
        "a pad that is not zero",
        b"INFO" + OCTETS[16:-1] + b"x" + OCTETS[4:16],
        [("list-pad-not-zero", 115)],
        [b"no\0", b"Ree\0"],
    ),
    ("a pad that is not zero at the end", OCTETS[:-1] + b"x", [("list-pad-not-zero", 127)], []),
    ("a pad counted twice", OCTETS + b"\0", [("list-leftover", 128)], []),
    ("seven octets more", OCTETS + b"INAM\0\0\0", [("list-leftover", 128)], []),
    ("zeros behind", OCTETS + bytes(40), [("list-leftover", 128)], []),
    ("an id of NULs", OCTETS + bytes(8) + OCTETS[4:], [("list-bad-id", 128)], []),
    ("an id with a control", OCTETS + b"IN\x1b[\0\0\0\0", [("list-bad-id", 128)], []),
]


@pytest.mark.parametrize(
    ("octets", "told", "payloads"), [case[1:] for case in FAULTY], ids=[case[0] for case in FAULTY]
)
def test_faults_are_told_where_they_are(
    octets: bytes, told: list[tuple[str, int]], payloads: list[bytes]
) -> None:
    assert kinds_of(octets) == told
    assert [part.payload for part in parts(octets)[1]] == (payloads or [b"Ree\0", b"no\0"])


def test_an_id_is_shown_safely() -> None:
    (fault,) = parts(b"INFO\x1b]2;\0\0\0\0")[2]

    assert "\x1b" not in fault.text
    assert "the id '\\x1b]2;', which" in fault.text


@pytest.mark.parametrize("inner", [b"LIST", b"list", b"RIFF"])
def test_a_list_inside_a_list_is_kept_and_not_opened(inner: bytes) -> None:
    payload = join(b"INFO", [(inner, OCTETS)])

    assert parts(payload)[1][0].payload == OCTETS
    assert kinds_of(payload) == [("list-nested", 104)]


def test_a_hundred_thousand_lists_inside_each_other_are_one_sub_chunk() -> None:
    depth = 100_000
    pieces = [
        b"LIST" + (12 * (depth - level) - 8).to_bytes(4, "little") + b"INFO"
        for level in range(depth)
    ]
    _, found, damage = parts(b"".join(pieces)[8:])

    assert [part.id for part in found] == [b"LIST"]
    assert [fault.kind for fault in damage] == ["list-nested"]


def test_sub_chunks_are_counted() -> None:
    most = join(b"INFO", [(b"INAM", b"")] * MAX_PARTS)
    assert kinds_of(most) == []
    assert len(parts(most)[1]) == MAX_PARTS

    assert kinds_of(most + b"INAM\0\0\0\0") == [("list-too-many", 100 + len(most))]
    assert len(parts(most + b"INAM\0\0\0\0")[1]) == MAX_PARTS


def test_a_list_of_another_type_is_not_read() -> None:
    assert parts_of(b"INFO", OCTETS) == (parts(OCTETS)[1], ())
    found, (fault,) = parts_of(b"adtl", OCTETS, offset=100)
    assert (found, fault.kind, fault.offset) == ((), "list-type", 100)
    assert [fault.kind for fault in parts_of(b"adtl", b"ad")[1]] == ["list-short"]


@pytest.mark.parametrize("chunk_id", [b"", b"IN", b"INAMX", b"INA\n", b"INA\xe4"])
def test_an_id_that_is_none_is_not_written(chunk_id: bytes) -> None:
    with pytest.raises(MaterialError, match="four printable"):
        join(b"INFO", [(chunk_id, b"")])


def test_more_sub_chunks_than_are_read_are_not_written() -> None:
    with pytest.raises(MaterialError, match="more than 10000"):
        join(b"INFO", [(b"INAM", b"")] * (MAX_PARTS + 1))


def test_a_cut_list_never_raises_and_is_told_where_it_is_cut_inside_a_sub_chunk() -> None:
    whole = {4, 16, 28}
    for octets in range(len(OCTETS)):
        _, found, damage = parts(OCTETS[:octets])
        assert bool(damage) == (octets not in whole), octets
        assert b"".join(part.payload for part in found) in b"Ree\0no\0"


PRINTABLE = st.characters(min_codepoint=0x20, max_codepoint=0x7E)
IDS = (
    st.text(PRINTABLE, min_size=4, max_size=4)
    .map(str.encode)
    .filter(lambda one: one not in lists.LISTS)
)


@given(IDS, st.lists(st.tuples(IDS, st.binary(max_size=9)), max_size=6))
def test_what_is_written_is_read_back(list_type: bytes, given_: list[tuple[bytes, bytes]]) -> None:
    met, found, damage = parts(join(list_type, given_))

    assert (met, damage) == (list_type, ())
    assert [(part.id, part.payload) for part in found] == given_


@given(st.sampled_from([b"", b"INFO", b"INFOINAM"]), st.binary(max_size=80))
def test_no_octets_whatever_raise(start: bytes, octets: bytes) -> None:
    payload = start + octets
    _, found, damage = parts(payload)

    assert sum(len(part.payload) for part in found) <= len(payload)
    assert all(0 <= fault.offset <= len(payload) for fault in damage)
