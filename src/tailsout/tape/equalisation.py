"""Replay curves: time constants, medium flux, the difference of two curves, wrong-speed captures.

The curve of a tape is the recorded short-circuit flux against frequency (IEC 60094-1 cl. 15; the
formula from memory): flat, falling by 6 dB an octave above the corner of the high-frequency time
constant, rising below that of the low-frequency one where the curve has it. A reproducer is its
mirror image. A time constant is in µs; None for the low-frequency one of a curve that has none.
"""

import math
from dataclasses import dataclass

AT_LEVEL_HZ = 1000.0
"""Where levels are set: differences of curves are 0 dB there."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Curve:
    """One standardised curve."""

    speed_ips: float
    standard: str
    t1_us: float | None
    """None: infinite."""
    t2_us: float
    since: int | None
    """First year it was in force; None if not known."""
    until: int | None
    """Last year; None if it still is, or it is not known."""
    source: str


_TC04 = "IASA-TC 04, 2nd ed., 5.4.10, Table 1"
_MEMORY = "from memory"
_ROWS: tuple[tuple[float, str, float | None, float, int | None, int | None, str], ...] = (
    (30, "IEC2 = AES", None, 17.5, 1981, None, _TC04),
    (30, "CCIR, IEC1, DIN", None, 35, 1953, 1968, _TC04),
    (15, "IEC1, CCIR, DIN, BS", None, 35, 1953, None, _TC04),
    (15, "NAB, EIA (= IEC2)", 3180, 50, 1953, None, _TC04),
    (7.5, "IEC1, DIN studio, CCIR", None, 70, 1965, None, _TC04),
    (7.5, "IEC2, NAB, DIN home, EIA, RIAA", 3180, 50, 1965, None, _TC04),
    (7.5, "EIA proposed", None, 50, 1967, None, _TC04),
    (7.5, "CCIR, IEC, DIN, BS, old", None, 100, None, 1968, _TC04),
    (3.75, "IEC2, NAB, RIAA", 3180, 90, 1965, None, _TC04),
    (3.75, "DIN of 1962", 3180, 120, 1962, None, _TC04),
    (3.75, "DIN of 1955", None, 200, 1955, 1961, _TC04),
    (3.75, "EIA proposed", None, 100, 1967, None, _TC04),
    (3.75, "IEC of 1962", 3180, 140, 1962, 1968, _TC04),
    (1.875, "IEC, DIN", 3180, 120, 1971, None, _MEMORY),
    (1.875, "DIN of 1968", 1590, 120, 1968, 1971, _MEMORY),
)
CURVES: tuple[Curve, ...] = tuple(
    Curve(
        speed_ips=speed,
        standard=standard,
        t1_us=t1,
        t2_us=t2,
        since=since,
        until=until,
        source=source,
    )
    for speed, standard, t1, t2, since, until, source in _ROWS
)
"""Known curves. "IEC" alone is ambiguous with the date (100 or 70, 140 or 90 µs): the constants
count. None is known for 15/16 ips."""


def corner_hz(time_constant_us: float) -> float:
    """Return the corner frequency of a time constant: 1 ÷ (2πτ). Raises ValueError."""
    return 1.0 / (2.0 * math.pi * _microseconds(time_constant_us))


def flux_db(frequency_hz: float, t1_us: float | None, t2_us: float) -> float:
    """Return the recorded flux re its flat part, dB (IEC 60094-1 cl. 15, formula from memory).

    The response of the reproducer, its head being proportional to flux, is the same negated.
    Raises ValueError for a frequency or a time constant that is not above 0.
    """
    if frequency_hz <= 0:
        raise ValueError(f"a frequency of {frequency_hz} Hz is impossible")
    turns = 2.0 * math.pi * frequency_hz
    low = 0.0
    if t1_us is not None:
        low = 10.0 * math.log10(1.0 + (turns * _microseconds(t1_us)) ** -2)
    return low - 10.0 * math.log10(1.0 + (turns * _microseconds(t2_us)) ** 2)


def mismatch_db(
    frequency_hz: float,
    recorded: tuple[float | None, float],
    replayed: tuple[float | None, float],
) -> float:
    """Return the response of a tape of one curve on a reproducer of another, dB re 1 kHz.

    Each curve is (t1, t2) in µs. Raises ValueError like `flux_db`.
    """
    return shift_db(frequency_hz, recorded, replayed) - shift_db(AT_LEVEL_HZ, recorded, replayed)


def shift_db(
    frequency_hz: float,
    recorded: tuple[float | None, float],
    replayed: tuple[float | None, float],
) -> float:
    """Return the same without setting the level at 1 kHz, dB."""
    return flux_db(frequency_hz, *recorded) - flux_db(frequency_hz, *replayed)


def effective_constants(
    replayed: tuple[float | None, float], speed_ratio: float
) -> tuple[float | None, float]:
    """Return the curve that a capture at another speed had in the programme's own time: τ · k.

    `speed_ratio` is replay speed ÷ recording speed. The reproducer acts at the frequencies of
    the replay, so (t1, t2) stretch when the file is brought back to its own speed. Derived. Raises
    ValueError for a ratio that is not above 0.
    """
    if speed_ratio <= 0:
        raise ValueError(f"a speed ratio of {speed_ratio} is impossible")
    t1, t2 = replayed
    return (None if t1 is None else t1 * speed_ratio, t2 * speed_ratio)


def curves_at(speed_ips: float) -> tuple[Curve, ...]:
    """Return the curves known for a speed, in inches per second."""
    return tuple(one for one in CURVES if one.speed_ips == speed_ips)


def named(speed_ips: float, t1_us: float | None, t2_us: float) -> Curve | None:
    """Return the known curve of a speed with these time constants; None if there is none."""
    for one in curves_at(speed_ips):
        if one.t1_us == t1_us and one.t2_us == t2_us:
            return one
    return None


def _microseconds(time_constant_us: float) -> float:
    if time_constant_us <= 0:
        raise ValueError(f"a time constant of {time_constant_us} µs is impossible")
    return time_constant_us * 1e-6
