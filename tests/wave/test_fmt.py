"""The `fmt ` chunk: RIFF 1991 chapter 3, WAVEFORMATEX, WAVEFORMATEXTENSIBLE."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tailsout.ground.errors import MaterialError
from tailsout.ground.pcm import Pcm
from tailsout.wave import fmt

STEREO_24 = bytes.fromhex(
    "0100"  # wFormatTag: PCM
    "0200"  # nChannels
    "00770100"  # nSamplesPerSec: 96000
    "00CA0800"  # nAvgBytesPerSec: 576000
    "0600"  # nBlockAlign
    "1800"  # wBitsPerSample
)
MONO_FLOAT = bytes.fromhex(
    "0300"  # wFormatTag: IEEE float
    "0100"  # nChannels
    "80BB0000"  # nSamplesPerSec: 48000
    "00EE0200"  # nAvgBytesPerSec: 192000
    "0400"  # nBlockAlign
    "2000"  # wBitsPerSample
    "0000"  # cbSize
)
SIX_20_IN_24 = bytes.fromhex(
    "FEFF"  # wFormatTag: EXTENSIBLE
    "0600"  # nChannels
    "80BB0000"  # nSamplesPerSec: 48000
    "002F0D00"  # nAvgBytesPerSec: 864000
    "1200"  # nBlockAlign
    "1800"  # wBitsPerSample: of the container
    "1600"  # cbSize
    "1400"  # wValidBitsPerSample
    "3F000000"  # dwChannelMask: 5.1
    "01000000 0000 1000 8000 00AA00389B71"  # SubFormat: PCM
)

SAMPLES = {
    STEREO_24: Pcm(
        is_float=False, sample_rate_hz=96_000, channels=2, container_bits=24, valid_bits=24
    ),
    MONO_FLOAT: Pcm(
        is_float=True, sample_rate_hz=48_000, channels=1, container_bits=32, valid_bits=32
    ),
    SIX_20_IN_24: Pcm(
        is_float=False,
        sample_rate_hz=48_000,
        channels=6,
        container_bits=24,
        valid_bits=20,
        channel_mask=0x3F,
    ),
}


def patched(payload: bytes, at: int, figure: int, octets: int = 2) -> bytes:
    return payload[:at] + figure.to_bytes(octets, "little") + payload[at + octets :]


@pytest.mark.parametrize("payload", SAMPLES)
def test_the_three_shapes_are_read_and_written(payload: bytes) -> None:
    assert fmt.decode(payload) == (SAMPLES[payload], ())
    assert fmt.encode(SAMPLES[payload]) == payload


@pytest.mark.parametrize("tail", [b"\0\0", bytes(24), b"\x02\0ab", bytes(2000)])
def test_what_follows_sixteen_octets_of_pcm_is_let_be(tail: bytes) -> None:
    assert fmt.decode(STEREO_24 + tail) == (SAMPLES[STEREO_24], ())


# One figure changed: what is told at which octet, and whether the format can still be relied on.
SPOILT = {
    "two octets": (STEREO_24[:2], "fmt-short", 0, False),
    "fifteen octets": (STEREO_24[:15], "fmt-short", 0, False),
    "EXTENSIBLE of 39 octets": (SIX_20_IN_24[:39], "fmt-short", 0, False),
    "rate 0": (patched(STEREO_24, 4, 0, 4), "fmt-inconsistent", 2, False),
    "channels 0": (patched(STEREO_24, 2, 0), "fmt-inconsistent", 2, False),
    "bits 0": (patched(STEREO_24, 14, 0), "fmt-inconsistent", 2, False),
    "align 0": (patched(STEREO_24, 12, 0), "fmt-inconsistent", 12, False),
    "align of another width": (patched(STEREO_24, 12, 8), "fmt-inconsistent", 12, False),
    "octets a second off": (patched(STEREO_24, 8, 576_001, 4), "fmt-byte-rate", 8, True),
    "4 GHz": (patched(STEREO_24, 4, 4_000_000_000, 4), "fmt-byte-rate", 8, True),
    "extension larger than the chunk": (STEREO_24 + b"\x16\0", "fmt-extension", 16, True),
    "cbSize of EXTENSIBLE not 22": (patched(SIX_20_IN_24, 16, 0), "fmt-extension", 16, True),
    "more valid bits than the container": (
        patched(SIX_20_IN_24, 18, 25),
        "fmt-valid-bits",
        18,
        True,
    ),
    "no valid bits": (patched(SIX_20_IN_24, 18, 0), "fmt-valid-bits", 18, True),
    "more loudspeakers than channels": (
        patched(SIX_20_IN_24, 20, 0x7F, 4),
        "fmt-mask",
        20,
        True,
    ),
    "MS ADPCM": (patched(STEREO_24, 0, 0x02), "fmt-coding", 0, False),
    "IMA ADPCM": (patched(STEREO_24, 0, 0x11), "fmt-coding", 0, False),
    "unknown tag": (patched(STEREO_24, 0, 0x7777), "fmt-coding", 0, False),
    "foreign GUID": (patched(SIX_20_IN_24, 39, 0x70, 1), "fmt-coding", 0, False),
    "compressed sub-format": (patched(SIX_20_IN_24, 24, 0x11), "fmt-coding", 0, False),
    "PCM of 40 bits": (patched(STEREO_24, 14, 40), "fmt-coding", 14, False),
    "float of 16 bits": (patched(MONO_FLOAT, 14, 16), "fmt-coding", 14, False),
}


@pytest.mark.parametrize("name", SPOILT)
def test_one_figure_off_is_told(name: str) -> None:
    payload, kind, at, reliable = SPOILT[name]
    pcm, damage = fmt.decode(payload, offset=20)

    assert [(fault.kind, fault.offset) for fault in damage] == [(kind, 20 + at)]
    assert (pcm is not None) == reliable


@pytest.mark.parametrize(("tail", "present"), [(b"\x01", 0), (b"\x16\0", 0), (b"\x16\0ab", 2)])
def test_an_extension_is_measured_by_what_is_there(tail: bytes, present: int) -> None:
    (fault,) = fmt.decode(STEREO_24 + tail)[1]

    assert f"there are {present}." in fault.text


def test_fewer_loudspeakers_than_channels_is_legal() -> None:
    pcm, damage = fmt.decode(patched(SIX_20_IN_24, 20, 0, 4))

    assert damage == ()
    assert pcm is not None
    assert pcm.channel_mask == 0


def test_stated_positions_need_the_extension_for_two_channels_too() -> None:
    payload = fmt.encode(replace(SAMPLES[STEREO_24], channel_mask=3))

    assert len(payload) == 40
    assert fmt.decode(payload) == (replace(SAMPLES[STEREO_24], channel_mask=3), ())
    assert len(fmt.encode(SAMPLES[STEREO_24])) == 16


def test_eight_bits_are_a_width_of_their_own() -> None:
    pcm, damage = fmt.decode(
        bytes.fromhex("0100 0100 80BB0000 80BB0000 0100 0800")  # mono, 48 kHz
    )

    assert damage == ()
    assert pcm is not None
    assert (pcm.container_bits, pcm.valid_bits, pcm.frame_octets) == (8, 8, 1)


def test_odd_widths_sit_in_the_next_whole_octet() -> None:
    pcm, damage = fmt.decode(patched(STEREO_24, 14, 20))

    assert damage == ()
    assert pcm is not None
    assert (pcm.container_bits, pcm.valid_bits) == (24, 20)


def test_a_frame_too_large_for_the_field_is_refused() -> None:
    wide = Pcm(
        is_float=False, sample_rate_hz=48_000, channels=30_000, container_bits=24, valid_bits=24
    )
    with pytest.raises(MaterialError, match="30000 channels"):
        fmt.encode(wide)


@given(
    is_float=st.booleans(),
    rate=st.integers(1, 384_000),
    channels=st.integers(1, 64),
    width=st.integers(0, 3),
    less=st.integers(0, 4),
    mask=st.none() | st.integers(0, 1),
)
def test_what_is_written_is_read_back(
    *, is_float: bool, rate: int, channels: int, width: int, less: int, mask: int | None
) -> None:
    bits = (32, 64)[width % 2] if is_float else (8, 16, 24, 32)[width]
    pcm = Pcm(
        is_float=is_float,
        sample_rate_hz=rate,
        channels=channels,
        container_bits=bits,
        valid_bits=bits if is_float else bits - less,
        channel_mask=mask,
    )
    found, damage = fmt.decode(fmt.encode(pcm))

    assert damage == ()
    assert found is not None
    assert (found.channel_mask or 0) == (pcm.channel_mask or 0)
    assert fmt.encode(found) == fmt.encode(pcm)
    assert (found.frame_octets, found.valid_bits, found.is_float, found.sample_rate_hz) == (
        pcm.frame_octets,
        pcm.valid_bits,
        is_float,
        rate,
    )


@given(st.binary(max_size=60))
def test_no_octets_whatever_raise(payload: bytes) -> None:
    pcm, damage = fmt.decode(payload)

    assert pcm is not None or damage
