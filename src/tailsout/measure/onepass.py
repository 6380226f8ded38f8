"""One streaming read of a wave file that feeds digests and all meters.

Four lanes overlap: this thread reads, one hashes, one measures samples, one looks at whole seconds;
`hashlib` and the kernels release the interpreter lock. A few blocks are under way at most, so
memory does not grow with the file.
Deliberately not here: finding the `data` chunk; the caller has walked the file.
"""

import hashlib
from collections import deque
from collections.abc import Callable, Iterable, Iterator, Sequence
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass, field
from typing import BinaryIO

from tailsout.ground.errors import MaterialError, SurroundingsError, from_os_error
from tailsout.ground.pcm import Pcm
from tailsout.measure.blocks import refuse_unmeasurable
from tailsout.measure.coarse import coarsened
from tailsout.measure.kernels import Singles
from tailsout.measure.meters import Meters
from tailsout.measure.trace import Trace
from tailsout.records.echo import PrintThrough
from tailsout.records.sound import AudioFacts, KeptOverview, Overview, RegionSound

BLOCK_OCTETS = 1 << 18
"""Octets to read at a time: as samples they still fit in a core's cache."""

_UNDER_WAY = 8
_SECONDS_UNDER_WAY = 2


@dataclass(frozen=True, slots=True, kw_only=True)
class Measured:
    """What one read of a wave file gave."""

    facts: AudioFacts
    capture_sha256: str
    """SHA-256 of the whole file."""
    regions: tuple[RegionSound, ...] = ()
    """Of each region asked for, in that order."""
    print_through: PrintThrough | None = None
    """None if it was not looked for."""
    overview: Overview | None = None
    """None with more than 32 channels."""
    kept_overview: KeptOverview | None = None
    """What a side-car keeps of it; None of a file without a sample too."""
    trace: Trace | None = field(default=None, compare=False, repr=False)
    """What each second showed; None with more than 32 channels."""


def measure(
    stream: BinaryIO,
    pcm: Pcm,
    *,
    data_offset: int,
    data_octets: int,
    file_octets: int,
    advance: Callable[[int], None],
    regions: Sequence[tuple[int, int]] = (),
    turns: tuple[float, float] | None = None,
) -> Measured:
    """Read a wave file once, from its first octet, and return digests and levels.

    `data_offset` and `data_octets` say where the payload of `data` lies, in octets; a last
    incomplete frame is hashed and not measured. `advance` is told the octets of each block read.
    `regions`: first sample, and the first after it, of parts to be told of by themselves.
    `turns`: shortest and longest turn of the reel, seconds, if print-through is to be looked for.
    Raises MaterialError for samples that cannot be measured or a payload beyond the end of the
    file, SurroundingsError if the file is not `file_octets` long any more or cannot be read.
    """
    if data_offset < 0 or data_octets < 0 or data_offset + data_octets > file_octets:
        raise MaterialError(
            "The data chunk does not lie within the file.",
            "Measure only as much of it as the file holds.",
        )
    refuse_unmeasurable(pcm)
    frames = max(1, BLOCK_OCTETS // pcm.frame_octets)
    whole = hashlib.sha256(usedforsecurity=False)
    essence = hashlib.sha256(usedforsecurity=False)
    under_way: deque[Future[None]] = deque()
    stretches = (
        (data_offset, BLOCK_OCTETS, False),
        (data_octets, frames * pcm.frame_octets, True),
        (file_octets - data_offset - data_octets, BLOCK_OCTETS, False),
    )
    with (
        ThreadPoolExecutor(1, "seconds") as looking,
        ThreadPoolExecutor(1, "digest") as hashing,
        ThreadPoolExecutor(1, "meters") as measuring,
    ):
        lane = _Lane(looking)
        meters = Meters(pcm, frames=frames, regions=regions, turns=turns, hand=lane.hand)
        for block, is_data in _blocks(stream, stretches):
            under_way.append(hashing.submit(_hash, block, (whole, essence)[: 1 + is_data]))
            measured = len(block) // pcm.frame_octets * pcm.frame_octets if is_data else 0
            if measured:
                under_way.append(measuring.submit(meters.take, memoryview(block)[:measured]))
            while len(under_way) > _UNDER_WAY:
                under_way.popleft().result()
            advance(len(block))
        for one in under_way:
            one.result()
        meters.close()
        lane.close()
    overview = meters.overview()
    return Measured(
        facts=meters.facts(essence.hexdigest()),
        capture_sha256=whole.hexdigest(),
        regions=meters.regions(),
        print_through=meters.print_through(),
        overview=overview,
        kept_overview=coarsened(overview) if overview is not None else None,
        trace=meters.second_meters.trace if meters.second_meters is not None else None,
    )


class _Lane:
    """Has seconds looked at by another thread, a few of them waiting at most."""

    def __init__(self, pool: ThreadPoolExecutor) -> None:
        self._pool = pool
        self._under_way: deque[Future[None]] = deque()

    def hand(self, take: Callable[[Singles, int], None], second: Singles, first: int) -> None:
        """Hand on a second."""
        self._under_way.append(self._pool.submit(take, second, first))
        while len(self._under_way) > _SECONDS_UNDER_WAY:
            self._under_way.popleft().result()

    def close(self) -> None:
        """Wait for the last."""
        while self._under_way:
            self._under_way.popleft().result()


def _blocks(
    stream: BinaryIO, stretches: Iterable[tuple[int, int, bool]]
) -> Iterator[tuple[bytes, bool]]:
    """Yield the whole stream; a stretch is its octets, the most in a block, and a mark."""
    try:
        stream.seek(0)
        for octets, most, mark in stretches:
            left = octets
            while left:
                block = _read(stream, min(most, left))
                left -= len(block)
                yield block, mark
        if stream.read(1):
            raise _changed()
    except OSError as error:
        raise from_os_error(error, "Reading the audio") from error


def _read(stream: BinaryIO, octets: int) -> bytes:
    block = stream.read(octets)
    while len(block) < octets:
        more = stream.read(octets - len(block))
        if not more:
            raise _changed()
        block += more
    return block


def _changed() -> SurroundingsError:
    return SurroundingsError(
        "The file changed its length while it was read.",
        "Wait until whatever writes it has finished, then run the same command again.",
    )


def _hash(block: bytes, digests: Iterable["hashlib._Hash"]) -> None:
    for one in digests:
        one.update(block)
