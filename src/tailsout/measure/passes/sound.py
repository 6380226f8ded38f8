"""One pass of a recording as it can be read."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from tailsout.ground.pcm import Pcm
from tailsout.measure.blocks import Blocks
from tailsout.measure.kernels import Floats


@dataclass(frozen=True, slots=True, kw_only=True)
class Sound:
    """One pass as it can be read."""

    pcm: Pcm
    frames: int
    read: Callable[[int, int], bytes]
    """Position and number of frames → their octets."""
    advance: Callable[[int], None]
    """Told the octets of each block of the reading from end to end."""

    @property
    def seconds(self) -> float:
        """Its length."""
        return self.frames / self.pcm.sample_rate_hz

    def stretch(self, start_s: float, seconds: float) -> Floats:
        """Return samples from a time on, shape (channels, frames), silence beyond the ends."""
        rate = self.pcm.sample_rate_hz
        start, frames = round(start_s * rate), round(seconds * rate)
        first, last = max(0, start), min(self.frames, start + frames)
        found = np.zeros((self.pcm.channels, frames))
        if last > first:
            blocks = Blocks(self.pcm, history=0, frames=last - first)
            blocks.fill(self.read(first, last - first))
            found[:, first - start : last - start] = blocks.planar
        return found
