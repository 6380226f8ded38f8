"""Line-up tones of a capture, read and held against the certificate of the calibration tape."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from statistics import median
from typing import BinaryIO

from tailsout.ground.pcm import Pcm
from tailsout.measure import flutter
from tailsout.measure.certificate import Match, match
from tailsout.measure.channels import channel_of
from tailsout.measure.levels import decibels, hundredths, per_cent, tenths
from tailsout.measure.phasors import EDGE_HOPS, ReadTone, read_tone
from tailsout.measure.samples import Samples
from tailsout.measure.steadiness import flutter_facts, flutter_trace
from tailsout.measure.tone_methods import TONE_METHODS
from tailsout.measure.tones import Steady, hop_frames, steady_tones
from tailsout.records.machine import CalibrationTape, Head, Tone
from tailsout.records.tones import FlutterTrace, FoundTone, ToneFacts, ToneLevel

FRINGING_BELOW_HZ = 250.0
"""Below, a head narrower than the track reads high (published experience, JAES 1978)."""

_REACH = 0.45
_REFERENCE_HZ = (250.0, 1100.0)
_FLUTTER_HZ = (2850.0, 3310.0)
_FRINGING_DB = Decimal("0.3")


@dataclass(frozen=True, slots=True, kw_only=True)
class ToneReading:
    """What a capture of line-up tones gave."""

    facts: ToneFacts
    trace: FlutterTrace | None = None
    """None without flutter."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Line:
    """One tone on its way to be told."""

    place: Steady
    read: ReadTone
    number: int | None = None
    listed: Tone | None = None

    @property
    def error(self) -> float | None:
        """How much faster than it should the tape runs, as a share."""
        if self.listed is None:
            return None
        return self.read.frequency_hz / float(self.listed.frequency_hz) - 1.0


def read_line_up(
    stream: BinaryIO,
    pcm: Pcm,
    *,
    data_offset: int,
    data_octets: int,
    tape: CalibrationTape | None,
    head: Head | None,
    advance: Callable[[int], None],
) -> ToneReading:
    """Read the tones of an open wave file; it is read through once, and the tones once more.

    Without a tape they are the reel's own. The head gives the spacing of the tracks for the angle
    of azimuth. Raises MaterialError for samples that cannot be measured, SurroundingsError if they
    cannot be read.
    """
    samples = Samples(
        stream, pcm, data_offset=data_offset, data_octets=data_octets, advance=advance
    )
    places = steady_tones(samples)
    wild = samples.non_finite
    lines = [
        _Line(place=place, read=read)
        for place in places
        if (read := read_tone(samples, place)) is not None
    ]
    listed = tape.tones if tape is not None else ()
    found = _matched(lines, listed, pcm.sample_rate_hz)
    lines = _named(lines, listed, found)
    reference = _reference(lines, listed, found)
    tones = tuple(_told(line, lines, reference, tape, head) for line in lines)
    held = {line.number for line in lines}
    # What is not the tape's is not judged by the tape's speed and curve.
    known = tape if found is None or found.fit == "fits" else None
    speed = float(known.speed_ips) if known is not None and known.speed_ips else None
    course = _course(samples, lines, listed)
    return ToneReading(
        facts=ToneFacts(
            frames=samples.frames,
            sample_rate_hz=pcm.sample_rate_hz,
            tones=tones,
            channels=tuple(
                channel_of(at, tones, reference, known, head) for at in range(pcm.channels)
            ),
            methods=TONE_METHODS,
            tape=tape.id if tape is not None else None,
            fit=found.fit if found is not None else None,
            reference=reference + 1 if reference is not None else None,
            speed_error_percent=_speed_error(lines),
            missing=tuple(one for at, one in enumerate(listed, 1) if at not in held),
            flutter=flutter_facts(course, speed) if course is not None else None,
            non_finite_samples=wild,
        ),
        trace=flutter_trace(course) if course is not None else None,
    )


def _matched(lines: Sequence[_Line], listed: Sequence[Tone], rate: int) -> Match | None:
    if not listed:
        return None
    return match(
        [line.read.frequency_hz for line in lines],
        [float(one.frequency_hz) for one in listed],
        reach_hz=_REACH * rate,
    )


def _named(lines: list[_Line], listed: Sequence[Tone], found: Match | None) -> list[_Line]:
    pairs = dict(found.pairs) if found is not None else {}
    return [
        replace(line, number=pairs[at] + 1, listed=listed[pairs[at]]) if at in pairs else line
        for at, line in enumerate(lines)
    ]


