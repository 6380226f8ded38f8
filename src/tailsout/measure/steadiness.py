"""The speed as followed through a tone, as records: figures to keep and a trace to draw."""

from collections.abc import Iterator
from decimal import Decimal

from tailsout.measure import flutter
from tailsout.measure.flutter import Course
from tailsout.measure.levels import hundredths, per_cent, tenths
from tailsout.measure.turning import parts_at, rim_mm
from tailsout.records.tones import FlutterFacts, FlutterLine, FlutterTrace

_MICROSECOND = Decimal("0.000001")


def flutter_facts(course: Course, speed_ips: float | None) -> FlutterFacts:
    """Return the figures; the tape's speed tells the size of what turns."""
    return FlutterFacts(
        channel=course.channel + 1,
        start=course.start,
        end=course.end,
        frequency_hz=tenths(course.frequency_hz),
        weighted_percent=per_cent(flutter.two_sigma_style(course.weighted)),
        weighted_rms_percent=per_cent(flutter.root_mean_square(course.weighted)),
        unweighted_rms_percent=per_cent(flutter.root_mean_square(course.unweighted)),
        drift_percent=per_cent(course.drift),
        lines=tuple(_lines(course, speed_ips)),
    )


def flutter_trace(course: Course) -> FlutterTrace:
    """Return what a plot shows of it."""
    seconds, low, high = flutter.trace(course)
    rates, depth = flutter.spectrum(course)
    return FlutterTrace(
        seconds_a_point=Decimal(seconds).quantize(_MICROSECOND),
        low=tuple((100 * low).tolist()),
        high=tuple((100 * high).tolist()),
        rates_hz=tuple(rates.tolist()),
        depth_percent=tuple((100 * depth).tolist()),
    )


def _lines(course: Course, speed_ips: float | None) -> Iterator[FlutterLine]:
    for rate, depth in flutter.lines(course):
        yield FlutterLine(
            frequency_hz=hundredths(rate),
            depth_percent=per_cent(depth),
            diameter_mm=tenths(rim_mm(rate, speed_ips)) if speed_ips is not None else None,
            consistent_with=parts_at(rate, speed_ips),
        )
