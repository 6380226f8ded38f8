"""What calibration captures prove, against what is stated of machine and levels."""

from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal
from typing import Any

import pytest

from tailsout.records.calibration import CalibrationFacts
from tailsout.records.dossier import Dossier, FileRecord
from tailsout.records.machine import Tone
from tailsout.records.playing import SetUp
from tailsout.records.reel import Side
from tailsout.records.scale import ChannelScale, Scale
from tailsout.records.session import CalibrationSetting, Reading, Session
from tailsout.records.tones import FoundTone, ToneChannel, ToneFacts, ToneLevel
from tailsout.records.transfer import Transfer

RunRule = Callable[[str, Dossier], list[tuple[str, str]]]
Stating = Callable[[Transfer], Dossier]
AT = "data/audio/reel.json#/transfer/sessions/0/settings/0"
TAPE = "calibration captures against their tape"
READINGS = "readings against calibration captures"
OUTPUT = "output of readings and of the transfer"
FLUX = "levels as flux"


def tone(hz: str, level: str, **changes: Any) -> FoundTone:
    first = ToneLevel(channel=1, level_dbfs=Decimal(-18), relative_db=Decimal(level), **changes)
    listed = Tone(frequency_hz=Decimal(hz), tolerance_db=Decimal("0.5"))
    return FoundTone(
        start=0, end=48_000, frequency_hz=Decimal(hz), channels=(first,), number=1, listed=listed
    )


def facts(*tones: FoundTone, **changes: Any) -> CalibrationFacts:
    read = ToneFacts(
        frames=96_000,
        sample_rate_hz=48_000,
        tones=tones,
        channels=(ToneChannel(channel=1, reference_dbfs=Decimal(-18)),),
        methods={},
        tape="ct",
        fit="fits",
        speed_error_percent=Decimal("0.04"),
    )
    return CalibrationFacts(
        session="s1",
        setting="7-nab",
        moment="as left",
        file="left.wav",
        octets=1,
        sha256="a" * 64,
        packed_in="REEL-1",
        tape="ct",
        tones=replace(read, **changes),
    )


@pytest.fixture
def stated(transfer: Callable[..., Transfer], stating: Stating) -> Callable[..., Dossier]:
    """A package whose session has one setting, and what its capture showed."""

    def make(*calibrations: CalibrationFacts, **setting: Any) -> Dossier:
        one = CalibrationSetting(id="7-nab", tape="ct", capture="left.wav", **setting)
        known = transfer()
        (side,) = known.reel.sides
        regions = tuple(replace(region, setting="7-nab") for region in side.regions)
        dossier = stating(
            replace(
                known,
                sessions=(Session(id="s1", settings=(one,)),),
                reel=replace(known.reel, sides=(Side(id="A", regions=regions),)),
            )
        )
        return replace(dossier, calibrations=calibrations)

    return make


def test_a_calibration_within_its_certificate_is_silent(
    run: RunRule, stated: Callable[..., Dossier]
) -> None:
    dossier = stated(facts(tone("1000", "0", deviation_db=Decimal("0.1"), is_within=True)))
    assert run(TAPE, dossier) == []


@pytest.mark.parametrize("fit", ["few tones match", "another speed", "no tones"])
def test_tones_of_another_tape(run: RunRule, stated: Callable[..., Dossier], fit: str) -> None:
    assert run(TAPE, stated(facts(fit=fit))) == [("calibration-tones-differ", f"{AT}/capture")]


def test_tones_of_no_tape_and_tones_that_were_not_read_ask_nothing(
    run: RunRule, stated: Callable[..., Dossier]
) -> None:
    assert run(TAPE, stated(facts(fit=None), replace(facts(), tones=None))) == []


def test_a_tone_off_its_certificate(run: RunRule, stated: Callable[..., Dossier]) -> None:
    off = tone("10000", "-1", deviation_db=Decimal("-0.9"), is_within=False)
    found = replace(facts(off), moment="as found")
    assert run(TAPE, stated(found)) == [("calibration-tone-off", f"{AT}/found_capture")]


def test_fringing_is_no_fault_of_the_machine(run: RunRule, stated: Callable[..., Dossier]) -> None:
    low = tone("63", "2", deviation_db=Decimal(2), is_within=False, may_be_fringing=True)
    assert run(TAPE, stated(facts(low))) == []


def reading(level: str | None = None, speed: str | None = None, channel: int = 1) -> Reading:
    return Reading(
        frequency_hz=Decimal(10_000),
        channel=channel,
        level_db=Decimal(level) if level else None,
        speed_error_percent=Decimal(speed) if speed else None,
    )


