"""Sums about flux, heads and loads."""

from collections.abc import Iterator
from decimal import Decimal

from tailsout.tape import electrical, fluxivity, heads
from tailsout.work.reckon.answer import DERIVED, MEMORY, Answer, refusing, rounded, shown

_WALLACE = f"Wallace's loss ({MEMORY})"
_DIN = "JAES, Tape flux measurement revisited: 320 by the DIN transfer is 288 by AES7"


def flux(of: float, re: float, *, din: bool) -> tuple[Answer, ...]:
    """Return one fluxivity re another, dB; `din`: the first is by the DIN transfer.

    Raises UsageError.
    """
    with refusing():
        own = fluxivity.by_ring_head(of) if din else of
        level = fluxivity.level_db(own, re)
    first = Answer(
        what="the same by the ring-head method",
        value=rounded(own, 1),
        unit="nWb/m",
        formula=f"{shown(of)} × 288 ÷ 320",
        source=_DIN,
    )
    second = Answer(
        what=f"{shown(of)} re {shown(re)} nWb/m",
        value=rounded(level, 2),
        unit="dB",
        formula=f"20 lg({shown(rounded(own, 1)) if din else shown(of)} ÷ {shown(re)})",
        source=DERIVED,
        remark="" if din else "only if both were measured by one method",
    )
    return (first, second) if din else (second,)


def full_scale(reference: float, reads: float, peak: float | None) -> tuple[Answer, ...]:
    """Return the flux that 0 dBFS and a programme peak stand for. Raises UsageError."""
    with refusing():
        levels = [("0 dBFS", 0.0)] + ([("the programme's peak", peak)] if peak is not None else [])
        found = [(name, at, fluxivity.at_level(reference, reads, at)) for name, at in levels]
    return tuple(
        Answer(
            what=f"flux at {name}",
            value=rounded(value, 1),
            unit="nWb/m",
            formula=f"{shown(reference)} × 10^(({shown(at)} - ({shown(reads)})) ÷ 20)",
            source=DERIVED,
            remark="more than most tapes hold: was the gain changed after the tone?"
            if value > fluxivity.SATURATION_NWB_M and at
            else "",
        )
        for name, at, value in found
    )


def azimuth(
    spacing_mm: float, speed_ips: Decimal, hz: float, *, delay_us: float
) -> tuple[Answer, ...]:
    """Return the angle of a delay between channels, and what it does. Raises UsageError."""
    ips = float(speed_ips)
    late = shown(rounded(delay_us, 4))
    with refusing():
        minutes = heads.azimuth_minutes(delay_us, spacing_mm, ips)
        phase = heads.phase_degrees(hz, delay_us)
        loss = heads.mono_loss_db(hz, delay_us)
    return (
        Answer(
            what="azimuth",
            value=rounded(minutes, 3),
            unit="arc-minutes",
            formula=f"atan({shown(speed_ips)} ips × 25.4 × {late} µs ÷ {shown(spacing_mm)} mm)",
            source=DERIVED,
            remark="heads and converters add phase of their own; tape sways by some minutes",
        ),
        Answer(
            what=f"phase at {shown(hz)} Hz",
            value=rounded(phase, 1),
            unit="°",
            formula=f"360 × {shown(hz)} Hz × {late} µs",
            source=DERIVED,
        ),
        Answer(
            what=f"loss of the sum of both channels at {shown(hz)} Hz",
            value=rounded(max(loss, -200.0), 2),
            unit="dB",
            formula=f"20 lg|cos(π × {shown(hz)} Hz × {late} µs)|",
            source=DERIVED,
        ),
    )


def delay(spacing_mm: float, speed_ips: Decimal, minutes: float) -> float:
    """Return the delay of an angle, µs. Raises UsageError."""
    with refusing():
        return heads.delay_us(minutes, spacing_mm, float(speed_ips))


