"""The absolute scale of a file: flux in nWb/m at 0 dBFS and at the programme's peak.

It rests on the reference tone of the calibration tape, captured through the same path.
"""

from collections.abc import Iterable, Iterator, Mapping
from decimal import Decimal

from tailsout.records.calibration import CalibrationFacts
from tailsout.records.machine import CalibrationTape
from tailsout.records.scale import ChannelScale, Scale
from tailsout.records.sound import AudioFacts
from tailsout.records.tones import ToneFacts
from tailsout.records.transfer import Transfer
from tailsout.tape import fluxivity

SCALE_METHODS: Mapping[str, str] = {
    "scales.channels.full_scale_nwb_m": (
        "Fluxivity of the calibration tape's reference tone × 10^((level - its level) ÷ 20), both"
        " in dBFS; true if no gain was moved between the tones and the programme."
    ),
    "scales.channels.peak_nwb_m": "The same at the highest sample of the file.",
    "scales.ring_head_nwb_m": (
        "Stated fluxivity, × 288 ÷ 320 if by the DIN transfer (JAES, Tape flux measurement"
        " revisited), and the deviation of the certificate."
    ),
}

_TENTH = Decimal("0.1")


def scales(
    transfer: Transfer,
    capture: str,
    calibrations: Iterable[CalibrationFacts],
    facts: AudioFacts,
) -> tuple[Scale, ...]:
    """Return the scale of a file by each setting that its regions name, as it was left.

    None of a setting whose tones were not read or not the tape's, or of a tape without fluxivity.
    """
    used = {
        region.setting
        for side in transfer.reel.sides
        for region in side.regions
        if region.capture == capture and region.setting is not None
    }
    tapes = {tape.id: tape for tape in transfer.calibration_tapes}
    # As left comes after as found, and is what the programme was played at.
    last = {(one.session, one.setting): one for one in calibrations if one.setting in used}
    found = (_scale(one, tapes.get(one.tape or ""), facts) for one in last.values())
    return tuple(one for one in found if one is not None)


def _scale(one: CalibrationFacts, tape: CalibrationTape | None, facts: AudioFacts) -> Scale | None:
    stated = tape.reference_fluxivity_nwb_m if tape is not None else None
    if tape is None or not stated or one.tones is None or one.tones.fit != "fits":
        return None
    flux = float(stated)
    if tape.fluxivity_method == "DIN transfer":
        flux = fluxivity.by_ring_head(flux)
    flux *= 10 ** (_deviation_db(one.tones) / 20)
    channels = tuple(_channels(one.tones, flux, facts))
    if not channels:
        return None
    return Scale(
        session=one.session,
        setting=one.setting,
        moment=one.moment,
        tape=tape.id,
        stated_nwb_m=stated,
        stated_by=tape.fluxivity_method,
        ring_head_nwb_m=_tenth(flux),
        channels=channels,
    )


def _deviation_db(tones: ToneFacts) -> float:
    """Return how far the reference tone of the tape is off its nominal level by the certificate."""
    listed = tones.tones[tones.reference - 1].listed if tones.reference is not None else None
    deviation = listed.deviation_db if listed is not None else None
    return float(deviation) if deviation is not None else 0.0


def _channels(tones: ToneFacts, flux: float, facts: AudioFacts) -> Iterator[ChannelScale]:
    for one, measured in zip(tones.channels, facts.channels, strict=False):
        if one.reference_dbfs is None:
            continue
        at = float(one.reference_dbfs)
        peak = measured.sample_peak_dbfs
        yield ChannelScale(
            channel=one.channel,
            reference_dbfs=one.reference_dbfs,
            full_scale_nwb_m=_tenth(fluxivity.at_full_scale(flux, at)),
            peak_nwb_m=_tenth(fluxivity.at_level(flux, at, float(peak)))
            if peak is not None
            else None,
        )


def _tenth(value: float) -> Decimal:
    return Decimal(str(value)).quantize(_TENTH)