@pytest.mark.parametrize(
    ("typed", "is_told"),
    [
        (reading("-0.3"), False),
        (reading("-0.8"), False),
        (reading("-0.81"), True),
        (reading("0.3"), True),
        (reading("3", channel=2), False),
        (reading(speed="0.14"), False),
        (reading(speed="0.2"), True),
        (reading(speed="-0.1"), True),
    ],
)
def test_a_reading_and_the_capture(
    run: RunRule, stated: Callable[..., Dossier], typed: Reading, is_told: bool
) -> None:
    dossier = stated(facts(tone("10000", "-0.3")), as_left=(typed,))
    place = f"{AT}/as_left/0"
    assert run(READINGS, dossier) == ([("calibration-readings-differ", place)] if is_told else [])


def test_a_reading_as_found_is_held_against_its_own_capture(
    run: RunRule, stated: Callable[..., Dossier]
) -> None:
    found = replace(facts(tone("10000", "-2")), moment="as found")
    dossier = stated(facts(tone("10000", "0")), found, as_found=(reading("0"),))
    assert run(READINGS, dossier) == [("calibration-readings-differ", f"{AT}/as_found/0")]


def test_one_capture_stands_for_both_where_nothing_was_moved(
    run: RunRule, stated: Callable[..., Dossier]
) -> None:
    typed = (reading("3"),)
    left = facts(tone("10000", "0"))
    told = [("calibration-readings-differ", f"{AT}/as_found/0")]
    nothing = "verified, nothing moved"
    assert run(READINGS, stated(left, as_found=typed, outcome=nothing)) == told
    assert run(READINGS, stated(left, as_found=typed, outcome="adjusted")) == []


def test_readings_of_a_tape_that_does_not_fit_are_held_against_nothing(
    run: RunRule, stated: Callable[..., Dossier]
) -> None:
    dossier = stated(facts(tone("10000", "5"), fit="no tones"), as_left=(reading("0"),))
    assert run(READINGS, dossier) == []


@pytest.mark.parametrize(
    ("point", "used", "is_told"),
    [
        ("the file", SetUp(output_select="repro"), False),
        ("converter's meter", SetUp(output_tap="phones"), False),
        ("phones", SetUp(output_tap="phones"), False),
        ("phones, right ear", SetUp(output_tap="phones"), False),
        ("line", SetUp(output_tap="before the line transformer"), False),
        ("line output", SetUp(output_tap="before the line transformer"), True),
        ("phones", SetUp(output_select="repro", output_tap="direct"), True),
        ("line output", SetUp(), False),
        (None, SetUp(output_tap="phones"), False),
    ],
)
def test_the_output_that_was_read(
    run: RunRule,
    stated: Callable[..., Dossier],
    point: str | None,
    used: SetUp,
    *,
    is_told: bool,
) -> None:
    dossier = stated(reading_point=point)
    assert dossier.transfer is not None
    (first,) = dossier.transfer.passes
    # Two passes that used it are one thing to tell.
    passes = tuple(replace(first, id=name, set_up=used) for name in (first.id, "p2"))
    dossier = replace(dossier, transfer=replace(dossier.transfer, passes=passes))
    told = [("readings-at-another-output", f"{AT}/reading_point")] if is_told else []
    assert run(OUTPUT, dossier) == told


def test_a_pass_that_was_not_kept_may_use_any_output(
    run: RunRule, stated: Callable[..., Dossier]
) -> None:
    dossier = stated(reading_point="line output")
    assert dossier.transfer is not None
    used = SetUp(output_tap="phones")
    passes = tuple(replace(one, set_up=used, kept=False) for one in dossier.transfer.passes)
    dossier = replace(dossier, transfer=replace(dossier.transfer, passes=passes))
    assert run(OUTPUT, dossier) == []


@pytest.mark.parametrize(
    "case",
    [
        ("1986", "1405.9", []),
        ("4000", "2000", []),
        ("4000", "2000.1", ["flux-implausible"]),
        ("1000", None, []),
        ("999.9", "900", ["headroom-little"]),
    ],
)
def test_levels_as_flux(
    run: RunRule,
    received: Callable[..., Dossier],
    file: Callable[..., FileRecord],
    case: tuple[str, str | None, list[str]],
) -> None:
    full_scale, peak, codes = case
    channel = ChannelScale(
        channel=1,
        reference_dbfs=Decimal(-18),
        full_scale_nwb_m=Decimal(full_scale),
        peak_nwb_m=Decimal(peak) if peak else None,
    )
    scale = Scale(
        session="s1",
        setting="7-nab",
        moment="as left",
        tape="ct",
        stated_nwb_m=Decimal(250),
        ring_head_nwb_m=Decimal(250),
        channels=(channel,),
    )
    dossier = received(files=(file(scales=(scale,)),))
    assert run(FLUX, dossier) == [(code, "data/audio/reel.wav") for code in codes]
