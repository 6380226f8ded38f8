"""The `ds64` chunk: EBU Tech 3306 and ITU-R BS.2088-1, octet for octet."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tailsout.ground.errors import MaterialError
from tailsout.wave import ds64
from tailsout.wave.ds64 import Sizes

WORKED = bytes.fromhex(
    "48F2052A01000000"  # riffSize: 5 000 000 072
    "00F2052A01000000"  # dataSize: 5 000 000 000
    "00F9829500000000"  # sampleCount: 2 508 388 608
    "02000000"  # tableLength
    "61786D6C 0000000001000000"  # axml, 4 294 967 296
    "61786D6C FFFFFFFFFFFFFFFF"  # axml, 2^64 - 1
)
SIZES = Sizes(
    riff=5_000_000_072,
    data=5_000_000_000,
    samples=2_508_388_608,
    table=((b"axml", 2**32), (b"axml", 2**64 - 1)),
)
U64 = st.integers(0, 2**64 - 1)


def kinds(payload: bytes) -> list[tuple[str, int]]:
    return [(one.kind, one.offset) for one in ds64.decode(payload, offset=20)[1]]


def test_worked_octets_are_read_and_written() -> None:
    assert ds64.decode(WORKED) == (SIZES, ())
    written = ds64.encode(
        riff=SIZES.riff, data=SIZES.data, samples=SIZES.samples, table=SIZES.table
    )
    assert written == WORKED


def test_without_rows_it_is_28_octets() -> None:
    assert ds64.encode(riff=1, data=2, samples=3) == bytes.fromhex(
        "0100000000000000 0200000000000000 0300000000000000 00000000"
    )


@given(U64, U64, U64, st.lists(st.tuples(st.binary(min_size=4, max_size=4), U64), max_size=9))
def test_what_is_written_is_read_back(
    riff: int, data: int, samples: int, table: list[tuple[bytes, int]]
) -> None:
    found, damage = ds64.decode(ds64.encode(riff=riff, data=data, samples=samples, table=table))

    assert found == Sizes(riff=riff, data=data, samples=samples, table=tuple(table))
    assert damage == ()


def test_octets_behind_the_rows_are_room() -> None:
    assert ds64.decode(WORKED + bytes(36)) == (SIZES, ())


def test_it_is_cut_at_any_octet() -> None:
    for octets in range(28):
        assert kinds(WORKED[:octets]) == [("ds64-short", 20)]
        assert ds64.decode(WORKED[:octets])[0] is None
    for octets in range(28, len(WORKED)):
        found, _ = ds64.decode(WORKED[:octets])
        assert kinds(WORKED[:octets]) == [("ds64-table", 44)]
        assert found is not None
        assert (found.data, found.table) == (5_000_000_000, ())


@pytest.mark.parametrize(
    ("figures", "table"),
    [
        ((-1, 0, 0), ()),
        ((0, 2**64, 0), ()),
        ((0, 0, 0), ((b"axml", -1),)),
        ((0, 0, 0), ((b"axml", 2**64),)),
        ((0, 0, 0), ((b"xml", 5),)),
        ((0, 0, 0), ((b"iaxml", 5),)),
        ((0, 0, 0), ((b"axml", 5),) * 10_001),
    ],
)
def test_what_would_not_be_read_again_is_refused(
    figures: tuple[int, int, int], table: tuple[tuple[bytes, int], ...]
) -> None:
    riff, data, samples = figures
    with pytest.raises(MaterialError, match="ds64"):
        ds64.encode(riff=riff, data=data, samples=samples, table=table)


def test_the_most_rows_are_written_and_read() -> None:
    payload = ds64.encode(riff=0, data=0, samples=0, table=((b"axml", 5),) * 10_000)

    assert len(payload) == ds64.MAX_OCTETS
    found, damage = ds64.decode(payload)
    assert found is not None
    assert (len(found.table), damage) == (10_000, ())
