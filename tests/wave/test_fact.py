"""The `fact` chunk: RIFF 1991 chapter 3; what RF64 leaves to `ds64`: EBU Tech 3306."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tailsout.ground.errors import MaterialError
from tailsout.wave import fact

OCTETS = bytes.fromhex("80BB0000")


def test_worked_octets_are_written_and_read() -> None:
    assert fact.encode(48_000) == OCTETS
    assert fact.decode(OCTETS) == (48_000, ())
    assert fact.decode(OCTETS, frames=48_000) == (48_000, ())
    # Formats other than PCM may say more behind it.
    assert fact.decode(OCTETS + b"\1\2") == (48_000, ())


@pytest.mark.parametrize("octets", range(4))
def test_less_than_four_octets_are_none(octets: int) -> None:
    found, (fault,) = fact.decode(OCTETS[:octets], offset=20)

    assert found is None
    assert (fault.kind, fault.offset) == ("fact-short", 20)


def test_a_count_that_differs_from_the_audio_is_told() -> None:
    found, (fault,) = fact.decode(OCTETS, offset=20, frames=47_999)

    assert (found, fault.kind, fault.offset) == (48_000, "fact-differs", 20)
    assert "48000 frames, the file has 47999" in fault.text


def test_only_rf64_may_leave_the_count_to_ds64() -> None:
    unstated = b"\xff" * 4

    assert fact.decode(unstated, frames=5, rf64=True) == (None, ())
    assert [fault.kind for fault in fact.decode(unstated, frames=5)[1]] == ["fact-differs"]
    assert [fault.kind for fault in fact.decode(OCTETS, frames=5, rf64=True)[1]] == ["fact-differs"]


def test_what_32_bits_cannot_hold_is_left_to_ds64() -> None:
    assert fact.encode(2**32 - 2) == b"\xfe\xff\xff\xff"
    assert fact.encode(2**32 - 1) == fact.encode(2**40) == b"\xff" * 4
    with pytest.raises(MaterialError, match="-1 frames"):
        fact.encode(-1)


@given(st.integers(0, 2**32 - 1))
def test_what_is_written_is_read_back(frames: int) -> None:
    assert fact.decode(fact.encode(frames), frames=frames) == (frames, ())


@given(st.binary(max_size=8), st.none() | st.integers(0, 2**32))
def test_no_octets_whatever_raise(payload: bytes, frames: int | None) -> None:
    found, damage = fact.decode(payload, frames=frames)

    assert (found is None) == (len(payload) < 4)
    assert found is not None or damage
