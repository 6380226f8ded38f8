"""What the samples of a file show: measured, never stated."""

from dataclasses import dataclass
from decimal import Decimal

from tailsout.records.vocab import GapKind


@dataclass(frozen=True, slots=True, kw_only=True)
class ClippedRun:
    """Consecutive samples at full scale in one channel."""

    channel: int
    """1-based."""
    start: int
    """Sample position in the file."""
    length: int
    """Samples."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ChannelFacts:
    """Facts about one channel."""

    sample_peak_dbfs: Decimal | None = None
    """dB re full scale, peak of a full-scale sine = 0; None if every sample is zero."""
    true_peak_dbtp: Decimal | None = None
    dc_offset_dbfs: Decimal | None = None
    """Size of the mean in dB re full scale; None if it is zero to the last digit."""
    clipped_runs: int = 0
    """How many runs of three or more equal samples at full scale."""
    flat_tops: int = 0
    """How many runs of three or more equal samples at the highest or the lowest sample of the
    channel, below full scale: cut off before this file was made. On a flat transfer it may be the
    recording."""
    rms_dbfs: Decimal | None = None
    """dB re the root mean square of a full-scale sine (IEC 61606); None if every sample is zero."""
    crest_db: Decimal | None = None
    """Peak over root mean square; of a sine 3.01."""
    noise_floor_dbfs: Decimal | None = None
    """Of the quietest steady half second; None if there is none that is not digital silence."""
    effective_bits: int | None = None
    """Bits in use, from the top; None of floats and of digital silence."""
    digital_silence_samples: int = 0
    """Samples in stretches of 1.25 ms of nothing but zeros."""
    dropouts: int = 0
    """How often the level falls more than 6 dB for more than 5 ms and comes back."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PairFacts:
    """What two neighbouring channels show of each other."""

    channel: int
    """1-based, the first of the two; the second is the next."""
    balance_db: Decimal | None = None
    """Level of the second less that of the first."""
    correlation: Decimal | None = None
    """Of the samples as they stand, from -1 to 1."""
    coherence: Decimal | None = None
    """0 to 1, whatever the delay; weighed by level."""
    delay_us: Decimal | None = None
    """Median over the seconds that show one; positive if the second channel is late."""
    delay_spread_us: Decimal | None = None
    """Half the distance between the 16th and the 84th percentile of these."""
    delay_seconds: int | None = None
    """How many seconds show one; None if none does."""
    rival_delay_us: Decimal | None = None
    """Another delay that fits nearly as well."""
    may_be_a_cycle_out: bool = False
    """The delay may be a period of the shared band beside the true one."""
    is_identical: bool = False
    """Every sample of one is that of the other, and not all are zero."""
    is_dual_mono: bool = False
    """Identical, or alike in level and wholly coherent: one track replayed by two head gaps."""
    is_inverted: bool = False
    """Possibly an inverted leg: the mean product of the two is negative."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Gap:
    """A stretch without programme, proposed as a border of regions."""

    start: int
    """Sample position in the file, to 20 ms."""
    end: int
    """The first sample after it."""
    kind: GapKind
    level_dbfs: Decimal | None = None
    """Of the loudest channel; None for digital silence."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Dropout:
    """A short loss of level that comes back."""

    channel: int
    """1-based."""
    start: int
    """Sample position in the file, to 1.25 ms."""
    length: int
    """Samples."""
    depth_db: Decimal
    """Lowest level of 5 ms below the mean of 50 ms before and after."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SpectralLine:
    """A steady line that is known from elsewhere."""

    frequency_hz: Decimal
    nominal_hz: Decimal
    """What it is near to: 15625 and 15734 Hz are television line rates, 19000 Hz a stereo pilot."""
    level_dbfs: Decimal
    above_floor_db: Decimal


@dataclass(frozen=True, slots=True, kw_only=True)
class HumLevel:
    """Level of hum in one channel."""

    channel: int
    """1-based."""
    level_dbfs: Decimal
    """All harmonics that stand out, together."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Hum:
    """One family of mains lines on quiet stretches: evidence, not proof."""

    mains_hz: int
    """50 or 60, the nearer one."""
    frequency_hz: Decimal
    """Of the family, from all its harmonics."""
    harmonics: int
    """How many stand out."""
    levels: tuple[HumLevel, ...]
    """Channels in which the family stands out."""
    start: int
    """Sample position of the quietest four seconds that show it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class RegionChannel:
    """One channel of a region."""

    rms_dbfs: Decimal | None = None
    noise_floor_dbfs: Decimal | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class RegionSound:
    """Facts of a part of a file, from the whole seconds that lie in it."""

    start: int
    """Sample position as asked for."""
    end: int
    """The first sample after it."""
    seconds: int
    """Whole seconds of the file's own grid that lie in it; none in a short one."""
    channels: tuple[RegionChannel, ...]
    pairs: tuple[PairFacts, ...] = ()
    bandwidth_hz: Decimal | None = None
    hum: tuple[Hum, ...] = ()
    hum_ratio: Decimal | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class RegionFacts:
    """What the samples of a file show of one stated region, or of the part of it in this file."""

    region: str
    """Id of the region."""
    side: str
    """Id of its side."""
    sound: RegionSound


