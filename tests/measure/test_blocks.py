from collections.abc import Callable

import numpy as np
import pytest

from tailsout.ground.errors import MaterialError
from tailsout.ground.pcm import Pcm
from tailsout.measure.blocks import Blocks, rails, refuse_unmeasurable

PcmOf = Callable[..., Pcm]


@pytest.mark.parametrize(
    ("bits", "other"),
    [
        (12, {}),
        (48, {}),
        (16, {"is_float": True}),
        (24, {"is_float": True}),
        (24, {"valid_bits": 0}),
        (24, {"valid_bits": 25}),
        (24, {"channels": 0}),
        (24, {"sample_rate_hz": 0}),
        (24, {"sample_rate_hz": 7_999}),
        (24, {"sample_rate_hz": 768_001}),
    ],
)
def test_what_cannot_be_measured_is_refused(
    pcm_of: PcmOf, bits: int, other: dict[str, int]
) -> None:
    with pytest.raises(MaterialError, match="cannot be measured"):
        refuse_unmeasurable(pcm_of(bits, **other))


@pytest.mark.parametrize(
    ("bits", "is_float"),
    [(8, False), (16, False), (24, False), (32, False), (32, True), (64, True)],
)
def test_what_can_be_measured_passes(pcm_of: PcmOf, bits: int, is_float: bool) -> None:
    refuse_unmeasurable(pcm_of(bits, is_float=is_float))


def test_rails_follow_the_valid_bits(pcm_of: PcmOf) -> None:
    assert rails(pcm_of(24)).tolist() == [-1.0, 1 - 2.0**-23]
    assert rails(pcm_of(24, valid_bits=20)).tolist() == [-1.0, 1 - 2.0**-19]
    assert rails(pcm_of(32, is_float=True)).tolist() == [-1.0, 1.0]


@pytest.mark.parametrize("frames", [1, 2, 3, 5])
def test_history_is_the_end_of_what_went_before(pcm_of: PcmOf, frames: int) -> None:
    blocks = Blocks(pcm_of(64, is_float=True, channels=1), history=3, frames=5)
    samples = np.arange(1.0, 31.0)
    for start in range(0, 30, frames):
        assert blocks.fill(samples[start : start + frames].tobytes()) == frames
        before = [0.0, 0.0, 0.0, *samples[:start]][-3:]
        assert blocks.planar[0, :3].tolist() == before
        assert blocks.planar[0, 3 : 3 + frames].tolist() == samples[start : start + frames].tolist()
        blocks.keep_history(frames)


@pytest.mark.parametrize("bits", [32, 64])
def test_wild_floats_are_counted_and_silent(pcm_of: PcmOf, bits: int) -> None:
    blocks = Blocks(pcm_of(bits, is_float=True, channels=2), history=1, frames=4)
    # The last is a signalling NaN, which raises a flag where it is converted.
    quiet = np.array([0.5, np.nan, np.inf, -np.inf, 1e31, -0.25, 1e29], f"<f{bits // 8}")
    signalling = "0100a07f" if bits == 32 else "010000000000f47f"
    blocks.fill(quiet.tobytes() + bytes.fromhex(signalling))
    assert blocks.non_finite == 5
    rounded = float(quiet[6])
    assert blocks.planar[:, 1:].tolist() == [[0.5, 0.0, 0.0, rounded], [0.0, 0.0, -0.25, 0.0]]
