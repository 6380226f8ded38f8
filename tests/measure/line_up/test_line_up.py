"""A whole reading against planted truth, and what must give no number."""

import math
from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal
from typing import Any

import numpy as np
import pytest

from tailsout.ground.errors import MaterialError
from tailsout.measure.tone_methods import TONE_METHODS
from tailsout.records.machine import Head
from tailsout.records.tones import ToneFacts
from tailsout.tape.heads import delay_us, spacing_loss_db

RATE = 48_000
SERIES = (
    *(1000, 10_000, 40, 63, 125, 250, 500, 1000, 2000),
    *(4000, 6300, 8000, 10_000, 12_500, 14_000, 16_000, 18_000),
)
HEAD = Head(spacing_mm=Decimal("4.3"))
TUNED, UNSEEN = (1, 2), (11, 12, 13)

Make = Callable[..., Any]


@pytest.mark.parametrize("seed", [*TUNED, *UNSEEN])
def test_a_calibration_tape_with_all_that_befalls_one(
    run: Make, machine: Make, tape_of: Make, reading: Make, seed: int
) -> None:
    chance = np.random.default_rng(seed)
    off = {hz: chance.uniform(-2, 2, 2) for hz in SERIES[1:] if hz != 1000}
    minutes = float(chance.uniform(-4, 4))
    runs = machine(
        speed=float(chance.uniform(-0.02, 0.02)),
        wow=float(chance.uniform(0.0, 0.001)),
        late_us=(0.0, delay_us(minutes, 4.3, 7.5)),
        response=lambda hz, channel: (
            (off[hz][channel] if hz in off else 0.0) - (0.4 if channel else 0.0)
        ),
        hiss_dbfs=-72.0,
        dropouts=((3.05, 0.02, -15.0),),
        seed=seed,
    )
    facts = reading(run(SERIES, runs), RATE, tape_of(SERIES), HEAD).facts
    assert facts.fit == "fits"
    assert facts.reference == 1
    assert facts.missing == ()
    assert [tone.number for tone in facts.tones] == list(range(1, len(SERIES) + 1))
    assert float(facts.speed_error_percent) == pytest.approx(100 * runs.speed, abs=0.02)
    for tone, hz in zip(facts.tones, SERIES, strict=True):
        for at, level in enumerate(tone.channels):
            wanted = off[hz][at] if hz in off else 0.0
            assert float(level.deviation_db) == pytest.approx(wanted, abs=0.04)
            assert level.is_within is (abs(level.deviation_db) <= Decimal("0.5"))
    second = facts.channels[1]
    assert float(second.reference_dbfs) == pytest.approx(-18.4, abs=0.01)
    assert float(second.balance_db) == pytest.approx(-0.4, abs=0.01)
    assert float(second.azimuth.delay_us) == pytest.approx(runs.late_us[1], abs=0.05)
    assert float(second.azimuth.arc_minutes) == pytest.approx(minutes, abs=0.02)
    assert not second.azimuth.may_be_a_cycle_out
    assert facts.channels[0].azimuth is None


def test_the_certificates_own_deviations_count(
    run: Make, machine: Make, tape_of: Make, reading: Make
) -> None:
    """The reference tone of the tape is 0.3 dB high, 10 kHz of it 0.2 dB low."""
    tape = tape_of((1000, 10_000))
    first, second = tape.tones
    second = replace(second, deviation_db=Decimal("-0.2"), level_db=Decimal(-10))
    tape = replace(tape, tones=(replace(first, deviation_db=Decimal("0.3")), second))

    def recorded(hz: float, _channel: int) -> float:
        return 0.3 if hz == 1000 else -10.2

    sound = run((1000, 10_000), machine(response=recorded))
    tones = reading(sound, RATE, tape).facts.tones
    assert tones[1].channels[0].relative_db == Decimal("-10.50")
    assert [tone.channels[0].deviation_db for tone in tones] == [0, 0]


