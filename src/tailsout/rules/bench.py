"""What the calibration captures prove, against what is stated of machine and levels.

All limits here are common practice or the tape's own certificate: queries and notes, never more.
"""

from collections.abc import Iterator
from decimal import Decimal

from tailsout.ground.findings import Finding, Kind, Place, Severity
from tailsout.ground.units import printable
from tailsout.records.calibration import CalibrationFacts
from tailsout.records.dossier import Dossier, Examined
from tailsout.records.session import CalibrationSetting, Reading
from tailsout.records.tones import FoundTone, ToneFacts
from tailsout.records.transfer import Transfer
from tailsout.rules.rule import Rule, transfer_of

TONES_DIFFER = Kind(
    code="calibration-tones-differ",
    severity=Severity.QUERY,
    title="A capture does not hold the tones of the calibration tape that is named",
    basis="own rule: its certificate lists the tones, in order; nothing else was held against it",
    remedy="The engineer says which tape was played, and at which speed.",
)
READINGS_DIFFER = Kind(
    code="calibration-readings-differ",
    severity=Severity.QUERY,
    title="A reading that was written down is not what the capture of the same tones shows",
    basis="own rule: 0.5 dB and 0.1 % of speed apart (common practice, no source)",
    remedy="The engineer says which is right; the reading may have been taken at another moment.",
)
OFF_CERTIFICATE = Kind(
    code="calibration-tone-off",
    severity=Severity.NOTE,
    title="A tone reads off its certificate by more than the tape's tolerance",
    basis="own rule: the tolerance of the tape's certificate; fringing of low tones left out",
    remedy="Nothing to do afterwards; whoever hears the transfer knows what the machine did.",
)
READ_ELSEWHERE = Kind(
    code="readings-at-another-output",
    severity=Severity.QUERY,
    title="The machine was read at another output than the transfer was taken from",
    basis="own rule: what lies between two outputs has a level and a response of its own",
    remedy="The engineer says whether the two outputs were compared.",
)
FLUX_IMPLAUSIBLE = Kind(
    code="flux-implausible",
    severity=Severity.QUERY,
    title="By the reference tone the programme would lie above what tape can hold",
    basis="common practice, no source: tape saturates at some 1000 to 1500 nWb/m; asked from 2000",
    remedy="The engineer says whether a gain was moved after the tones, or another tape played.",
)
LITTLE_HEADROOM = Kind(
    code="headroom-little",
    severity=Severity.NOTE,
    title="The converter clips before the tape saturates",
    basis="common practice, no source: 0 dBFS below 1000 nWb/m leaves peaks of tape no room",
    remedy="Nothing to do afterwards; runs at full scale, if any, are told by themselves.",
)
_LEVEL_DB = Decimal("0.5")
_SPEED_PERCENT = Decimal("0.1")
_SAME_TONE = Decimal("0.03")
_TOO_HIGH_NWB_M = 2000
_CLIPS_BELOW_NWB_M = 1000
_AT_THE_FILE = ("file", "recorder", "converter")


def _tones(dossier: Dossier) -> Iterator[Finding]:
    for one in dossier.calibrations:
        place = _place(dossier, one)
        if one.tones is None or one.tones.fit is None:
            continue
        if one.tones.fit != "fits":
            tape = printable(one.tape or "")
            found = len(one.tones.tones)
            text = f"calibration tape {tape!r}: {one.tones.fit}; {found} steady tones were found."
            yield TONES_DIFFER.at(place, text)
            continue
        for tone in one.tones.tones:
            yield from _off(place, tone)


def _off(place: Place, tone: FoundTone) -> Iterator[Finding]:
    for level in tone.channels:
        if level.is_within is False and not level.may_be_fringing:
            listed = tone.listed.tolerance_db if tone.listed is not None else None
            text = (
                f"{tone.frequency_hz} Hz on channel {level.channel} is {level.deviation_db} dB off,"
                f" tolerance ± {listed} dB."
            )
            yield OFF_CERTIFICATE.at(place, text)


def _readings(dossier: Dossier) -> Iterator[Finding]:
    measured = {(one.session, one.setting, one.moment): one for one in dossier.calibrations}
    for s, session in enumerate(transfer_of(dossier).sessions):
        for i, setting in enumerate(session.settings):
            at = f"/sessions/{s}/settings/{i}"
            # Where nothing was moved one capture stands for both.
            left = measured.get((session.id, setting.id, "as left"))
            nothing_moved = setting.outcome == "verified, nothing moved"
            found = measured.get((session.id, setting.id, "as found")) or (
                left if nothing_moved else None
            )
            for key, typed, one in (
                ("as_found", setting.as_found, found),
                ("as_left", setting.as_left, left),
            ):
                if one is None or one.tones is None or one.tones.fit not in {None, "fits"}:
                    continue
                for n, reading in enumerate(typed):
                    for text in _apart(reading, one.tones):
                        yield READINGS_DIFFER.at(dossier.place(f"{at}/{key}/{n}"), text)


