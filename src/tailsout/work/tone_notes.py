"""What a reading of line-up tones gives cause to say beside its figures.

Limits here are of common practice or from memory, so a note is all that they can give: a machine
is judged by its own manual and by who set it up.
"""

from collections.abc import Iterator
from decimal import Decimal

from tailsout.records.tones import FoundTone, ToneChannel, ToneFacts

BALANCE_DB = Decimal("0.2")
RESPONSE_DB = Decimal("0.5")
RESPONSE_HZ = (100, 10_000)
PHASE_DEG = 20
PHASE_HZ = (9_000, 11_000)
SPEED_PERCENT = Decimal("0.2")
FLUTTER_PERCENT = Decimal("0.10")


def notes_on(facts: ToneFacts) -> Iterator[str]:
    """Yield one sentence for each thing worth a second look."""
    yield from _of_the_whole(facts)
    for channel in facts.channels:
        yield from _of_a_channel(channel)
    for number, tone in enumerate(facts.tones, 1):
        yield from _of_a_tone(number, tone)


def _of_the_whole(facts: ToneFacts) -> Iterator[str]:
    speed = facts.speed_error_percent
    if speed is not None and abs(speed) > SPEED_PERCENT:
        yield f"The speed is off by more than {SPEED_PERCENT} % (NAB 1965, from memory)."
    flutter = facts.flutter
    if flutter is not None and flutter.weighted_percent > FLUTTER_PERCENT:
        yield (
            f"Weighted flutter is more than ±{FLUTTER_PERCENT} %, which IEC 60094-1 allows a "
            "professional machine at 15 ips."
        )
    if facts.reference is None and facts.fit in {None, "fits"} and facts.tones:
        yield "No reference tone was found, so no level is told re one."
    if facts.non_finite_samples:
        yield f"Samples that are not numbers, taken as silence: {facts.non_finite_samples}."


def _of_a_channel(one: ToneChannel) -> Iterator[str]:
    if one.balance_db is not None and abs(one.balance_db) > BALANCE_DB:
        yield (
            f"Channel {one.channel} is {one.balance_db:+} dB re channel 1; {BALANCE_DB} dB are "
            "common practice."
        )
    if one.azimuth is not None:
        if one.azimuth.is_inverted:
            yield f"Channel {one.channel} is consistent with an inverted leg."
        if one.azimuth.may_be_a_cycle_out:
            yield (
                f"The azimuth of channel {one.channel} may be out by whole cycles: these tones do "
                "not settle it."
            )
    if one.response is not None:
        yield (
            f"Channel {one.channel} is consistent with a replay curve of {one.response.t2_us} µs "
            f"({one.response.trim_db:+} dB at 10 kHz) and {one.response.spacing_um:+} µm of "
            f"spacing, {one.response.residual_db} dB left over: evidence, not proof."
        )


def _of_a_tone(number: int, tone: FoundTone) -> Iterator[str]:
    nominal = tone.listed.frequency_hz if tone.listed is not None else tone.frequency_hz
    is_middle = RESPONSE_HZ[0] <= nominal <= RESPONSE_HZ[1]
    is_for_phase = PHASE_HZ[0] <= nominal <= PHASE_HZ[1]
    for level in tone.channels:
        where = f"Tone {number}, {nominal:f} Hz, channel {level.channel}"
        off, phase = level.deviation_db, level.phase_deg
        has_none = level.is_within is None and off is not None
        if has_none and is_middle and abs(off or Decimal(0)) > RESPONSE_DB:
            yield f"{where}: {off:+} dB off; ±{RESPONSE_DB} dB are common practice."
        if level.may_be_fringing:
            yield f"{where}: {off:+} dB is consistent with fringing, not with a fault of the bass."
        if phase is not None and is_for_phase and abs(phase) > PHASE_DEG:
            yield (
                f"{where}: {phase}° against channel 1; ±{PHASE_DEG}° at 10 kHz are common practice "
                "at 15 ips."
            )
