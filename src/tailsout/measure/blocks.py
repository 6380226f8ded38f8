"""Octets of the `data` chunk to planar blocks of samples.

Layouts after the WAVE format: integers of 8 bits unsigned, wider ones signed, all left-justified
in their container; IEEE float of 32 or 64 bits. Full scale is 1.0 throughout.
"""

import numpy as np

from tailsout.ground.errors import MaterialError
from tailsout.ground.pcm import Pcm
from tailsout.measure import kernels
from tailsout.measure.kernels import Floats, Integers

LOWEST_RATE_HZ = 8_000
HIGHEST_RATE_HZ = 768_000

_WILD = 2.0**100
_FLOATS = {32: "<f4", 64: "<f8"}
_INTEGERS = (8, 16, 24, 32)


def refuse_unmeasurable(pcm: Pcm) -> None:
    """Raise MaterialError if the meters cannot read such samples."""
    known = pcm.container_bits in (_FLOATS if pcm.is_float else _INTEGERS)
    if not known or not 8 <= pcm.valid_bits <= pcm.container_bits:
        raise MaterialError(f"Samples of {pcm.coding} cannot be measured.", _REMEDY)
    if pcm.channels < 1:
        raise MaterialError("Audio of no channels cannot be measured.", _REMEDY)
    if not LOWEST_RATE_HZ <= pcm.sample_rate_hz <= HIGHEST_RATE_HZ:
        raise MaterialError(f"Audio at {pcm.sample_rate_hz} Hz cannot be measured.", _REMEDY)


_REMEDY = (
    "Look whether the fmt chunk is right; integers of 8 to 32 bits and floats of 32 or 64 bits"
    f" at {LOWEST_RATE_HZ} to {HIGHEST_RATE_HZ} Hz can."
)


def rails(pcm: Pcm) -> Floats:
    """Return the lowest and the highest sample of full scale, full scale being 1.0."""
    if pcm.is_float:
        return np.array([-1.0, 1.0])
    return np.array([-1.0, 1.0 - 2.0 ** (1 - pcm.valid_bits)])


class Blocks:
    """One planar block, filled again and again, that begins with the end of the one before."""

    def __init__(self, pcm: Pcm, *, history: int, frames: int) -> None:
        """`history`: frames kept from one block to the next. `frames`: most at a time."""
        refuse_unmeasurable(pcm)
        self._pcm = pcm
        self.history = history
        self.planar = np.zeros((pcm.channels, history + frames))
        """Shape (channels, history + frames); after `fill` the new samples follow the history."""
        self.bits: Integers = np.zeros(pcm.channels, np.int64)
        """Every bit seen set so far, samples taken as left-justified in 32 bits; integers only."""
        self.non_finite = 0
        """NaN and infinite samples so far, each set to zero. Beyond ±2**100, where squares and
        sums would leave the range of floats, counts as infinite."""

    def fill(self, octets: bytes | bytearray | memoryview) -> int:
        """Take in whole frames, at most `frames` of them, and return how many they were."""
        frames = len(octets) // self._pcm.frame_octets
        if self._pcm.is_float:
            self._fill_floats(octets, frames)
        else:
            raw = np.frombuffer(octets, np.uint8)
            width = self._pcm.container_bits // 8
            kernels.unpack_integers(raw, width, self.planar, self.history, frames, self.bits)
        return frames

    def fill_silence(self, frames: int) -> None:
        """Put silence after the history, as a converter plays when the file has ended."""
        self.planar[:, self.history : self.history + frames] = 0.0

    def keep_history(self, frames: int) -> None:
        """Move the end of a block of so many frames to the front, before the next is filled."""
        end = self.planar[:, frames : frames + self.history]
        self.planar[:, : self.history] = end.copy() if frames < self.history else end

    def _fill_floats(self, octets: bytes | bytearray | memoryview, frames: int) -> None:
        flat = np.frombuffer(octets, _FLOATS[self._pcm.container_bits])
        new = self.planar[:, self.history : self.history + frames]
        # A signalling NaN may raise a flag when it is widened; it is counted just below.
        with np.errstate(invalid="ignore"):
            new[:] = flat.reshape(frames, self._pcm.channels).T
        self.non_finite += kernels.silence_wild(self.planar, self.history, frames, _WILD)