def test_what_the_certificate_does_not_say_is_not_judged(
    run: Make, tape_of: Make, reading: Make
) -> None:
    tape = tape_of((1000, 10_000, 100))
    bare = tuple(replace(one, tolerance_db=None) for one in tape.tones)
    bare = (bare[0], replace(bare[1], level_db=None), bare[2])
    sound = run((1000, 10_000, 100))
    levels = [t.channels[0] for t in reading(sound, RATE, replace(tape, tones=bare)).facts.tones]
    assert [one.deviation_db for one in levels] == [0, None, 0]
    assert [one.is_within for one in levels] == [None, None, None]
    assert [one.relative_db for one in levels] == [0, 0, 0]
    # One that lists nothing judges nothing, and the tones are told.
    facts = reading(sound, RATE, replace(tape, tones=())).facts
    assert (facts.fit, facts.speed_error_percent) == (None, None)
    assert len(facts.tones) == 3


def test_trim_and_spacing_are_told_apart(
    run: Make, machine: Make, tape_of: Make, reading: Make
) -> None:
    """Sheet: a reproducer at 56 µs on a 50 µs tape, 1.2 µm away at 7½ ips."""

    def flux(hz: float, t2: float) -> float:
        return -10 * math.log10(1 + (2 * math.pi * hz * t2 * 1e-6) ** 2)

    def response(hz: float, _channel: int) -> float:
        return flux(hz, 50) - flux(hz, 56) + spacing_loss_db(hz, 1.2, 7.5)

    sound = run(SERIES, machine(response=response, hiss_dbfs=-75.0))
    fit = reading(sound, RATE, tape_of(SERIES)).facts.channels[0].response
    assert float(fit.t2_us) == pytest.approx(56, abs=0.5)
    assert float(fit.spacing_um) == pytest.approx(1.2, abs=0.05)
    assert fit.residual_db < Decimal("0.03")
    assert float(fit.trim_db) == pytest.approx(0.76, abs=0.08)
    without = replace(tape_of(SERIES), equalisation=None)
    assert reading(sound, RATE, without).facts.channels[0].response is None


@pytest.mark.parametrize(
    ("track", "head", "flagged"),
    [
        (None, HEAD, True),
        ("full-track mono", None, True),
        ("full-track mono", Head(track_format="full-track mono"), False),
        ("half-track stereo", HEAD, False),
    ],
)
def test_long_wavelengths_that_read_high_are_flagged_and_not_corrected(
    run: Make,
    tape_of: Make,
    reading: Make,
    track: str | None,
    head: Head | None,
    *,
    flagged: bool,
) -> None:
    lifted = {40: 3.0, 63: 2.0, 125: 0.9, 250: 0.4, 500: 0.8}
    sound = run(SERIES, response=lambda hz, _channel: lifted.get(hz, 0.0))
    tape = replace(tape_of(SERIES), track_format=track)
    tones = reading(sound, RATE, tape, head).facts.tones
    assert {float(t.listed.frequency_hz) for t in tones if t.channels[0].may_be_fringing} == (
        {40.0, 63.0, 125.0} if flagged else set()
    )
    assert tones[2].channels[0].deviation_db == Decimal("3.00")


def test_missing_tones_and_tones_of_no_certificate(run: Make, tape_of: Make, reading: Make) -> None:
    there = (1000, 10_000, 100, 333, 4000)
    facts = reading(run(there), RATE, tape_of((1000, 10_000, 63, 100, 4000))).facts
    assert facts.fit == "fits"
    assert [one.frequency_hz for one in facts.missing] == [63]
    assert [tone.number for tone in facts.tones] == [1, 2, 4, None, 5]
    stray = facts.tones[3]
    assert stray.listed is None
    assert stray.speed_error_percent is None
    assert stray.channels[0].level_dbfs == Decimal("-18.00")
    assert stray.channels[0].deviation_db is None


def test_without_its_reference_tone_nothing_is_told_re_one(
    run: Make, tape_of: Make, reading: Make
) -> None:
    series = (1000, 10_000, 100, 4000)
    facts = reading(run(series[1:]), RATE, tape_of(series)).facts
    assert facts.fit == "fits"
    assert facts.reference is None
    assert facts.channels[0].reference_dbfs is None
    assert {tone.channels[0].relative_db for tone in facts.tones} == {None}
    assert {tone.channels[0].level_dbfs for tone in facts.tones} == {Decimal("-18.00")}


