"""What a reading of line-up tones shows: a calibration tape's, or those a reel brought along."""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal

from tailsout.records.machine import Tone
from tailsout.records.vocab import ToneFit, TurningPart


@dataclass(frozen=True, slots=True, kw_only=True)
class ToneLevel:
    """One tone on one channel."""

    channel: int
    """1-based."""
    level_dbfs: Decimal | None = None
    """dB re a full-scale sine; None where the channel does not hold the tone."""
    relative_db: Decimal | None = None
    """dB re the reference tone on this channel."""
    deviation_db: Decimal | None = None
    """What `relative_db` differs from the certificate by, its own deviation counted, dB."""
    is_within: bool | None = None
    """Whether the deviation is within the certificate's tolerance; None if it gives none."""
    balance_db: Decimal | None = None
    """dB re channel 1, which has none."""
    phase_deg: Decimal | None = None
    """Against channel 1, which has none; -180 to 180, positive where this channel lags."""
    may_be_fringing: bool = False
    """Whether a long wavelength reads high as from a head narrower than the track."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FoundTone:
    """One tone as found in the capture."""

    start: int
    """Sample position, to the nearest 50 ms."""
    end: int
    """Sample position after the last one."""
    frequency_hz: Decimal
    """Mean frequency, 0.1 Hz."""
    channels: tuple[ToneLevel, ...]
    """One entry a channel."""
    number: int | None = None
    """Which of the tape's tones it is, counted from 1; None if it is none of them."""
    listed: Tone | None = None
    """That tone, as the certificate gives it."""
    speed_error_percent: Decimal | None = None
    """From this tone alone; positive where the tape runs fast. 0.0001 %."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ToneAzimuth:
    """What the phase of several tones says of one channel's gap against channel 1's."""

    delay_us: Decimal
    """How much later than channel 1, µs, to 0.01: a straight line of phase through zero."""
    residual_deg: Decimal
    """Root mean square of what the line leaves, degrees."""
    highest_hz: Decimal
    """The highest tone it rests on."""
    tones: int
    """How many tones it rests on."""
    arc_minutes: Decimal | None = None
    """Angle of the gaps for the spacing of the tracks, to 0.01; None without spacing or speed."""
    spacing_mm: Decimal | None = None
    """From track centre to track centre, millimetres, as stated of the head."""
    may_be_a_cycle_out: bool = False
    """Whether another delay fits the tones about as well."""
    is_inverted: bool = False
    """Whether the line begins at half a cycle: consistent with one leg turned over."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ResponseFit:
    """The response of one channel, taken apart into replay curve and spacing."""

    t2_us: Decimal
    """High-frequency time constant that the replay seems to have, µs, to 0.1."""
    trim_db: Decimal
    """What that differs from the tape's own curve by at 10 kHz re the reference tone, dB."""
    spacing_um: Decimal
    """Distance of tape and head that fits the rest, µm, to 0.01; below 0: brighter than clean."""
    residual_db: Decimal
    """Root mean square of what the fit leaves, dB."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ToneChannel:
    """What all tones together say of one channel."""

    channel: int
    """1-based."""
    reference_dbfs: Decimal | None = None
    """Level of the reference tone, dB re a full-scale sine."""
    balance_db: Decimal | None = None
    """The same re channel 1, which has none."""
    azimuth: ToneAzimuth | None = None
    """Against channel 1; None for that one, and where no two tones can be used."""
    response: ResponseFit | None = None
    """None where too few tones or no curve are known."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FlutterLine:
    """One rate at which the speed swings."""

    frequency_hz: Decimal
    """0.01 Hz."""
    depth_percent: Decimal
    """± per cent, peak, unweighted."""
    diameter_mm: Decimal | None = None
    """Of a part that turns once a swing with the tape on its rim; None without a speed."""
    consistent_with: tuple[TurningPart, ...] = ()
    """Parts that could turn so: evidence, not proof."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FlutterFacts:
    """How steady the speed is."""

    channel: int
    """The channel it was read on."""
    start: int
    """Sample position where the reading begins."""
    end: int
    """Sample position after the last one."""
    frequency_hz: Decimal
    """Mean frequency of the tone, 0.1 Hz."""
    weighted_percent: Decimal
    """± per cent, weighted, 2-sigma style."""
    weighted_rms_percent: Decimal
    unweighted_rms_percent: Decimal
    """0.3 to 200 Hz."""
    drift_percent: Decimal
    """How much faster the end is than the beginning, by a straight line."""
    lines: tuple[FlutterLine, ...] = ()
    """The strongest ten at most, by depth."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ToneFacts:
    """A reading of line-up tones. Rounded: 0.01 dB, 0.1 Hz, 0.0001 %."""

    frames: int
    sample_rate_hz: int
    tones: tuple[FoundTone, ...]
    """In order of start."""
    channels: tuple[ToneChannel, ...]
    """One entry a channel."""
    methods: Mapping[str, str]
    """How each figure was measured, by its key."""
    tape: str | None = None
    """Id of the calibration tape; None for tones that the reel itself brought along."""
    fit: ToneFit | None = None
    """Whether these are the tape's tones; only where they fit is anything held against the
    certificate. None without a tape, or with one whose certificate lists no tones."""
    reference: int | None = None
    """Which of `tones` is the reference tone, counted from 1."""
    speed_error_percent: Decimal | None = None
    """Of the speed tone, else the median of all; positive where the tape runs fast."""
    missing: tuple[Tone, ...] = ()
    """Tones of the certificate that were not found."""
    flutter: FlutterFacts | None = None
    non_finite_samples: int = 0
    """NaN or infinite samples in float audio; they were measured as zero."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FlutterTrace:
    """The course of the speed and its swings, for plots: a few thousand points whatever its length.

    Not part of `ToneFacts` and in no side-car.
    """

    seconds_a_point: Decimal
    low: tuple[float, ...]
    """Lowest deviation of the speed within each point, per cent, unweighted, drift included."""
    high: tuple[float, ...]
    """The same of the highest."""
    rates_hz: tuple[float, ...]
    """Rates of the spectrum, rising."""
    depth_percent: tuple[float, ...]
    """± per cent, peak, at each rate."""
