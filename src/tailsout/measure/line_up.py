"""Line-up tones of a capture, read and held against the certificate of the calibration tape."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from decimal import ROUND_HALF_UP, Decimal
from statistics import median
from typing import BinaryIO

from tailsout.ground.pcm import Pcm
from tailsout.measure import flutter
from tailsout.measure.certificate import Match, match
from tailsout.measure.levels import decibels, hundredths
from tailsout.measure.phase import phase_line
from tailsout.measure.phasors import EDGE_HOPS, ReadTone, read_tone
from tailsout.measure.stretches import Stretches
from tailsout.measure.tones import Steady, hop_frames, steady_tones
from tailsout.measure.turning import parts_at, rim_mm
from tailsout.records.machine import CalibrationTape, Head, Tone
from tailsout.records.tones import (
    Azimuth,
    FlutterFacts,
    FlutterLine,
    FlutterTrace,
    FoundTone,
    ResponseFit,
    ToneChannel,
    ToneFacts,
    ToneLevel,
)
from tailsout.tape.equalisation import mismatch_db
from tailsout.tape.heads import azimuth_minutes, trim_or_spacing

FRINGING_BELOW_HZ = 250.0
"""Below, a head narrower than the track reads high (published experience, JAES 1978)."""

_REACH = 0.45
_REFERENCE_HZ = (250.0, 1100.0)
_FLUTTER_HZ = (2850.0, 3310.0)
_FRINGING_DB = Decimal("0.3")
_TRIM_HZ = 10_000.0
_TENTH = Decimal("0.1")
_TEN_THOUSANDTH = Decimal("0.0001")


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
        return (
            self.read.frequency_hz / float(self.listed.frequency_hz) - 1.0 if self.listed else None
        )


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
    samples = Stretches(
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
    speed = float(tape.speed_ips) if tape is not None and tape.speed_ips is not None else None
    is_known = found is None or found.fit == "fits"
    course = _course(samples, lines, listed, tones)
    return ToneReading(
        facts=ToneFacts(
            frames=samples.frames,
            sample_rate_hz=pcm.sample_rate_hz,
            tones=tones,
            channels=tuple(
                _channel(at, tones, reference, tape if is_known else None, head)
                for at in range(pcm.channels)
            ),
            tape=tape.id if tape is not None else None,
            fit=found.fit if found is not None else None,
            reference=reference + 1 if reference is not None else None,
            speed_error_percent=_speed_error(lines),
            missing=tuple(one for at, one in enumerate(listed, 1) if at not in held),
            flutter=_flutter(course, speed if is_known else None),
            non_finite_samples=wild,
        ),
        trace=_trace(course),
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
                phase_deg=_rounded(lag, _TENTH) if lag is not None else None,
                may_be_fringing=_may_be_fringing(deviation, line, tape, head),
            )
        )
    return FoundTone(
        start=line.place.start,
        end=line.place.end,
        frequency_hz=_rounded(line.read.frequency_hz, _TENTH),
        channels=tuple(levels),
        number=line.number,
        listed=line.listed,
        speed_error_percent=_percent(line.error),
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
    return _percent(median(every)) if every else None


def _channel(
    at: int,
    tones: Sequence[FoundTone],
    reference: int | None,
    tape: CalibrationTape | None,
    head: Head | None,
) -> ToneChannel:
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
) -> Azimuth | None:
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
    return Azimuth(
        delay_us=hundredths(line.delay_us),
        residual_deg=_rounded(line.residual_deg, _TENTH),
        highest_hz=_rounded(max(frequency for frequency, _ in known), _TENTH),
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
        t2_us=_rounded(fit.t2_us, _TENTH),
        trim_db=hundredths(trim),
        spacing_um=hundredths(fit.spacing_um),
        residual_db=hundredths(fit.residual_db),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Course:
    """The speed as followed, and where."""

    found: flutter.Course
    channel: int
    start: int
    end: int


def _course(
    samples: Stretches, lines: Sequence[_Line], listed: Sequence[Tone], tones: Sequence[FoundTone]
) -> _Course | None:
    """Follow the speed through the tone that is made for it, else the longest of its frequency."""
    is_meant = any(one.use == "speed and flutter" for one in listed)
    low, high = _FLUTTER_HZ
    fitting = [
        at
        for at, line in enumerate(lines)
        if low <= line.read.frequency_hz <= high
        and (not is_meant or (line.listed and line.listed.use == "speed and flutter"))
    ]
    if not fitting:
        return None
    longest = max(fitting, key=lambda at: tones[at].end - tones[at].start)
    line = lines[longest]
    levels = [amplitude or 0.0 for amplitude in line.read.amplitude]
    channel = levels.index(max(levels))
    edge = EDGE_HOPS * hop_frames(samples.pcm.sample_rate_hz)
    start, end = line.place.start + edge, line.place.end - edge
    found = flutter.course(samples, start, end, line.read.frequency_hz, channel)
    if found is None:
        return None
    end = min(end, start + flutter.LONGEST_SECONDS * samples.pcm.sample_rate_hz)
    return _Course(found=found, channel=channel, start=start, end=end)


def _flutter(course: _Course | None, speed_ips: float | None) -> FlutterFacts | None:
    if course is None:
        return None
    found = course.found
    return FlutterFacts(
        channel=course.channel + 1,
        start=course.start,
        end=course.end,
        frequency_hz=_rounded(found.frequency_hz, _TENTH),
        weighted_percent=_rounded(100 * flutter.two_sigma_style(found.weighted), _TEN_THOUSANDTH),
        weighted_rms_percent=_rounded(
            100 * flutter.root_mean_square(found.weighted), _TEN_THOUSANDTH
        ),
        unweighted_rms_percent=_rounded(
            100 * flutter.root_mean_square(found.unweighted), _TEN_THOUSANDTH
        ),
        drift_percent=_rounded(100 * found.drift, _TEN_THOUSANDTH),
        lines=tuple(_lines(found, speed_ips)),
    )


def _lines(found: flutter.Course, speed_ips: float | None) -> Iterator[FlutterLine]:
    for rate, depth in flutter.lines(found):
        rim = rim_mm(rate, speed_ips) if speed_ips is not None else None
        yield FlutterLine(
            frequency_hz=hundredths(rate),
            depth_percent=_rounded(100 * depth, _TEN_THOUSANDTH),
            diameter_mm=_rounded(rim, _TENTH) if rim is not None else None,
            consistent_with=parts_at(rate, speed_ips),
        )


def _trace(course: _Course | None) -> FlutterTrace | None:
    if course is None:
        return None
    seconds, low, high = flutter.trace(course.found)
    rates, depth = flutter.spectrum(course.found)
    return FlutterTrace(
        seconds_a_point=_rounded(seconds, Decimal("0.000001")),
        low=tuple((100 * low).tolist()),
        high=tuple((100 * high).tolist()),
        rates_hz=tuple(rates.tolist()),
        depth_percent=tuple((100 * depth).tolist()),
    )


def _percent(share: float | None) -> Decimal | None:
    return _rounded(100 * share, _TEN_THOUSANDTH) if share is not None else None


def _rounded(value: float, step: Decimal) -> Decimal:
    return Decimal(value).quantize(step, ROUND_HALF_UP) + 0
