"""Any stretch of a file's samples, block by block, as often as it is wanted."""

from collections.abc import Callable, Iterator
from typing import BinaryIO

from tailsout.ground.errors import SurroundingsError, from_os_error
from tailsout.ground.pcm import Pcm
from tailsout.measure.blocks import Blocks, refuse_unmeasurable
from tailsout.measure.kernels import Floats

_OCTETS = 1 << 20


class Samples:
    """The samples of one open wave file."""

    def __init__(
        self,
        stream: BinaryIO,
        pcm: Pcm,
        *,
        data_offset: int,
        data_octets: int,
        advance: Callable[[int], None],
    ) -> None:
        """`advance` is told the octets of each read. Raises MaterialError for unknown samples."""
        refuse_unmeasurable(pcm)
        self._stream = stream
        self._offset = data_offset
        self._advance = advance
        self._step = max(1, _OCTETS // pcm.frame_octets)
        self._blocks = Blocks(pcm, history=0, frames=self._step)
        self.pcm = pcm
        self.frames = data_octets // pcm.frame_octets
        """Whole frames of the file."""

    @property
    def non_finite(self) -> int:
        """Samples so far that were not numbers; each was taken as zero."""
        return self._blocks.non_finite

    def between(self, start: int, end: int) -> Iterator[Floats]:
        """Yield what lies between two positions, shape (channels, frames), each block once.

        A block is overwritten by the next. Raises SurroundingsError if it cannot be read.
        """
        width = self.pcm.frame_octets
        try:
            self._stream.seek(self._offset + start * width)
            while start < end:
                frames = min(self._step, end - start)
                self._blocks.fill(self._read(frames * width))
                self._advance(frames * width)
                yield self._blocks.planar[:, :frames]
                start += frames
        except OSError as error:
            raise from_os_error(error, "Reading the audio") from error

    def _read(self, octets: int) -> bytes:
        block = self._stream.read(octets)
        while len(block) < octets:
            more = self._stream.read(octets - len(block))
            if not more:
                raise SurroundingsError(
                    "The file became shorter while it was read.",
                    "Wait until whatever writes it has finished, then run the same command again.",
                )
            block += more
        return block
