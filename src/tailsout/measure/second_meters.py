"""All meters that are fed by the second, and what they found."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from tailsout.ground.pcm import Pcm
from tailsout.measure.band import brick_wall, known_lines
from tailsout.measure.dropouts import Dropouts
from tailsout.measure.gaps import find_gaps, hiss_code
from tailsout.measure.hum import ratio
from tailsout.measure.kernels import Singles
from tailsout.measure.levels import hundredths
from tailsout.measure.overview import OverviewMeter
from tailsout.measure.seconds import MOST_CHANNELS, Analyser
from tailsout.measure.stretch import Stretch
from tailsout.measure.trace import Trace
from tailsout.records.sound import Dropout, Gap, Hum, Overview, PairFacts, RegionSound, SpectralLine


@dataclass(frozen=True, slots=True, kw_only=True)
class SecondFacts:
    """Facts of a file that need more than a sample at a time."""

    pairs: tuple[PairFacts, ...] = ()
    gaps: tuple[Gap, ...] = ()
    dropouts: tuple[Dropout, ...] = ()
    dropouts_a_minute: Decimal | None = None
    bandwidth_hz: Decimal | None = None
    brick_wall_hz: Decimal | None = None
    lines: tuple[SpectralLine, ...] = ()
    hum: tuple[Hum, ...] = ()
    hum_ratio: Decimal | None = None


class SecondMeters:
    """Meters fed with every second of a file once."""

    def __init__(self, pcm: Pcm, regions: Sequence[tuple[int, int]] = ()) -> None:
        """`regions`: first sample, and the first after it, of parts to be told of by themselves."""
        self._analyser = Analyser(pcm)
        self._frames = 0
        self._stretch = Stretch(pcm.channels, self._analyser)
        self._parts = [
            (start, end, Stretch(pcm.channels, self._analyser)) for start, end in regions
        ]
        self._dropouts = Dropouts(pcm.channels, pcm.sample_rate_hz)
        self._overview = OverviewMeter(pcm.channels, self._analyser)
        self.trace = Trace()

    def take(self, second: Singles, first: int) -> None:
        """Take in a second, shape (channels, frames), that begins at sample `first`."""
        analysis = self._analyser.analyse(second, first)
        self._frames = first + analysis.frames
        self._stretch.take(analysis)
        self.trace.take(analysis)
        self._dropouts.take(analysis)
        self._overview.take(analysis)
        if analysis.frames < self._analyser.rate:
            return
        for start, end, part in self._parts:
            if start <= first and first + analysis.frames <= end:
                part.take(analysis)

    @property
    def whole(self) -> Stretch:
        """All of the file."""
        return self._stretch

    def dropouts_of(self, channel: int) -> int:
        """Return how many dropouts a channel has."""
        return int(self._dropouts.counts[channel])

    def facts(self) -> SecondFacts:
        """Return what was found."""
        rate = self._analyser.rate
        levels = self.trace.levels
        hiss = hiss_code(levels)
        mean = self._stretch.mean_spectrum()
        hum = self._stretch.windows.families()
        is_enough = self._frames >= rate
        a_minute = int(self._dropouts.counts.max(initial=0)) * 60 * rate / max(self._frames, 1)
        return SecondFacts(
            pairs=self._stretch.pairs(),
            gaps=find_gaps(levels, rate, self._frames),
            dropouts=self._dropouts.first_ones(),
            dropouts_a_minute=hundredths(a_minute) if is_enough else None,
            bandwidth_hz=self._stretch.bandwidth(None if hiss is None else -hiss / 2.0),
            brick_wall_hz=None if mean is None else brick_wall(mean, self._analyser.bin_hz),
            lines=() if mean is None else known_lines(mean, self._analyser.bin_hz),
            hum=hum,
            hum_ratio=ratio(hum),
        )

    def regions(self) -> tuple[RegionSound, ...]:
        """Return the facts of each part asked for, in the order asked for."""
        return tuple(part.region(start, end) for start, end, part in self._parts)

    def overview(self) -> Overview:
        """Return the whole file in a few columns."""
        return self._overview.overview()


def fits(pcm: Pcm) -> bool:
    """Tell whether a second of such samples fits in memory."""
    return pcm.channels <= MOST_CHANNELS
