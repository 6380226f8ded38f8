from collections.abc import Callable

import numpy as np
import pytest

from tailsout.ground.pcm import Pcm
from tailsout.measure.meters import Meters
from tailsout.records.sound import AudioFacts

PcmOf = Callable[..., Pcm]
OctetsOf = Callable[..., bytes]


def fed(octets: bytes, pcm: Pcm, sizes: list[int]) -> AudioFacts:
    """Feed pieces of these many frames in turn."""
    meters = Meters(pcm, frames=max(sizes))
    at = turn = 0
    while at < len(octets):
        piece = sizes[turn % len(sizes)] * pcm.frame_octets
        meters.take(octets[at : at + piece])
        at += piece
        turn += 1
    meters.close()
    return meters.facts("")


def programme(pcm: Pcm, frames: int) -> np.ndarray[tuple[int, int], np.dtype[np.float64]]:
    random = np.random.default_rng(3)
    level = np.repeat(10 ** random.uniform(-2, 0.1, frames // 100 + 1), 100)[:frames]
    return level[:, np.newaxis] * random.uniform(-1, 1, (frames, pcm.channels)) + 0.001


@pytest.mark.parametrize("sizes", [[1], [7, 480, 1, 3], [47], [46, 48], [1_009], [4_801], [25_000]])
@pytest.mark.parametrize(("coding", "rate"), [("24", 8_000), ("64 float", 8_000), ("16", 11_025)])
def test_the_size_of_pieces_changes_nothing(
    pcm_of: PcmOf, octets_of: OctetsOf, sizes: list[int], coding: str, rate: int
) -> None:
    pcm = pcm_of(int(coding[:2]), is_float="float" in coding, sample_rate_hz=rate)
    octets = octets_of(programme(pcm, 38_000), pcm)
    facts = fed(octets, pcm, sizes)
    assert facts == fed(octets, pcm, [38_000])
    assert facts.clipped_runs
    assert facts.range_lu is not None
    # One frame more must show, or the comparison above proves nothing.
    assert facts != fed(octets + octets[: pcm.frame_octets], pcm, sizes)


def test_many_channels_need_no_more_than_a_frame_at_a_time(pcm_of: PcmOf) -> None:
    pcm = pcm_of(16, channels=65_535)
    facts = fed(bytes([0, 0x40]) * (65_535 * 3), pcm, [1])
    assert facts.frames == 3
    assert len(facts.channels) == 65_535
    assert str(facts.sample_peak_dbfs) == "-6.02"
