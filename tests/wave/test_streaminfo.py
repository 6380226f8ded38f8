"""STREAMINFO by RFC 9639 §8.2, from memory; tests/outside asks another reader of FLAC."""

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tailsout.ground.pcm import Pcm
from tailsout.wave.streaminfo import MAX_FRAMES, StreamInfo, decode

# 96000 is 17700; 2 channels are 001 and 24 bits 10111, together 37; 12000 samples are 2EE0.
WHOLE = bytes.fromhex("1000 1000 00000E 00465C  1770037000002EE0  000102030405060708090A0B0C0D0E0F")


def kinds(payload: bytes) -> list[str]:
    return [fault.kind for fault in decode(payload)[1]]


def test_the_fields_bit_by_bit() -> None:
    assert decode(WHOLE) == (
        StreamInfo(
            min_block=4096,
            max_block=4096,
            min_frame=14,
            max_frame=18_012,
            sample_rate_hz=96_000,
            channels=2,
            bits=24,
            frames=12_000,
            md5="000102030405060708090a0b0c0d0e0f",
        ),
        (),
    )


@given(
    rate=st.integers(1, (1 << 20) - 1),
    channels=st.integers(1, 8),
    bits=st.integers(4, 32),
    frames=st.integers(1, MAX_FRAMES),
)
def test_any_figures_come_back(flac: Any, rate: int, channels: int, bits: int, frames: int) -> None:
    info, damage = decode(flac.info(rate, channels, bits, frames, md5=b"\1" * 16))

    assert damage == ()
    assert info is not None
    assert (info.sample_rate_hz, info.channels, info.bits) == (rate, channels, bits)
    assert info.frames == frames


@pytest.mark.parametrize(("bits", "container"), [(4, 8), (8, 8), (12, 16), (20, 24), (32, 32)])
def test_a_wave_file_takes_whole_octets_a_sample(flac: Any, bits: int, container: int) -> None:
    info, _ = decode(flac.info(bits=bits))

    assert info is not None
    assert info.pcm == Pcm(
        is_float=False,
        sample_rate_hz=48_000,
        channels=2,
        container_bits=container,
        valid_bits=bits,
    )


@pytest.mark.parametrize(
    ("changed", "expected"),
    [
        ({"frames": 0}, ["flac-length-unstated"]),
        ({"md5": bytes(16)}, ["flac-md5-unstated"]),
        ({"rate": 0}, ["flac-streaminfo"]),
        ({"bits": 3}, ["flac-streaminfo"]),
        ({"blocks": (15, 16)}, ["flac-streaminfo"]),
        ({"blocks": (17, 16)}, ["flac-streaminfo"]),
        ({"blocks": (16, 65_535)}, []),
        ({"sizes": (2, 1)}, ["flac-streaminfo"]),
        ({"sizes": (2, 0)}, []),
        ({"frames": MAX_FRAMES}, []),
    ],
)
def test_what_is_contradictory_or_unstated(
    flac: Any, changed: dict[str, Any], expected: list[str]
) -> None:
    assert kinds(flac.info(**{"md5": b"\1" * 16, **changed})) == expected


@pytest.mark.parametrize("changed", [{"rate": 0}, {"bits": 3}])
def test_a_format_that_cannot_be_is_none(flac: Any, changed: dict[str, Any]) -> None:
    info, _ = decode(flac.info(**changed))

    assert info is not None
    assert info.pcm is None


def test_a_block_that_is_too_short_gives_nothing() -> None:
    assert [decode(WHOLE[:octets]) for octets in range(34)] == [(None, ())] * 34
    assert decode(WHOLE + b"more") == decode(WHOLE)


def test_damage_lies_where_the_field_does() -> None:
    _, damage = decode(WHOLE[:14] + bytes(20), offset=1000)
    assert [(fault.kind, fault.offset) for fault in damage] == [
        ("flac-length-unstated", 1013),
        ("flac-md5-unstated", 1018),
    ]
