"""What the samples of a file show: measured, never stated."""

from dataclasses import dataclass
from decimal import Decimal


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


@dataclass(frozen=True, slots=True, kw_only=True)
class Overview:
    """A file seen from afar, for plots: the same few columns whatever its length.

    Not part of `AudioFacts` and in no side-car.
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
