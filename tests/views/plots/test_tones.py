"""Response, azimuth and flutter: what a reading of line-up tones shows."""

import re
from dataclasses import replace
from decimal import Decimal
from typing import Any

import pytest

from tailsout.records.tones import FlutterTrace, ToneFacts
from tailsout.views.plots import azimuth, flutter, flutter_spectrum, response


def picture(bench: Any, draw: Any, *records: Any) -> Any:
    return bench.picture(draw(*records, title="a", kind="svg"))


NOTHING = ToneFacts(frames=10, sample_rate_hz=48_000, tones=(), channels=(), methods={})


# Response


def test_deviations_are_told_per_channel(bench: Any) -> None:
    seen = picture(bench, response.draw, bench.tones())
    assert "Channel 1, re the certificate: 40 Hz +1.20 dB (may be fringing)," in seen.told
    assert "16 kHz −0.20 dB" in seen.told
    assert {"channel 1", "channel 2", "may be fringing", "spr-cal-19"} <= set(seen.texts)
    # Two channels at 40 Hz, 1.2 dB where 0.5 are allowed.
    assert "2 readings" in seen.texts


def test_without_a_certificate_levels_stand_re_the_reference_tone(bench: Any) -> None:
    seen = picture(bench, response.draw, bench.tones(against=False))
    assert "re the reference tone, no certificate" in seen.told
    assert [one for one in seen.texts if one.endswith("there is no certificate.")]
    assert "none given" in seen.texts


def test_channels_differ_by_mark_and_by_line(bench: Any) -> None:
    octets = response.draw(bench.tones(channels=2), title="a", kind="svg").decode()
    assert "stroke-dasharray" in octets
    # Marks are drawn once and used at every tone and in the key: a disc, a square, a diamond.
    marks = re.findall(r'<use xlink:href="#(p[0-9a-f]+-m[0-9a-f]+)"', octets)
    assert len({one for one in marks if marks.count(one) in {2 + 1, 8 + 2}}) >= 2


@pytest.mark.parametrize("channels", [1, 4, 8, 12])
def test_any_number_of_channels(bench: Any, channels: int) -> None:
    read = bench.tones(channels=channels)
    for draw in (response.draw, azimuth.draw):
        texts = picture(bench, draw, read).texts
        left_out = [one for one in texts if one.endswith("more channels are not drawn.")]
        assert bool(left_out) == (channels == 12)


@pytest.mark.parametrize("frequencies", [(1000,), (1000, 1000), (0.1, 90000)])
def test_any_tones(bench: Any, frequencies: tuple[float, ...]) -> None:
    read = bench.tones(frequencies=frequencies)
    for draw in (response.draw, azimuth.draw):
        assert picture(bench, draw, read).told


def test_no_tones_is_said_in_one_sentence(bench: Any) -> None:
    assert "No tones were found." in picture(bench, response.draw, NOTHING).texts


def test_tones_without_levels_are_said_in_one_sentence(bench: Any) -> None:
    read = bench.tones()
    bare = tuple(replace(one, channels=()) for one in read.tones)
    seen = picture(bench, response.draw, replace(read, tones=bare))
    assert "No tone can be held against another." in seen.texts


def test_fringing_is_explained_only_where_there_is_some(bench: Any) -> None:
    for frequencies, is_there in (((1000, 40), True), ((1000, 2000), False)):
        texts = picture(bench, response.draw, bench.tones(frequencies=frequencies)).texts
        assert ("may be fringing" in texts) == is_there


# Azimuth


@pytest.mark.parametrize("delay", [-40.0, 0.0, 7.0, 65.0])
def test_points_lie_on_the_line_that_was_fitted(bench: Any, delay: float) -> None:
    """Whole turns are added where the phase went round."""
    read = bench.tones(delay_us=delay)
    (course,) = [one for one in azimuth._courses(read) if one.points]
    assert len(course.points) > 3
    for frequency, phase in course.points:
        assert phase == pytest.approx(360e-6 * frequency * delay, abs=0.01)