def _reference(lines: Sequence[_Line], listed: Sequence[Tone], found: Match | None) -> int | None:
    """Return the index of the reference tone: as the certificate says, else the first likely."""
    if found is not None and found.fit != "fits":
        return None
    if any(one.use == "reference level" for one in listed):
        wanted = (
            at
            for at, line in enumerate(lines)
            if line.listed is not None and line.listed.use == "reference level"
        )
        return next(wanted, None)
    low, high = _REFERENCE_HZ
    likely = (
        at
        for at, line in enumerate(lines)
        if low <= line.read.frequency_hz <= high
        and (found is None or (line.listed is not None and not line.listed.level_db))
    )
    return next(likely, None)


def _told(
    line: _Line,
    lines: Sequence[_Line],
    reference: int | None,
    tape: CalibrationTape | None,
    head: Head | None,
) -> FoundTone:
    base = lines[reference] if reference is not None else None
    first = line.read.amplitude[0]
    levels = []
    for at, amplitude in enumerate(line.read.amplitude):
        relative = _ratio_db(amplitude, base.read.amplitude[at] if base is not None else None)
        deviation = _deviation(relative, line.listed, base.listed if base is not None else None)
        tolerance = line.listed.tolerance_db if line.listed is not None else None
        lag = line.read.lag_degrees[at] if at else None
        levels.append(
            ToneLevel(
                channel=at + 1,
                level_dbfs=decibels(amplitude) if amplitude is not None else None,
                relative_db=relative,
                deviation_db=deviation,
                is_within=abs(deviation) <= tolerance
                if deviation is not None and tolerance is not None
                else None,
                balance_db=_ratio_db(amplitude, first) if at else None,
                phase_deg=tenths(lag) if lag is not None else None,
                may_be_fringing=_may_be_fringing(deviation, line, tape, head),
            )
        )
    return FoundTone(
        start=line.place.start,
        end=line.place.end,
        frequency_hz=tenths(line.read.frequency_hz),
        channels=tuple(levels),
        number=line.number,
        listed=line.listed,
        speed_error_percent=per_cent(line.error) if line.error is not None else None,
    )


def _ratio_db(one: float | None, other: float | None) -> Decimal | None:
    return decibels(one / other) if one is not None and other else None


def _deviation(relative: Decimal | None, listed: Tone | None, base: Tone | None) -> Decimal | None:
    """Return what a level differs by from the certificate, its own deviations counted."""
    if relative is None or listed is None or base is None:
        return None
    nominal = Decimal(0) if listed is base else listed.level_db
    if nominal is None:
        return None
    own = (listed.deviation_db or Decimal(0)) - (base.deviation_db or Decimal(0))
    return hundredths(float(relative - nominal - own))


def _may_be_fringing(
    deviation: Decimal | None, line: _Line, tape: CalibrationTape | None, head: Head | None
) -> bool:
    if deviation is None or line.listed is None or tape is None:
        return False
    track = head.track_format if head is not None else None
    is_wider = tape.track_format in {None, "full-track mono"} and track != "full-track mono"
    over = max(line.listed.tolerance_db or Decimal(0), _FRINGING_DB)
    return is_wider and line.read.frequency_hz < FRINGING_BELOW_HZ and deviation > over


def _speed_error(lines: Sequence[_Line]) -> Decimal | None:
    errors = [(line.listed.use, line.error) for line in lines if line.listed and line.error]
    own = [error for use, error in errors if use == "speed and flutter"]
    every = own or [error for _, error in errors]
    return per_cent(median(every)) if every else None


def _course(
    samples: Samples, lines: Sequence[_Line], listed: Sequence[Tone]
) -> flutter.Course | None:
    """Follow the speed through the tone that is made for it, else the longest of its frequency."""
    is_meant = any(one.use == "speed and flutter" for one in listed)
    low, high = _FLUTTER_HZ
    fitting = [
        line
        for line in lines
        if low <= line.read.frequency_hz <= high
        and (not is_meant or (line.listed is not None and line.listed.use == "speed and flutter"))
    ]
    if not fitting:
        return None
    line = max(fitting, key=lambda one: one.place.end - one.place.start)
    levels = [amplitude or 0.0 for amplitude in line.read.amplitude]
    edge = EDGE_HOPS * hop_frames(samples.pcm.sample_rate_hz)
    return flutter.course(
        samples,
        line.place.start + edge,
        line.place.end - edge,
        frequency_hz=line.read.frequency_hz,
        channel=levels.index(max(levels)),
    )
