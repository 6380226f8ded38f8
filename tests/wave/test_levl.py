"""The `levl` chunk, EBU Tech 3285 supplement 3: layout from memory."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tailsout.wave import levl
from tailsout.wave.levl import Levl

HEAD = (
    bytes.fromhex(
        "00000000"  # version
        "02000000"  # format: u16
        "01000000"  # points a value
        "00010000"  # block of 256 frames
        "02000000"  # channels
        "E8030000"  # 1000 peak frames
        "39300000"  # peak of peaks: frame 12345
        "80000000"  # offset to the peaks: 128
    )
    + b"2026:05:09:07:35:25:123\0\0\0\0\0"
    + bytes(60)
)
READ = Levl(
    version=0,
    bits=16,
    points_per_value=1,
    block_frames=256,
    channels=2,
    peak_frames=1000,
    peak_of_peaks=12_345,
    peaks_at=128,
    made="2026:05:09:07:35:25:123",
)


def test_the_head_is_read_and_the_peaks_are_not() -> None:
    assert levl.decode(HEAD) == (READ, ())
    assert levl.decode(HEAD + bytes(4000)) == (READ, ())


def test_a_peak_that_is_marked_unknown_is_none() -> None:
    found, damage = levl.decode(HEAD[:24] + b"\xff" * 4 + HEAD[28:])

    assert damage == ()
    assert found is not None
    assert found.peak_of_peaks is None


SPOILT = {
    "a format that is none": (HEAD[:4] + b"\3" + HEAD[5:], "levl-format", 4),
    "no points": (HEAD[:8] + b"\0" + HEAD[9:], "levl-format", 4),
    "a date outside ASCII": (HEAD[:32] + b"\xb2" + HEAD[33:], "levl-text", 32),
}


@pytest.mark.parametrize("name", SPOILT)
def test_one_thing_off_is_told(name: str) -> None:
    payload, kind, at = SPOILT[name]
    found, damage = levl.decode(payload, offset=60)

    assert [(fault.kind, fault.offset) for fault in damage] == [(kind, 60 + at)]
    assert found is not None
    assert found.block_frames == 256


def test_the_width_of_a_format_that_is_none_is_not_known() -> None:
    found, _ = levl.decode(HEAD[:4] + b"\3" + HEAD[5:])

    assert found is not None
    assert found.bits == 0


@pytest.mark.parametrize("end", range(levl.HEAD_OCTETS))
def test_cut_off_in_its_head_it_is_told(end: int) -> None:
    found, damage = levl.decode(HEAD[:end], offset=60)

    assert found is None
    assert [(fault.kind, fault.offset) for fault in damage] == [("levl-short", 60)]


@given(st.binary(max_size=200))
def test_no_octets_whatever_raise(payload: bytes) -> None:
    found, damage = levl.decode(payload)

    assert found is not None or damage
