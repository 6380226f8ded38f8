"""Head and tape: azimuth, spacing, gap, coating, and a track of one width on a head of another.

Angles in arc-minutes, wavelength λ = v ÷ f. Losses in dB, negative: less than without.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from tailsout.tape.equalisation import flux_db
from tailsout.tape.geometry import speed_mm_s

MINUTE = math.pi / (180.0 * 60.0)
"""An arc-minute in radians."""
TRACK_WIDTHS_MM = {
    "full-track mono": 6.3,
    "half-track mono": 2.1,
    "half-track stereo": 2.0,
    "quarter-track stereo": 1.0,
    "quarter-track mono": 1.0,
}
"""Common ¼-inch widths by IEC 60094 (from memory); at least three standards of two-track exist."""


def wavelength_um(frequency_hz: float, speed_ips: float) -> float:
    """Return the recorded wavelength, µm. Raises ValueError."""
    return speed_mm_s(speed_ips) / _above(frequency_hz, "frequency") * 1000.0


def delay_us(minutes: float, spacing_mm: float, speed_ips: float) -> float:
    """Return how much later the second track comes: s·tan θ ÷ v, µs. Raises ValueError."""
    spacing = _above(spacing_mm, "track spacing")
    return spacing * math.tan(minutes * MINUTE) / speed_mm_s(speed_ips) * 1e6


def azimuth_minutes(delay: float, spacing_mm: float, speed_ips: float) -> float:
    """Return the angle that makes a delay in µs: atan(v·Δt ÷ s). Raises ValueError."""
    spacing = _above(spacing_mm, "track spacing")
    return math.atan(speed_mm_s(speed_ips) * delay * 1e-6 / spacing) / MINUTE


def phase_degrees(frequency_hz: float, delay: float) -> float:
    """Return the phase between two channels at a frequency: 360·f·Δt (delay in µs)."""
    return 360.0 * frequency_hz * delay * 1e-6


def mono_null_hz(delay: float) -> float:
    """Return where the sum of two channels vanishes first: 1 ÷ (2Δt). Raises ValueError for 0."""
    if delay == 0:
        raise ValueError("channels without delay have no null in their sum")
    return 1e6 / (2.0 * abs(delay))


def mono_loss_db(frequency_hz: float, delay: float) -> float:
    """Return what the sum of two channels loses: 20 lg|cos(π·f·Δt)|; delay in µs."""
    return _db(abs(math.cos(math.pi * frequency_hz * delay * 1e-6)))


def azimuth_loss_db(
    frequency_hz: float, minutes: float, width_mm: float, speed_ips: float
) -> float:
    """Return what one track loses by azimuth: sin z ÷ z, z = π·w·tan θ ÷ λ. Raises ValueError."""
    width = _above(width_mm, "track width")
    ratio = width * 1000.0 * math.tan(minutes * MINUTE) / wavelength_um(frequency_hz, speed_ips)
    return _sinc_db(math.pi * ratio)


def spacing_loss_db(frequency_hz: float, spacing_um: float, speed_ips: float) -> float:
    """Return the loss by distance: -54.575 dB × d ÷ λ (Wallace, from memory). Raises ValueError."""
    exponent = 2.0 * math.pi * spacing_um / wavelength_um(frequency_hz, speed_ips)
    return -20.0 * math.log10(math.e) * exponent


def thickness_loss_db(frequency_hz: float, coating_um: float, speed_ips: float) -> float:
    """Return the loss in the depth of the coating: 20 lg[(1 - e^-x) ÷ x], x = 2πδ ÷ λ (Wallace).

    Real tape exceeds it. Raises ValueError.
    """
    coating = _above(coating_um, "coating thickness")
    x = 2.0 * math.pi * coating / wavelength_um(frequency_hz, speed_ips)
    return _db(-math.expm1(-x) / x)


def gap_loss_db(frequency_hz: float, gap_um: float, speed_ips: float) -> float:
    """Return the loss of the gap: sin y ÷ y, y = π·1.11·g ÷ λ (Eargle's handbook, ch. 167).

    Raises ValueError.
    """
    gap = _above(gap_um, "gap")
    return _sinc_db(math.pi * 1.11 * gap / wavelength_um(frequency_hz, speed_ips))


def gap_null_hz(gap_um: float, speed_ips: float) -> float:
    """Return where a gap reads nothing first, Hz: λ = 1.11·g. Raises ValueError."""
    return speed_mm_s(speed_ips) * 1000.0 / (1.11 * _above(gap_um, "gap"))


def track_on_head_db(track_mm: float, head_mm: float) -> tuple[float, float]:
    """Return what a track loses on a head of another width: level and signal to noise, dB.

    A wider head reads less level and its noise beside; a narrower one reads the full level, less
    signal to noise, and low frequencies from beside (fringing). Derived. Raises ValueError.
    """
    track, head = _above(track_mm, "track width"), _above(head_mm, "head width")
    narrow, wide = min(track, head), max(track, head)
    level = 20.0 * math.log10(track / head) if head > track else 0.0
    return level, 10.0 * math.log10(narrow / wide)


def fringing_db(
    frequency_hz: float, core_mm: float, beside_mm: float, speed_ips: float
) -> tuple[float, float]:
    """Return how much too high a wider track reads at low frequencies, from … to, dB.

    First-order model per side with a share of 0.5 to 1; only to flag, never to correct: published
    experience is that calculation fails at the lowest frequencies (JAES 1978). Raises ValueError.
    """
    core, beside = _above(core_mm, "head width"), _above(beside_mm, "width beside the head")
    wavelength = wavelength_um(frequency_hz, speed_ips) / 1000.0
    reach = wavelength / (2.0 * math.pi) * -math.expm1(-2.0 * math.pi * beside / wavelength)
    low, high = (20.0 * math.log10((core + share * reach) / core) for share in (0.5, 1.0))
    return low, high


@dataclass(frozen=True, slots=True, kw_only=True)
class TrimOrSpacing:
    """What a series of tones says: how far the trim is off, and how far the tape from the head."""

    t2_us: float
    """High-frequency time constant at which the reproducer seems to stand."""
    spacing_um: float
    """Distance that fits the rest; below 0: brighter than a clean head."""
    residual_db: float
    """r.m.s. of what neither explains."""


def trim_or_spacing(
    response_db: Sequence[tuple[float, float]],
    curve: tuple[float | None, float],
    speed_ips: float,
) -> TrimOrSpacing | None:
    """Fit a trim of the curve and a spacing to readings (frequency in Hz, deviation in dB).

    Least squares with a free level. None for fewer than four tones, tones that do not reach 5 kHz,
    or no fit: gap and azimuth have shapes of their own. Raises ValueError for no curve or speed.
    """
    readings = [(f, d) for f, d in response_db if f >= _FIT_FROM_HZ]
    if len(readings) < _FEWEST or max(f for f, _ in readings) < _FIT_TO_AT_LEAST_HZ:
        return None
    t1, wanted = curve
    base = [flux_db(f, t1, wanted) for f, _ in readings]
    slopes = [spacing_loss_db(f, 1.0, speed_ips) for f, _ in readings]

    def left(t2: float) -> tuple[float, float]:
        """Best spacing for a time constant, and the sum of squares that is left."""
        # A reproducer that stands at t2 plays a tape of the wanted curve by their difference.
        rest = [
            d - (flat - flux_db(f, t1, t2)) for (f, d), flat in zip(readings, base, strict=True)
        ]
        slope = _slope(slopes, rest)
        mean = sum(r - slope * s for r, s in zip(rest, slopes, strict=True)) / len(rest)
        squares = sum((r - slope * s - mean) ** 2 for r, s in zip(rest, slopes, strict=True))
        return slope, squares

    t2 = _lowest(lambda t: left(t)[1], wanted / 2.0, wanted * 2.0)
    if not wanted / 2.0 * 1.01 < t2 < wanted * 2.0 * 0.99:
        return None
    spacing, squares = left(t2)
    return TrimOrSpacing(
        t2_us=t2, spacing_um=spacing, residual_db=math.sqrt(squares / len(readings))
    )


_FIT_FROM_HZ = 400.0
"""Below, fringing has its say."""
_FIT_TO_AT_LEAST_HZ = 5000.0
_FEWEST = 4
_GOLDEN = (math.sqrt(5.0) - 1.0) / 2.0


def _slope(x: Sequence[float], y: Sequence[float]) -> float:
    mean_x, mean_y = sum(x) / len(x), sum(y) / len(y)
    products = sum((a - mean_x) * (b - mean_y) for a, b in zip(x, y, strict=True))
    return products / sum((a - mean_x) ** 2 for a in x)


def _lowest(of: Callable[[float], float], low: float, high: float) -> float:
    """Return where a function of one valley is lowest, by golden sections."""
    for _ in range(80):
        step = (high - low) * _GOLDEN
        if of(high - step) < of(low + step):
            high = low + step
        else:
            low = high - step
    return (low + high) / 2.0


def _sinc_db(x: float) -> float:
    return _db(abs(math.sin(x) / x)) if x else 0.0


def _db(ratio: float) -> float:
    return 20.0 * math.log10(ratio) if ratio > 0 else -math.inf


def _above(value: float, what: str) -> float:
    if value <= 0:
        raise ValueError(f"a {what} of {value} is impossible")
    return value