def loss(
    hz: float,
    speed_ips: Decimal,
    *,
    spacing_um: float | None = None,
    gap_um: float | None = None,
    coating_um: float | None = None,
) -> tuple[Answer, ...]:
    """Return what spacing, gap and coating take off at a frequency. Raises UsageError."""
    with refusing():
        return tuple(_losses(hz, speed_ips, spacing_um, gap_um, coating_um))


def _losses(
    hz: float,
    speed_ips: Decimal,
    spacing_um: float | None,
    gap_um: float | None,
    coating_um: float | None,
) -> Iterator[Answer]:
    ips = float(speed_ips)
    wavelength = heads.wavelength_um(hz, ips)
    yield Answer(
        what="wavelength",
        value=rounded(wavelength, 2),
        unit="µm",
        formula=f"{shown(speed_ips)} ips × 25400 ÷ {shown(hz)} Hz",
        source=DERIVED,
    )
    length = shown(rounded(wavelength, 2))
    if spacing_um is not None:
        yield Answer(
            what="loss by distance from the head",
            value=rounded(heads.spacing_loss_db(hz, spacing_um, ips), 2),
            unit="dB",
            formula=f"-54.575 × {shown(spacing_um)} ÷ {length}",
            source=_WALLACE,
        )
    if gap_um is not None:
        yield Answer(
            what="loss of the gap",
            value=rounded(max(heads.gap_loss_db(hz, gap_um, ips), -200.0), 2),
            unit="dB",
            formula=f"20 lg|sin y ÷ y|, y = π × 1.11 × {shown(gap_um)} ÷ {length}",
            source="Eargle's handbook, ch. 167",
        )
    if coating_um is not None:
        yield Answer(
            what="loss in the depth of the coating",
            value=rounded(heads.thickness_loss_db(hz, coating_um, ips), 2),
            unit="dB",
            formula=f"20 lg((1 - e^-x) ÷ x), x = 2π × {shown(coating_um)} ÷ {length}",
            source=f"{_WALLACE}; real tape exceeds it",
        )


def track(track_mm: float, head_mm: float) -> tuple[Answer, ...]:
    """Return what a track loses on a head of another width. Raises UsageError."""
    with refusing():
        level, noise = heads.track_on_head_db(track_mm, head_mm)
    wide, narrow = shown(max(track_mm, head_mm)), shown(min(track_mm, head_mm))
    return (
        Answer(
            what="level re a head of the track's width",
            value=rounded(level, 2),
            unit="dB",
            formula=f"20 lg({shown(track_mm)} ÷ {shown(head_mm)})"
            if head_mm > track_mm
            else "the whole core reads flux: no loss",
            source=DERIVED,
            remark="low tones read high beside a narrower head (fringing)"
            if track_mm > head_mm
            else "",
        ),
        Answer(
            what="signal to noise re the same",
            value=rounded(noise, 2),
            unit="dB",
            formula=f"10 lg({narrow} ÷ {wide})",
            source=DERIVED,
        ),
    )


def load(load_ohm: float, source_ohm: float, meter_ohm: float | None) -> tuple[Answer, ...]:
    """Return what a load, and a meter across it, take off. Raises UsageError."""
    with refusing():
        found = electrical.load_db(load_ohm, source_ohm)
        more = (
            electrical.bridged_db(meter_ohm, load_ohm, source_ohm)
            if meter_ohm is not None
            else None
        )
    answers = [
        Answer(
            what="level into the load",
            value=rounded(found, 3),
            unit="dB",
            formula=f"20 lg({shown(load_ohm)} ÷ ({shown(load_ohm)} + {shown(source_ohm)}))",
            source=DERIVED,
        )
    ]
    if more is not None and meter_ohm is not None:
        both = f"({shown(load_ohm)} ∥ {shown(meter_ohm)} Ω)"
        answers.append(
            Answer(
                what="the meter takes off another",
                value=rounded(more, 3),
                unit="dB",
                formula=f"level into {both} - level into {shown(load_ohm)} Ω",
                source=DERIVED,
                remark="and its rectifier loads unevenly: say whether it was switched in",
            )
        )
    return tuple(answers)