def nothing_held_against_it(facts: ToneFacts) -> bool:
    return (
        facts.speed_error_percent is None
        and facts.reference is None
        and all(tone.number is None and tone.listed is None for tone in facts.tones)
        and all(level.deviation_db is None for tone in facts.tones for level in tone.channels)
        and all(one.response is None and one.reference_dbfs is None for one in facts.channels)
        and all(one.azimuth is None or one.azimuth.arc_minutes is None for one in facts.channels)
    )


@pytest.mark.parametrize(
    ("other", "fit"),
    [
        ((700, 15_000, 333, 90, 5200), "few tones match"),
        (tuple(hz / 2 for hz in SERIES if hz > 40), "another speed"),
    ],
)
def test_another_tape_or_speed_gives_no_number(
    run: Make, tape_of: Make, reading: Make, other: tuple[float, ...], fit: str
) -> None:
    facts = reading(run(other), RATE, tape_of(SERIES), HEAD).facts
    assert facts.fit == fit
    assert len(facts.tones) == len(other)
    assert len(facts.missing) == len(SERIES)
    assert nothing_held_against_it(facts)


@pytest.mark.parametrize("name", ["nothing", "one sample", "silence", "noise", "direct current"])
@pytest.mark.parametrize("rate", [8_000, 192_000])
def test_sound_without_tones(tape_of: Make, reading: Make, rate: int, name: str) -> None:
    sound = {
        "nothing": np.zeros((0, 2)),
        "one sample": np.ones((1, 2)),
        "silence": np.zeros((3 * rate, 2)),
        "noise": np.random.default_rng(3).uniform(-1, 1, (3 * rate, 2)),
        "direct current": np.full((3 * rate, 2), -1.0),
    }[name]
    found = reading(sound, rate, tape_of(SERIES))
    assert found.facts.fit == "no tones"
    assert found.facts.tones == ()
    assert found.facts.frames == len(sound)
    assert found.facts.flutter is None
    assert found.trace is None
    assert nothing_held_against_it(found.facts)
    on_reel = reading(sound, rate, None).facts
    assert (on_reel.fit, on_reel.tones) == (None, ())


def test_a_dead_channel_among_eight(run: Make, machine: Make, tape_of: Make, reading: Make) -> None:
    runs = machine(
        late_us=tuple(2.0 * c for c in range(8)),
        response=lambda _hz, channel: -300.0 if channel == 5 else -0.1 * channel,
    )
    series = (1000, 10_000, 100)
    facts = reading(run(series, runs), RATE, tape_of(series), HEAD).facts
    assert [one.channel for one in facts.channels] == list(range(1, 9))
    dead = facts.channels[5]
    assert (dead.reference_dbfs, dead.balance_db, dead.azimuth) == (None, None, None)
    assert facts.tones[1].channels[5].level_dbfs is None
    assert float(facts.channels[7].balance_db) == pytest.approx(-0.7, abs=0.01)
    assert float(facts.channels[7].azimuth.delay_us) == pytest.approx(14.0, abs=0.01)
    # The spacing is that of two neighbouring tracks; of the others it is not stated.
    assert facts.channels[1].azimuth.arc_minutes is not None
    assert facts.channels[7].azimuth.arc_minutes is None


def test_samples_that_are_no_numbers_are_counted_once(
    run: Make, tape_of: Make, reading: Make
) -> None:
    sound = run((1000, 10_000))
    sound[60_000:60_010, 0] = np.nan
    sound[100:102, 1] = np.inf
    facts = reading(sound, RATE, tape_of((1000, 10_000))).facts
    assert facts.non_finite_samples == 12
    assert facts.tones[0].channels[0].level_dbfs == Decimal("-18.00")
    every = np.full_like(sound, np.nan)
    assert reading(every, RATE, tape_of(SERIES)).facts.fit == "no tones"


