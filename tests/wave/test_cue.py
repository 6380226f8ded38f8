"""The `cue ` chunk: RIFF 1991 chapter 3."""

from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tailsout.ground.errors import MaterialError
from tailsout.wave import cue
from tailsout.wave.cue import MAX_FRAME, MAX_POINTS, Point

POINTS = (
    Point(number=1, position=480, sample_offset=480),
    Point(number=7, position=0, sample_offset=MAX_FRAME),
)
OCTETS = bytes.fromhex(
    "02000000"  # count
    "01000000 E0010000 64617461 00000000 00000000 E0010000"  # name, position, data, 0, 0, offset
    "07000000 00000000 64617461 00000000 00000000 FFFFFFFF"
)


def told(payload: bytes, frames: int | None = None) -> list[tuple[str, int]]:
    """What is told and where, for a chunk at octet 100."""
    return [
        (fault.kind, fault.offset) for fault in cue.decode(payload, offset=100, frames=frames)[1]
    ]


def test_worked_octets_are_written_and_read() -> None:
    assert cue.encode(POINTS) == OCTETS
    # A position left 0 is common, and no fault.
    assert cue.decode(OCTETS) == (POINTS, ())


def test_no_points_are_a_sound_chunk() -> None:
    assert cue.encode([]) == bytes(4)
    assert cue.decode(bytes(4)) == ((), ())


@pytest.mark.parametrize(
    ("count", "octets", "read"),
    [(0xFFFFFFFF, 52, 2), (3, 52, 2), (1, 52, 1), (0, 52, 0), (2, 51, 1), (2, 53, 2), (2, 4, 0)],
)
def test_a_count_is_measured_by_what_is_there(count: int, octets: int, read: int) -> None:
    payload = (count.to_bytes(4, "little") + OCTETS[4:] + b"\0")[:octets]

    assert cue.decode(payload)[0] == POINTS[:read]
    assert told(payload) == [("cue-count", 100)]


def test_a_number_that_comes_twice_is_told_and_both_are_kept() -> None:
    payload = OCTETS[:28] + b"\1" + OCTETS[29:]

    assert told(payload) == [("cue-duplicate", 128)]
    assert [point.number for point in cue.decode(payload)[0]] == [1, 1]


def test_a_point_past_the_end_is_told() -> None:
    payload = cue.encode(POINTS[:1])

    # A point behind the last frame marks the end.
    assert told(payload, frames=480) == []
    assert told(payload, frames=479) == [("cue-past-end", 104)]
    assert told(payload) == []
    assert told(OCTETS, frames=480) == [("cue-past-end", 128)]


@pytest.mark.parametrize(
    ("at", "octets"), [(8, b"slnt"), (12, b"\1\0\0\0"), (16, b"\1\0\0\0"), (8, bytes(4))]
)
def test_a_point_that_counts_from_elsewhere_is_told(at: int, octets: bytes) -> None:
    payload = OCTETS[: 4 + at] + octets + OCTETS[8 + at :]

    assert told(payload) == [("cue-elsewhere", 104)]


def test_points_are_counted() -> None:
    points = [replace(POINTS[0], number=number) for number in range(MAX_POINTS + 1)]
    most = cue.encode(points[:-1])
    more = (MAX_POINTS + 1).to_bytes(4, "little") + most[4:] + cue.encode(points[-1:])[4:]

    assert told(most) == []
    assert len(cue.decode(more)[0]) == MAX_POINTS
    assert told(more) == [("cue-too-many", 100)]
    with pytest.raises(MaterialError, match="10001 points"):
        cue.encode(points)


@pytest.mark.parametrize(
    "field", ["number", "position", "chunk_start", "block_start", "sample_offset"]
)
@pytest.mark.parametrize("value", [-1, MAX_FRAME + 1])
def test_a_figure_past_32_bits_is_refused(field: str, value: Any) -> None:
    with pytest.raises(MaterialError, match="32 bits"):
        cue.encode([replace(POINTS[0], **{field: value})])


def test_an_id_is_four_octets_and_a_number_names_one_point() -> None:
    with pytest.raises(MaterialError, match="four octets"):
        cue.encode([replace(POINTS[0], chunk=b"dat")])
    with pytest.raises(MaterialError, match="same number"):
        cue.encode([POINTS[0], replace(POINTS[1], number=1)])


@pytest.mark.parametrize("octets", range(len(OCTETS)))
def test_a_cut_chunk_is_told(octets: int) -> None:
    points, _ = cue.decode(OCTETS[:octets])

    assert points == POINTS[: max(0, octets - 4) // 24]
    assert told(OCTETS[:octets]) == [("cue-short" if octets < 4 else "cue-count", 100)]


U32 = st.integers(0, MAX_FRAME)
POINT = st.builds(Point, number=U32, position=U32, sample_offset=U32)


@given(st.lists(POINT, max_size=5, unique_by=lambda point: point.number))
def test_what_is_written_is_read_back(points: list[Point]) -> None:
    assert cue.decode(cue.encode(points), frames=MAX_FRAME) == (tuple(points), ())


@given(st.binary(max_size=80), st.integers(0, 4), st.none() | U32)
def test_no_octets_whatever_raise(octets: bytes, count: int, frames: int | None) -> None:
    for payload in (octets, count.to_bytes(4, "little") + octets):
        points, _ = cue.decode(payload, frames=frames)
        assert len(points) <= len(payload) // 24
