"""What all line-up tones together say of one channel: level, azimuth, response."""

from collections.abc import Sequence

from tailsout.measure.levels import hundredths, tenths
from tailsout.measure.phase import phase_line
from tailsout.records.machine import CalibrationTape, Head
from tailsout.records.tones import FoundTone, ResponseFit, ToneAzimuth, ToneChannel
from tailsout.tape.equalisation import mismatch_db
from tailsout.tape.heads import azimuth_minutes, trim_or_spacing

_TRIM_HZ = 10_000.0


def channel_of(
    at: int,
    tones: Sequence[FoundTone],
    reference: int | None,
    tape: CalibrationTape | None,
    head: Head | None,
) -> ToneChannel:
    """Return what all tones say of one channel, counted from 0.

    `reference` is the index of the reference tone. Without a tape nothing is said that needs its
    speed or its curve.
    """
    base = tones[reference].channels[at] if reference is not None else None
    return ToneChannel(
        channel=at + 1,
        reference_dbfs=base.level_dbfs if base is not None else None,
        balance_db=base.balance_db if base is not None else None,
        azimuth=_azimuth(at, tones, tape, head) if at else None,
        response=_response(at, tones, tape) if tape is not None else None,
    )


def _azimuth(
    at: int, tones: Sequence[FoundTone], tape: CalibrationTape | None, head: Head | None
) -> ToneAzimuth | None:
    known = [
        (float(tone.frequency_hz), float(phase))
        for tone in tones
        if (phase := tone.channels[at].phase_deg) is not None
    ]
    line = phase_line(known)
    if line is None:
        return None
    speed = tape.speed_ips if tape is not None else None
    # Only of two tracks is it known how far apart they are.
    spacing = head.spacing_mm if head is not None and at == 1 else None
    angle = None
    if speed and spacing:
        angle = hundredths(azimuth_minutes(line.delay_us, float(spacing), float(speed)))
    return ToneAzimuth(
        delay_us=hundredths(line.delay_us),
        residual_deg=tenths(line.residual_deg),
        highest_hz=tenths(max(frequency for frequency, _ in known)),
        tones=len(known),
        arc_minutes=angle,
        spacing_mm=spacing,
        may_be_a_cycle_out=line.may_be_a_cycle_out,
        is_inverted=line.is_inverted,
    )


def _response(at: int, tones: Sequence[FoundTone], tape: CalibrationTape) -> ResponseFit | None:
    curve, speed = tape.equalisation, tape.speed_ips
    if curve is None or not curve.t2_us or not speed:
        return None
    used = [
        (float(tone.listed.frequency_hz), float(deviation))
        for tone in tones
        if tone.listed is not None and (deviation := tone.channels[at].deviation_db) is not None
    ]
    constants = (float(curve.t1_us) if curve.t1_us else None, float(curve.t2_us))
    fit = trim_or_spacing(used, constants, float(speed))
    if fit is None:
        return None
    trim = mismatch_db(_TRIM_HZ, constants, (constants[0], fit.t2_us))
    return ResponseFit(
        t2_us=tenths(fit.t2_us),
        trim_db=hundredths(trim),
        spacing_um=hundredths(fit.spacing_um),
        residual_db=hundredths(fit.residual_db),
    )