def _apart(reading: Reading, tones: ToneFacts) -> Iterator[str]:
    near = [t for t in tones.tones if _is_of(t, reading.frequency_hz)]
    levels = [
        level.relative_db
        for tone in near
        for level in tone.channels
        if level.channel == (reading.channel or 1) and level.relative_db is not None
    ]
    if reading.level_db is not None and levels:
        closest = min(levels, key=lambda level: abs(level - (reading.level_db or 0)))
        if abs(closest - reading.level_db) > _LEVEL_DB:
            yield f"it reads {reading.level_db} dB, the capture shows {closest} dB."
    error, speed = reading.speed_error_percent, tones.speed_error_percent
    if error is not None and speed is not None and abs(error - speed) > _SPEED_PERCENT:
        yield f"it reads a speed error of {error} %, the capture shows {speed} %."


def _is_of(tone: FoundTone, frequency_hz: Decimal) -> bool:
    hz = tone.listed.frequency_hz if tone.listed is not None else tone.frequency_hz
    return abs(hz / frequency_hz - 1) < _SAME_TONE


def _output(dossier: Dossier) -> Iterator[Finding]:
    transfer = transfer_of(dossier)
    told = set()
    for s, i, setting in _used_settings(transfer):
        point = setting.reading_point
        if point is None or any(word in point.casefold() for word in _AT_THE_FILE):
            continue
        for one in transfer.passes:
            if one.set_up is None or one.kept is False:
                continue
            outputs = [
                out for out in (one.set_up.output_tap, one.set_up.output_select) if out is not None
            ]
            if outputs and not any(_alike(point, out) for out in outputs) and (s, i) not in told:
                told.add((s, i))
                place = dossier.place(f"/sessions/{s}/settings/{i}/reading_point")
                used = " / ".join(printable(out) for out in outputs)
                text = f"read at {printable(point)!r}, the pass {one.id!r} used {used!r}."
                yield READ_ELSEWHERE.at(place, text)


def _alike(point: str, output: str) -> bool:
    one, other = point.casefold(), output.casefold()
    return one in other or other in one


def _used_settings(transfer: Transfer) -> Iterator[tuple[int, int, CalibrationSetting]]:
    """Yield the settings that regions name, with their places."""
    named = {region.setting for side in transfer.reel.sides for region in side.regions}
    for s, session in enumerate(transfer.sessions):
        for i, setting in enumerate(session.settings):
            if setting.id in named:
                yield s, i, setting


def _flux(dossier: Dossier) -> Iterator[Finding]:
    for file in dossier.files:
        for scale in file.scales:
            place = Place(file=printable(file.path))
            by = f"by setting {scale.setting!r}"
            for channel in scale.channels:
                peak = channel.peak_nwb_m
                if peak is not None and peak > _TOO_HIGH_NWB_M:
                    text = f"channel {channel.channel} would peak at {peak} nWb/m {by}."
                    yield FLUX_IMPLAUSIBLE.at(place, text)
                if channel.full_scale_nwb_m < _CLIPS_BELOW_NWB_M:
                    flux = channel.full_scale_nwb_m
                    text = f"0 dBFS of channel {channel.channel} stands for {flux} nWb/m {by}."
                    yield LITTLE_HEADROOM.at(place, text)


def _place(dossier: Dossier, one: CalibrationFacts) -> Place:
    """Return the line of the form that names a capture."""
    transfer = transfer_of(dossier)
    for s, session in enumerate(transfer.sessions):
        for i, setting in enumerate(session.settings):
            if (session.id, setting.id) == (one.session, one.setting):
                key = "capture" if one.moment == "as left" else "found_capture"
                return dossier.place(f"/sessions/{s}/settings/{i}/{key}")
    return Place(file=printable(one.file))


_STATED: frozenset[Examined] = frozenset({"statements"})
_MEASURED: frozenset[Examined] = _STATED | {"measurements"}

RULES = (
    Rule(
        name="calibration captures against their tape",
        kinds=(TONES_DIFFER, OFF_CERTIFICATE),
        needs=_MEASURED,
        run=_tones,
    ),
    Rule(
        name="readings against calibration captures",
        kinds=(READINGS_DIFFER,),
        needs=_MEASURED,
        run=_readings,
    ),
    Rule(
        name="output of readings and of the transfer",
        kinds=(READ_ELSEWHERE,),
        needs=_STATED,
        run=_output,
    ),
    Rule(
        name="levels as flux",
        kinds=(FLUX_IMPLAUSIBLE, LITTLE_HEADROOM),
        needs=_MEASURED,
        run=_flux,
    ),
)
