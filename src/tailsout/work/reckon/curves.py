"""Sums about speed, pitch and equalisation. A curve is (t1, t2) in µs; t1 None: infinite."""

from collections.abc import Sequence
from decimal import Decimal

from tailsout.tape import equalisation, speed
from tailsout.work.reckon.answer import DERIVED, Answer, refusing, rounded, shown

Constants = tuple[float | None, float]

TONES_HZ = (31.5, 63.0, 125.0, 1000.0, 4000.0, 8000.0, 10_000.0, 16_000.0)
"""Where curves are told if no frequency is named."""
_IEC = "IEC 60094-1 cl. 15, formula from memory"


def pitch(ratio: Decimal, formula: str) -> tuple[Answer, ...]:
    """Return what a ratio of replay to recording speed does to pitch and length.

    `formula` says where the ratio comes from. Raises UsageError.
    """
    with refusing():
        cents = speed.cents(float(ratio))
    return (
        Answer(
            what="speed ratio, replay ÷ recording",
            value=ratio.quantize(Decimal("0.000001")),
            unit="×",
            formula=formula,
            source=DERIVED,
        ),
        Answer(
            what="pitch",
            value=rounded(cents, 2),
            unit="cents",
            formula=f"1200 × lg2({shown(ratio.quantize(Decimal('0.000001')))})",
            source=DERIVED,
        ),
        Answer(
            what="length of the programme",
            value=rounded(100 / float(ratio), 3),
            unit="%",
            formula=f"100 ÷ {shown(ratio.quantize(Decimal('0.000001')))}",
            source=DERIVED,
        ),
    )


def curve(constants: Constants, tones_hz: Sequence[float]) -> tuple[Answer, ...]:
    """Return what a reproducer of a curve does at some frequencies, dB. Raises UsageError."""
    with refusing():
        levels = [-equalisation.flux_db(hz, *constants) for hz in tones_hz]
    return tuple(
        Answer(
            what=f"reproducer at {shown(hz)} Hz",
            value=rounded(level, 2),
            unit="dB",
            formula=f"10 lg(1 + (2π × {shown(hz)} × τ2)²)"
            + ("" if constants[0] is None else f" - 10 lg(1 + (2π × {shown(hz)} × τ1)^-2)")
            + f", {_told(constants)}",
            source=_IEC,
        )
        for hz, level in zip(tones_hz, levels, strict=True)
    )


def mismatch(
    recorded: Constants, replayed: Constants, tones_hz: Sequence[float]
) -> tuple[Answer, ...]:
    """Return how a tape of one curve sounds through another, dB re 1 kHz. Raises UsageError."""
    with refusing():
        levels = [equalisation.mismatch_db(hz, recorded, replayed) for hz in tones_hz]
        shift = equalisation.shift_db(equalisation.AT_LEVEL_HZ, recorded, replayed)
    told_of = f"N of {_told(recorded)} - N of {_told(replayed)}"
    found = [
        Answer(
            what=f"response at {shown(hz)} Hz",
            value=rounded(level, 2),
            unit="dB",
            formula=f"{told_of}, 0 dB at 1 kHz",
            source=f"{_IEC}; the difference derived",
        )
        for hz, level in zip(tones_hz, levels, strict=True)
    ]
    return (
        *found,
        Answer(
            what="shift at 1 kHz if the level is not set anew",
            value=rounded(shift, 2),
            unit="dB",
            formula=told_of,
            source=f"{_IEC}; the difference derived",
        ),
    )


def wrong_speed(
    replayed: Constants,
    speeds_ips: tuple[Decimal, Decimal],
    wanted: Constants | None,
    tones_hz: Sequence[float],
) -> tuple[Answer, ...]:
    """Return the curve that a capture at another speed had, and its error if `wanted` is known.

    `speeds_ips` are those of replay and of the recording. Raises UsageError.
    """
    replay, recording = speeds_ips
    with refusing():
        ratio = replay / recording if recording else Decimal(0)
        t1, t2 = equalisation.effective_constants(replayed, float(ratio))
    put_in = f"{shown(replay)} ÷ {shown(recording)} ips"
    constants = [("high-frequency time constant", t2, replayed[1])]
    if t1 is not None and replayed[0] is not None:
        constants.insert(0, ("low-frequency time constant", t1, replayed[0]))
    found = tuple(
        Answer(
            what=f"{name} in the programme's own time",
            value=rounded(value, 1),
            unit="µs",
            formula=f"{shown(own)} µs × {put_in}",
            source="τ × k, derived: the reproducer acts at the frequencies of the replay",
        )
        for name, value, own in constants
    )
    return found if wanted is None else (*found, *mismatch(wanted, (t1, t2), tones_hz))


def _told(constants: Constants) -> str:
    t1, t2 = constants
    return f"τ1 {'infinite' if t1 is None else shown(t1) + ' µs'}, τ2 {shown(t2)} µs"
