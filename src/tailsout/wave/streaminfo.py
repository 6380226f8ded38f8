"""The STREAMINFO block of a FLAC file: format, length and digest of the audio.

RFC 9639 §8.2, from memory: 34 octets, big-endian, packed by bits:

    u16 smallest block · u16 largest block · u24 smallest frame · u24 largest frame ·
    20 bits rate · 3 bits channels - 1 · 5 bits bits - 1 · 36 bits samples a channel · MD5
"""

from collections.abc import Iterator
from dataclasses import dataclass

from tailsout.ground.damage import Damage
from tailsout.ground.pcm import Pcm
from tailsout.ground.units import counted

OCTETS = 34
MD5_OFFSET = 18
MAX_FRAMES = (1 << 36) - 1
"""Most samples a channel that can be stated."""

BITS = (8, 16, 24)
"""Bits of a sample that libsndfile writes; the format has more."""
FRAME_BITS = {8: 1, 12: 2, 16: 4, 20: 5, 24: 6, 32: 7}
"""How a frame's header states bits of a sample (§9.1.4); 0 refers to STREAMINFO."""
MAX_CHANNELS = 8
MAX_RATE_HZ = 655_350
_ANY_RATE_HZ = 65_535
"""Up to here any rate can stand in a frame's header, beyond it only tens of hertz (§9.1.2)."""

_SMALLEST_BLOCK = 16
_FEWEST_BITS = 4


@dataclass(frozen=True, slots=True, kw_only=True)
class StreamInfo:
    """What the block states."""

    min_block: int
    """Samples a channel in the smallest block but the last."""
    max_block: int
    min_frame: int
    """Octets; 0 if not stated."""
    max_frame: int
    sample_rate_hz: int
    channels: int
    bits: int
    frames: int
    """Samples a channel; 0 if not stated."""
    md5: str
    """Of the samples, hex; empty if not stated."""

    @property
    def pcm(self) -> Pcm | None:
        """The format of the samples in a wave file; None where it is contradictory."""
        if not self.sample_rate_hz or self.bits < _FEWEST_BITS:
            return None
        return Pcm(
            is_float=False,
            sample_rate_hz=self.sample_rate_hz,
            channels=self.channels,
            container_bits=(self.bits + 7) // 8 * 8,
            valid_bits=self.bits,
        )


def decode(payload: bytes, *, offset: int = 0) -> tuple[StreamInfo | None, tuple[Damage, ...]]:
    """Read the payload that lies at `offset` in the file; None where it is too short.

    Damage tells of figures that contradict each other, and of what is not stated.
    """
    if len(payload) < OCTETS:
        return None, ()
    packed = int.from_bytes(payload[10:MD5_OFFSET], "big")
    md5 = payload[MD5_OFFSET:OCTETS]
    info = StreamInfo(
        min_block=int.from_bytes(payload[:2], "big"),
        max_block=int.from_bytes(payload[2:4], "big"),
        min_frame=int.from_bytes(payload[4:7], "big"),
        max_frame=int.from_bytes(payload[7:10], "big"),
        sample_rate_hz=packed >> 44,
        channels=(packed >> 41 & 0x7) + 1,
        bits=(packed >> 36 & 0x1F) + 1,
        frames=packed & MAX_FRAMES,
        md5=md5.hex() if any(md5) else "",
    )
    return info, tuple(_judged(info, offset))


def _judged(info: StreamInfo, offset: int) -> Iterator[Damage]:
    for fault in _contradictions(info):
        yield Damage(kind="flac-streaminfo", offset=offset, text=fault)
    if not info.frames:
        text = "The file does not state how long it is; its samples must be counted."
        yield Damage(kind="flac-length-unstated", offset=offset + 13, text=text)
    if not info.md5:
        text = "The file states no MD5 of its samples; whether they are whole cannot be proved."
        yield Damage(kind="flac-md5-unstated", offset=offset + MD5_OFFSET, text=text)


def _contradictions(info: StreamInfo) -> Iterator[str]:
    if not _SMALLEST_BLOCK <= info.min_block <= info.max_block:
        yield (
            f"The smallest block is said to have {info.min_block} samples, the largest "
            f"{info.max_block}; they must be 16 at least, and in that order."
        )
    if info.max_frame and info.min_frame > info.max_frame:
        yield (
            f"The smallest frame is said to have {info.min_frame} octets, the largest "
            f"{info.max_frame}."
        )
    if not info.sample_rate_hz:
        yield "The sample rate is said to be 0 Hz."
    if info.bits < _FEWEST_BITS:
        yield f"A sample is said to have {info.bits} bits, it must have {_FEWEST_BITS} at least."


def hindrance(octets: int, pcm: Pcm) -> str:
    """Say what FLAC does not hold of audio of so many octets; empty if it holds all."""
    frames, rest = divmod(octets, pcm.frame_octets)
    rate = pcm.sample_rate_hz
    if pcm.is_float or pcm.container_bits not in BITS:
        return f"{pcm.coding} (it takes integers of 8, 16 and 24 bits)"
    if pcm.channels > MAX_CHANNELS:
        return f"{pcm.channels} channels (it takes {MAX_CHANNELS})"
    if rate > MAX_RATE_HZ or (rate > _ANY_RATE_HZ and rate % 10):
        return f"a rate of {rate} Hz"
    if rest or not 0 < frames <= MAX_FRAMES:
        return f"{counted(frames, 'sample')} and {counted(rest, 'octet')}"
    return ""