@dataclass(frozen=True, slots=True, kw_only=True)
class AudioFacts:
    """What one read of the samples found. Rounded: 0.01 dB or LU."""

    frames: int
    sample_rate_hz: int
    essence_sha256: str
    """SHA-256 of the payload octets of the `data` chunk as declared."""
    channels: tuple[ChannelFacts, ...]
    sample_peak_dbfs: Decimal | None = None
    true_peak_dbtp: Decimal | None = None
    integrated_lufs: Decimal | None = None
    """None if no block passes the absolute gate."""
    range_lu: Decimal | None = None
    momentary_max_lufs: Decimal | None = None
    short_term_max_lufs: Decimal | None = None
    clipped_runs: tuple[ClippedRun, ...] = ()
    """The first hundred, in order of start."""
    non_finite_samples: int = 0
    """NaN or infinite samples in float audio; they were measured as zero."""
    pairs: tuple[PairFacts, ...] = ()
    """Of neighbouring channels."""
    gaps: tuple[Gap, ...] = ()
    """The longest hundred, in order of start."""
    dropouts: tuple[Dropout, ...] = ()
    """The first hundred of all channels, in order of start."""
    dropouts_a_minute: Decimal | None = None
    """Of the channel that has most; None of files shorter than a second."""
    bandwidth_hz: Decimal | None = None
    """Highest frequency that stands above the floor."""
    brick_wall_hz: Decimal | None = None
    """A sharp edge well below half the sample rate: perhaps a lossy or low-rate ancestor."""
    lines: tuple[SpectralLine, ...] = ()
    hum: tuple[Hum, ...] = ()
    """At most two families, the one nearer to its mains frequency first."""
    hum_ratio: Decimal | None = None
    """Where two families stand side by side: frequency of the second by that of the first. Evidence
    of replay speed by recording speed if the second is on the tape and the first in the chain."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Overview:
    """A file seen from afar, for plots: the same few columns whatever its length.

    In no side-car; what a side-car keeps of it is a `KeptOverview`.
    """

    seconds_a_column: Decimal
    low: tuple[tuple[float, ...], ...]
    """By channel and column: lowest sample, full scale 1.0."""
    high: tuple[tuple[float, ...], ...]
    """The same of the highest."""
    rms: tuple[tuple[float, ...], ...]
    """Root of the mean square, full scale 1.0."""
    bands_hz: tuple[float, ...]
    """Centres of the bands, equal steps of a logarithmic scale."""
    spectrogram: bytes
    """One octet a cell, column after column, bands rising: dB below a full-scale sine in the band,
    0 to 254; 255 where there is nothing."""


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptCourse:
    """The waveform of one channel: whole numbers, one a column, a blank between them.

    In ten-thousandths of full scale; 99999 is that or more.
    """

    low: str
    """Lowest sample of each column."""
    high: str
    """Highest sample of each column."""
    rms: str
    """Root of the mean square of each column."""


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptSpectrogram:
    """What sounds when, and how high: a line a band, the lowest first, of a number a column."""

    seconds_a_column: Decimal
    bands_hz: str
    """Centres of the bands, whole hertz, rising; a blank between them."""
    levels: tuple[str, ...]
    """Of each band: dB below a full-scale sine, 0 to 254, 255 where there is nothing."""


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptOverview:
    """A file seen from afar, as its side-car keeps it: enough to be drawn by hand on squared paper.

    The first column begins with the first sample; the last may reach beyond the end of the file.
    """

    seconds_a_column: Decimal
    """Of the waveform."""
    channels: tuple[KeptCourse, ...]
    spectrogram: KeptSpectrogram
