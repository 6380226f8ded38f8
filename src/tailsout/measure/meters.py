"""All meters on one stream of sample octets."""

from decimal import Decimal

from tailsout.ground.pcm import Pcm
from tailsout.measure.blocks import Blocks
from tailsout.measure.levels import decibels
from tailsout.measure.loudness import Loudness
from tailsout.measure.peaks import HISTORY, Peaks
from tailsout.records.sound import AudioFacts, ChannelFacts


class Meters:
    """Takes sample octets in pieces of any size and tells the facts at the end."""

    def __init__(self, pcm: Pcm, *, frames: int) -> None:
        """`frames`: most in a piece. Raises MaterialError if such samples cannot be measured."""
        most = max(frames, HISTORY)
        self._pcm = pcm
        self._blocks = Blocks(pcm, history=HISTORY, frames=most)
        self._loudness = Loudness(pcm, frames=most)
        self._peaks = Peaks(pcm)
        self._frames = 0

    def take(self, octets: bytes | bytearray | memoryview) -> None:
        """Take in the next whole frames."""
        frames = self._blocks.fill(octets)
        self._loudness.take(self._blocks.planar, HISTORY, frames)
        self._peaks.take(self._blocks.planar, frames)
        self._blocks.keep_history(frames)
        self._frames += frames

    def facts(self, essence_sha256: str) -> AudioFacts:
        """Close the meters, once, and return what they found."""
        # The silence lets the interpolation reach the last sample and ends a run at the end.
        self._blocks.fill_silence(HISTORY)
        self._peaks.take(self._blocks.planar, HISTORY)
        channels = self._channels()
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
        )

    def _channels(self) -> tuple[ChannelFacts, ...]:
        peaks = self._peaks
        offsets = peaks.offsets(max(self._frames, 1))
        return tuple(
            ChannelFacts(
                sample_peak_dbfs=decibels(float(peaks.sample[c])),
                true_peak_dbtp=decibels(float(peaks.true[c])),
                dc_offset_dbfs=decibels(abs(float(offsets[c]))),
                clipped_runs=int(peaks.run_counts[c]),
            )
            for c in range(self._pcm.channels)
        )


def _highest(levels: list[Decimal | None]) -> Decimal | None:
    return max((level for level in levels if level is not None), default=None)
