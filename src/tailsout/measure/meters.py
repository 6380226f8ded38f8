"""All meters on one stream of sample octets."""

import math
from collections.abc import Callable, Sequence
from dataclasses import replace
from decimal import Decimal

from tailsout.ground.pcm import Pcm
from tailsout.measure.blocks import Blocks
from tailsout.measure.echo import Echoes
from tailsout.measure.kernels import Singles
from tailsout.measure.levels import decibels, hundredths, sine_decibels
from tailsout.measure.loudness import Loudness
from tailsout.measure.peaks import HISTORY, Peaks
from tailsout.measure.second_meters import SecondFacts, SecondMeters, fits
from tailsout.measure.seconds import Seconds
from tailsout.records.echo import PrintThrough
from tailsout.records.sound import AudioFacts, ChannelFacts, Overview, RegionSound

_WORD_BITS = 32

Hand = Callable[[Callable[[Singles, int], None], Singles, int], None]
"""Has a second measured, here and now or by another thread, one after the other."""


def _here(take: Callable[[Singles, int], None], second: Singles, first: int) -> None:
    take(second, first)


class Meters:
    """Takes sample octets in pieces of any size and tells the facts at the end."""

    def __init__(
        self,
        pcm: Pcm,
        *,
        frames: int,
        regions: Sequence[tuple[int, int]] = (),
        turns: tuple[float, float] | None = None,
        hand: Hand = _here,
    ) -> None:
        """`frames`: most in a piece. `regions`: parts of the file to be told of by themselves.

        `turns`: shortest and longest turn of the reel, seconds, if print-through is looked for.
        Raises MaterialError if such samples cannot be measured.
        """
        most = max(frames, HISTORY)
        self._pcm = pcm
        self._blocks = Blocks(pcm, history=HISTORY, frames=most)
        self._loudness = Loudness(pcm, frames=most)
        self._peaks = Peaks(pcm)
        self._echoes = (
            Echoes(pcm.channels, pcm.sample_rate_hz, shortest_s=turns[0], longest_s=turns[1])
            if turns is not None
            else None
        )
        self._frames = 0
        self.second_meters: SecondMeters | None = None
        """None if there are too many channels for meters that are fed by the second."""
        if fits(pcm):
            second_meters = self.second_meters = SecondMeters(pcm, regions)
            self._seconds = Seconds(pcm, lambda second, at: hand(second_meters.take, second, at))

    def take(self, octets: bytes | bytearray | memoryview) -> None:
        """Take in the next whole frames."""
        frames = self._blocks.fill(octets)
        planar = self._blocks.planar
        if self.second_meters is not None:
            self._seconds.take(planar, HISTORY, frames)
        self._loudness.take(planar, HISTORY, frames)
        self._peaks.take(planar, frames)
        if self._echoes is not None:
            self._echoes.take(planar, HISTORY, frames)
        self._blocks.keep_history(frames)
        self._frames += frames

    def close(self) -> None:
        """Take in, once, the silence that lets the meters reach the last sample."""
        # It also ends a run at the end.
        self._blocks.fill_silence(HISTORY)
        self._peaks.take(self._blocks.planar, HISTORY, is_end=True)
        if self.second_meters is not None:
            self._seconds.close()

    def facts(self, essence_sha256: str) -> AudioFacts:
        """Return what closed meters found."""
        channels = self._channels()
        by_second = self.second_meters.facts() if self.second_meters is not None else SecondFacts()
        return AudioFacts(
            frames=self._frames,
            sample_rate_hz=self._pcm.sample_rate_hz,
            essence_sha256=essence_sha256,
            channels=channels,
            sample_peak_dbfs=_highest([one.sample_peak_dbfs for one in channels]),
            true_peak_dbtp=_highest([one.true_peak_dbtp for one in channels]),
            integrated_lufs=self._loudness.integrated,
            range_lu=self._loudness.range,
            momentary_max_lufs=self._loudness.momentary_max,
            short_term_max_lufs=self._loudness.short_term_max,
            clipped_runs=self._peaks.first_runs(),
            non_finite_samples=self._blocks.non_finite,
            pairs=by_second.pairs,
            gaps=by_second.gaps,
            dropouts=by_second.dropouts,
            dropouts_a_minute=by_second.dropouts_a_minute,
            bandwidth_hz=by_second.bandwidth_hz,
            brick_wall_hz=by_second.brick_wall_hz,
            lines=by_second.lines,
            hum=by_second.hum,
            hum_ratio=by_second.hum_ratio,
        )

    def regions(self) -> tuple[RegionSound, ...]:
        """Return the facts of each part asked for; none with too many channels."""
        return self.second_meters.regions() if self.second_meters is not None else ()

    def print_through(self) -> PrintThrough | None:
        """Return possible print-through, once; None if it was not looked for."""
        return self._echoes.found() if self._echoes is not None else None

    def overview(self) -> Overview | None:
        """Return the file seen from afar; None with too many channels."""
        return self.second_meters.overview() if self.second_meters is not None else None

    def _channels(self) -> tuple[ChannelFacts, ...]:
        return tuple(self._channel(c) for c in range(self._pcm.channels))

    def _channel(self, c: int) -> ChannelFacts:
        peaks = self._peaks
        offset = float(peaks.offset(c, max(self._frames, 1)))
        facts = ChannelFacts(
            sample_peak_dbfs=decibels(float(peaks.sample[c])),
            true_peak_dbtp=decibels(float(peaks.true[c])),
            dc_offset_dbfs=decibels(abs(offset)),
            clipped_runs=int(peaks.run_counts[c]),
            flat_tops=peaks.flat_tops(c),
            effective_bits=self._bits(c),
        )
        if self.second_meters is None:
            return facts
        whole = self.second_meters.whole
        rms = whole.rms(c)
        return replace(
            facts,
            rms_dbfs=sine_decibels(rms),
            crest_db=hundredths(10.0 * math.log10(peaks.sample[c] ** 2 / rms)) if rms else None,
            noise_floor_dbfs=whole.noise_floor(c),
            digital_silence_samples=int(whole.silent[c]),
            dropouts=self.second_meters.dropouts_of(c),
        )

    def _bits(self, c: int) -> int | None:
        seen = int(self._blocks.bits[c]) & 0xFFFFFFFF
        return None if not seen else _WORD_BITS - ((seen & -seen).bit_length() - 1)


def _highest(levels: list[Decimal | None]) -> Decimal | None:
    return max((level for level in levels if level is not None), default=None)