def test_the_speed_tone_is_followed(
    play: Make, played: Make, machine: Make, tape_of: Make, reading: Make
) -> None:
    items = [played(seconds=1.2, hz=1000), played(seconds=0.6), played(seconds=9.0, hz=3150)]
    runs = machine(speed=-0.004, wow=0.001, wow_hz=2.5, hiss_dbfs=-80.0)
    found = reading(play(items, runs, RATE), RATE, tape_of((1000, 3150)))
    flutter = found.facts.flutter
    # 2.5 Hz lies between 2 Hz (-0.9 dB) and 4 Hz (0 dB) of the table.
    assert float(flutter.weighted_percent) == pytest.approx(0.094, abs=0.003)
    assert float(flutter.unweighted_rms_percent) == pytest.approx(0.0707, abs=0.002)
    assert float(found.facts.speed_error_percent) == pytest.approx(-0.4, abs=0.003)
    assert flutter.channel in {1, 2}
    assert float(flutter.frequency_hz) == 3137.4
    (line,) = flutter.lines
    assert float(line.frequency_hz) == pytest.approx(2.5, abs=0.02)
    assert float(line.diameter_mm) == pytest.approx(190.5 / math.pi / 2.5, abs=0.3)
    assert line.consistent_with == ("roller",)
    trace = found.trace
    assert len(trace.low) == len(trace.high) <= 2000
    assert len(trace.rates_hz) == len(trace.depth_percent) <= 2000
    assert max(trace.high) == pytest.approx(0.1, abs=0.01)
    # Nobody says what turns how fast where no tape states the speed.
    on_reel = reading(play(items, runs, RATE), RATE, None).facts.flutter
    assert on_reel.weighted_percent == flutter.weighted_percent
    assert [one.diameter_mm for one in on_reel.lines] == [None]


def test_tones_of_the_reel_itself(run: Make, machine: Make, reading: Make) -> None:
    runs = machine(response=lambda hz, channel: -0.2 * channel - (0.5 if hz > 5000 else 0.0))
    facts = reading(run((1000, 10_000, 100), runs), RATE, None, HEAD).facts
    assert (facts.tape, facts.fit, facts.missing) == (None, None, ())
    assert facts.reference == 1
    assert facts.speed_error_percent is None
    assert [float(tone.channels[1].relative_db) for tone in facts.tones] == [0.0, -0.5, 0.0]
    assert [float(tone.channels[1].balance_db) for tone in facts.tones] == [-0.2, -0.2, -0.2]


@pytest.mark.parametrize(("name", "value"), [("sample_rate_hz", 4000), ("channels", 0)])
def test_samples_that_cannot_be_measured(samples_of: Make, name: str, value: int) -> None:
    from tailsout.measure.samples import Samples  # noqa: PLC0415  one place that refuses

    good = samples_of(np.zeros((10, 1)), RATE)
    with pytest.raises(MaterialError):
        Samples(
            good._stream,
            replace(good.pcm, **{name: value}),
            data_offset=0,
            data_octets=40,
            advance=lambda _n: None,
        )


def test_methods_are_in_order_and_are_sentences() -> None:
    assert list(TONE_METHODS) == sorted(TONE_METHODS)
    assert all(text.endswith(".") for text in TONE_METHODS.values())


def test_every_key_of_the_methods_is_one_of_the_facts(reading: Make) -> None:
    from tailsout.mapping import schemas  # noqa: PLC0415  the schema names every key

    definitions = schemas.schema("sidecar-0.1")["$defs"]
    for key in TONE_METHODS:
        node = definitions["tone_facts"]
        for part in key.split("."):
            node = node["properties"][part]
            inside = node.get("items", node)
            if "$ref" in inside:
                node = definitions[inside["$ref"].rpartition("/")[2]]
    assert reading(np.zeros((1, 1)), RATE, None).facts.methods == TONE_METHODS


@pytest.mark.parametrize(("octets", "batch"), [(97, 1), (4001, 1 << 20), (1 << 20, 100_001)])
def test_the_size_of_blocks_changes_nothing(
    run: Make, reading: Make, monkeypatch: pytest.MonkeyPatch, octets: int, batch: int
) -> None:
    sound = run((1000, 10_000), wow=0.001, late_us=(0.0, 9.0), hiss_dbfs=-70.0)
    usual = reading(sound, RATE, None)
    assert len(usual.facts.tones) == 2
    monkeypatch.setattr("tailsout.measure.samples._OCTETS", octets)
    monkeypatch.setattr("tailsout.measure.tones._BATCH_OCTETS", batch)
    assert reading(sound, RATE, None) == usual