def test_the_delay_is_told(bench: Any) -> None:
    seen = picture(bench, azimuth.draw, bench.tones(delay_us=7.0))
    assert "channel 2 against 1: +7.00 µs (later is plus), up to 16000.0 Hz" in seen.told
    assert "may be a cycle out" in seen.told
    assert {"+7.00 µs", "+1.66′", "5.08 mm", "0.50° RMS"} <= set(seen.texts)


def test_a_line_that_begins_at_half_a_cycle(bench: Any) -> None:
    read = bench.tones(delay_us=7.0)
    (first, second) = read.channels
    turned = replace(second, azimuth=replace(second.azimuth, is_inverted=True))
    seen = picture(bench, azimuth.draw, replace(read, channels=(first, turned)))
    assert "consistent with one leg turned over" in seen.told


def test_phases_without_a_line(bench: Any) -> None:
    read = bench.tones()
    bare = tuple(replace(one, azimuth=None) for one in read.channels)
    seen = picture(bench, azimuth.draw, replace(read, channels=bare))
    assert "no line can be fitted" in seen.told


@pytest.mark.parametrize(
    ("channels", "sentence"),
    [
        (1, "There is one channel: azimuth needs two."),
        (2, "No tone was found on two channels: there is no phase to draw."),
    ],
)
def test_no_phase_is_said_in_one_sentence(bench: Any, channels: int, sentence: str) -> None:
    read = replace(bench.tones(channels=channels), tones=())
    assert sentence in picture(bench, azimuth.draw, read).texts


# Flutter


def test_the_course_of_the_speed(bench: Any) -> None:
    seen = picture(bench, flutter.draw, bench.flutter, bench.trace)
    assert "The speed lies between −0.070 % and +0.070 % of its mean" in seen.told
    assert {"±0.0512 %", "0.0405 %", "−0.0120 %", "3149.2 Hz"} <= set(seen.texts)


def test_lines_are_numbered_by_rate_and_named(bench: Any) -> None:
    seen = picture(bench, flutter_spectrum.draw, bench.flutter, bench.trace)
    assert "1: 0.62 Hz, ±0.0310 %, consistent with reel" in seen.texts
    second = "2: 9.71 Hz, ±0.0220 %, as of a part of 6.2 mm diameter"
    assert f"{second}, consistent with capstan or roller" in seen.texts
    assert {"1", "2"} <= set(seen.texts)


def test_no_line_stands_out(bench: Any) -> None:
    seen = picture(bench, flutter_spectrum.draw, replace(bench.flutter, lines=()), bench.trace)
    assert seen.told == "No line stands out."


@pytest.mark.parametrize("draw", [flutter.draw, flutter_spectrum.draw])
def test_no_steady_tone_is_said_in_one_sentence(bench: Any, draw: Any) -> None:
    empty = FlutterTrace(
        seconds_a_point=Decimal("0.05"), low=(), high=(), rates_hz=(), depth_percent=()
    )
    for facts, trace in ((None, None), (bench.flutter, None), (bench.flutter, empty)):
        assert flutter.NO_TONE in picture(bench, draw, facts, trace).texts


@pytest.mark.parametrize("draw", [flutter.draw, flutter_spectrum.draw])
@pytest.mark.parametrize("points", [1, 2, 20_000])
def test_any_number_of_points(bench: Any, draw: Any, points: int) -> None:
    trace = FlutterTrace(
        seconds_a_point=Decimal("0.05"),
        low=(0.0,) * points,
        high=(0.0,) * points,
        rates_hz=tuple(0.1 + 0.01 * one for one in range(points)),
        depth_percent=(0.0,) * points,
    )
    octets = draw(bench.flutter, trace, title="a", kind="svg")
    assert len(octets) < 200_000


def test_the_deepest_of_neighbours_is_drawn(bench: Any) -> None:
    depth = [0.0] * 9000
    depth[4321] = 0.07
    trace = replace(
        bench.trace,
        rates_hz=tuple(0.1 + 0.02 * one for one in range(9000)),
        depth_percent=tuple(depth),
    )
    points = flutter_spectrum._points(trace)
    assert len(points) <= 1400
    assert (trace.rates_hz[4321], 0.07) in points
