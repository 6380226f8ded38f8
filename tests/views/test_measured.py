"""What was measured, in the words of the bench."""

from collections.abc import Iterator
from decimal import Decimal

import pytest

from tailsout.ground.pcm import Pcm
from tailsout.records.calibration import CalibrationFacts
from tailsout.records.dossier import FileRecord
from tailsout.records.echo import EchoSide, PrintThrough
from tailsout.records.facts import ContainerFacts
from tailsout.records.machine import Tone
from tailsout.records.reel import Reel, Region, Side
from tailsout.records.scale import ChannelScale, Scale
from tailsout.records.sound import (
    AudioFacts,
    ChannelFacts,
    Dropout,
    Gap,
    Hum,
    HumLevel,
    PairFacts,
    RegionChannel,
    RegionFacts,
    RegionSound,
    SpectralLine,
)
from tailsout.records.tones import FoundTone, ToneAzimuth, ToneChannel, ToneFacts, ToneLevel
from tailsout.records.transfer import Studio, Transfer
from tailsout.records.vocab import RegionKind
from tailsout.views import measured
from tailsout.views.measured import channels, together

RATE = 96_000


def facts(*channels: ChannelFacts, **more: object) -> AudioFacts:
    given: dict[str, object] = {"frames": 60 * RATE, "sample_rate_hz": RATE, "essence_sha256": ""}
    return AudioFacts(**{**given, "channels": channels, **more})  # type: ignore[arg-type]


def shown(lines: Iterator[tuple[str, str]]) -> list[str]:
    return [f"{label} {text}" for label, text in lines]


def test_a_channel_with_everything() -> None:
    channel = ChannelFacts(
        sample_peak_dbfs=Decimal("-1.00"),
        dc_offset_dbfs=Decimal("-70.00"),
        rms_dbfs=Decimal("-20.00"),
        crest_db=Decimal("22.01"),
        noise_floor_dbfs=Decimal("-62.00"),
        effective_bits=16,
        digital_silence_samples=RATE // 2,
        flat_tops=3,
        dropouts=2,
        clipped_runs=1,
    )
    assert shown(channels(facts(channel))) == [
        (
            "channel 1 peak -1.00 dBFS, DC -70.00 dBFS, 1 run at full scale, "
            "RMS -20.00 dBFS, crest 22.01 dB, noise floor -62.00 dBFS, 16 bits in use, "
            "digital silence 0.50 s, 3 flat tops below full scale, which may be the recording's, "
            "2 possible dropouts"
        ),
    ]


def test_a_silent_channel_says_so_and_no_more() -> None:
    assert shown(channels(facts(ChannelFacts()))) == [
        "channel 1 peak nothing to measure, DC nothing to measure, no run at full scale"
    ]


def test_pairs() -> None:
    def told(**pair: object) -> list[str]:
        one = PairFacts(channel=1, **pair)  # type: ignore[arg-type]
        return shown(channels(facts(pairs=(one,))))

    level = {"balance_db": Decimal("0.10"), "correlation": Decimal("0.99")}
    delay = {"delay_us": Decimal("12.50"), "delay_spread_us": Decimal("0.80")}
    assert told() == []
    assert told(**level) == ["1 and 2 balance +0.10 dB, correlation 0.99"]
    assert told(**level, **delay)[0].endswith("channel 2 late by 12.50 µs (±0.80)")
    assert "channel 1 late by 3.00 µs" in told(**level, **delay | {"delay_us": Decimal("-3.00")})[0]
    assert told(**level, is_inverted=True)[0].endswith("possibly an inverted leg")
    assert told(**level, is_dual_mono=True)[0].endswith("consistent with one full-track recording")
    assert told(**level, is_dual_mono=True, is_identical=True)[0].endswith("the same samples")


def test_the_file() -> None:
    hum = Hum(
        mains_hz=50,
        frequency_hz=Decimal("49.20"),
        harmonics=4,
        levels=(HumLevel(channel=1, level_dbfs=Decimal("-64.00")),),
        start=0,
    )
    line = SpectralLine(
        frequency_hz=Decimal("15625.1"),
        nominal_hz=Decimal(15625),
        level_dbfs=Decimal(-80),
        above_floor_db=Decimal("12.00"),
    )
    found = facts(
        bandwidth_hz=Decimal("15900.0"),
        brick_wall_hz=Decimal("16000.0"),
        lines=(line,),
        hum=(hum,),
        hum_ratio=Decimal("0.9840"),
        dropouts=(Dropout(channel=1, start=0, length=900, depth_db=Decimal(9)),),
        dropouts_a_minute=Decimal("1.00"),
        gaps=(
            Gap(start=0, end=2 * RATE, kind="quiet as leader", level_dbfs=Decimal("-89.00")),
            Gap(start=50 * RATE, end=60 * RATE, kind="digital silence"),
        ),
    )
    assert shown(together(found)) == [
        "bandwidth up to 15900.0 Hz, sharp edge at 16000.0 Hz",
        "line 15625.1 Hz, 12.00 dB above the floor, near 15625 Hz",
        "hum 49.20 Hz, 4 lines: -64.00 dBFS on 1",
        "speed possibly hum of the tape by hum of the chain, 0.9840: evidence, not proof",
        "dropouts 1.00 a minute at most, possibly",
        "gap 0:00.000 to 0:02.000: quiet as leader, -89.00 dBFS",
        "gap 0:50.000 to 1:00.000: digital silence",
    ]
    assert shown(together(facts())) == []


def test_many_gaps_are_told_in_few_lines() -> None:
    gaps = tuple(Gap(start=n, end=n + 1, kind="digital silence") for n in range(15))
    told = shown(together(facts(gaps=gaps)))
    assert len(told) == 13
    assert told[-1] == "gap and 3 more: see --json"


def of_region(kind: RegionKind = "programme", **sound: object) -> str:
    """The line of one region of this kind, in a file of 96 kHz."""
    given: dict[str, object] = {"start": 0, "end": RATE, "seconds": 1, "channels": ()}
    part = RegionFacts(region="A1", side="A", sound=RegionSound(**given | sound))  # type: ignore[arg-type]
    region = Region(id="A1", kind=kind, capture="a", start=0)
    transfer = Transfer(
        job_id="",
        package_id="TT-1",
        studio=Studio(),
        reel=Reel(sides=(Side(id="A", regions=(region,)),)),
    )
    pcm = Pcm(is_float=False, sample_rate_hz=RATE, channels=2, container_bits=24, valid_bits=24)
    container = ContainerFacts(form="RIFF", chunks=())
    file = FileRecord(path="a.wav", octets=1, container=container, pcm=pcm, regions=(part,))
    ((label, told),) = measured.regions(file, transfer)
    assert label == "region A A1"
    return told


LEVELS = RegionChannel(rms_dbfs=Decimal("-25.01"), noise_floor_dbfs=Decimal("-57.83"))


def test_a_region() -> None:
    pair = PairFacts(channel=1, balance_db=Decimal("0.10"), correlation=Decimal("0.99"))
    told = of_region(
        channels=(LEVELS, RegionChannel()), pairs=(pair,), bandwidth_hz=Decimal("4043.0")
    )
    assert told == (
        "channel 1 RMS -25.01 dBFS, floor -57.83 dBFS; up to 4043.0 Hz; "
        "1 and 2 balance +0.10 dB, correlation 0.99"
    )
    assert of_region() == "too short to be measured by itself"


@pytest.mark.parametrize("kind", ["leader", "scrap tape", "silence", "blank"])
def test_what_holds_no_programme_has_no_bandwidth(kind: RegionKind) -> None:
    told = of_region(kind, channels=(LEVELS,), bandwidth_hz=Decimal("4043.0"))
    assert told == "channel 1 RMS -25.01 dBFS, floor -57.83 dBFS"


def test_a_tone_has_no_floor_either() -> None:
    told = of_region("line-up tone", channels=(LEVELS,), bandwidth_hz=Decimal("4043.0"))
    assert told == "channel 1 RMS -25.01 dBFS"


def test_a_flat_spectrum_has_no_bandwidth() -> None:
    assert of_region(channels=(LEVELS,), bandwidth_hz=Decimal("48000.0")).endswith("-57.83 dBFS")
    assert of_region(channels=(LEVELS,), bandwidth_hz=Decimal("47990.0")).endswith("to 47990.0 Hz")
    assert shown(together(facts(bandwidth_hz=Decimal("48000.0")))) == []
    assert shown(together(facts(bandwidth_hz=Decimal("47990.0")))) != []


def test_the_scale() -> None:
    channel = ChannelScale(
        channel=1,
        reference_dbfs=Decimal("-18.00"),
        full_scale_nwb_m=Decimal("1985.8"),
        peak_nwb_m=Decimal("1405.9"),
    )
    scale = Scale(
        session="s1",
        setting="7-nab",
        moment="as left",
        tape="ct",
        stated_nwb_m=Decimal(250),
        ring_head_nwb_m=Decimal("250.0"),
        channels=(channel,),
    )
    assert measured.scale(scale) == (
        "channel 1: 0 dBFS is 1985.8 nWb/m, peak 1405.9 nWb/m; by tape ct of 250 nWb/m "
        "(method not stated) at setting 7-nab, as left"
    )


def test_print_through() -> None:
    some = EchoSide(
        tried=9, found=4, delay_s=Decimal("1.2000"), level_db=Decimal("-48.1"), z=Decimal("20.1")
    )
    heard = PrintThrough(
        shortest_s=Decimal("0.71"),
        longest_s=Decimal("2.16"),
        before=some,
        after=EchoSide(tried=3),
        end_out="head",
    )
    assert measured.echoes(heard) == (
        "possible echoes before 4 of 9 sounds, 1.2000 s away at -48.1 dB, after none of 3 sounds, "
        "turns of 0.71 to 2.16 s; consistent with the head having been out"
    )


@pytest.mark.parametrize(("tried", "sounds"), [((9, 3), "12 sounds"), ((1, 0), "1 sound")])
def test_no_print_through(tried: tuple[int, int], sounds: str) -> None:
    before, after = (EchoSide(tried=one) for one in tried)
    heard = PrintThrough(
        shortest_s=Decimal("0.71"), longest_s=Decimal("2.16"), before=before, after=after
    )
    told = f"no echo found beside {sounds}, turns of 0.71 to 2.16 s"
    assert measured.echoes(heard) == told


def calibration(**changes: object) -> CalibrationFacts:
    given: dict[str, object] = {
        "session": "s1",
        "setting": "7-nab",
        "moment": "as left",
        "file": "x.wav",
        "octets": 1,
        "sha256": "a" * 64,
        "packed_in": "REEL-1",
        "tape": "ct",
    }
    return CalibrationFacts(**given | changes)  # type: ignore[arg-type]


def test_a_capture_of_a_calibration_tape() -> None:
    assert measured.calibration(calibration(tape=None)) == (
        "no tape named; capture in package REEL-1; not read"
    )
    assert measured.calibration(calibration(path="data/x.wav", tones=line_up())) == (
        "tape ct; capture data/x.wav; 3 tones; speed +0.0399 %; "
        "channel 1 reference tone -18.00 dBFS; channel 2 late by 3.11 µs (+0.48 arc-minutes); "
        "furthest off channel 2, -0.60 dB at 10000 Hz, beyond tolerance"
    )


def line_up(delay: str = "3.11", angle: str = "0.48", *, is_beyond: bool = True) -> ToneFacts:
    """Three tones: one further off in a wide tolerance, one beyond a narrow one, one fringing."""
    beyond = ToneLevel(channel=2, deviation_db=Decimal("-0.60"), is_within=not is_beyond)
    wide = ToneLevel(channel=1, deviation_db=Decimal("0.90"), is_within=True)
    fringing = ToneLevel(channel=1, deviation_db=Decimal("1.05"), may_be_fringing=True)
    tones = (("63", "63.1", fringing), ("125", "125.1", wide), ("10000", "10004.0", beyond))
    azimuth = ToneAzimuth(
        delay_us=Decimal(delay),
        residual_deg=Decimal(0),
        highest_hz=Decimal(10_000),
        tones=2,
        arc_minutes=Decimal(angle),
    )
    return ToneFacts(
        frames=1,
        sample_rate_hz=RATE,
        tones=tuple(
            FoundTone(
                start=0,
                end=1,
                frequency_hz=Decimal(hertz),
                channels=(level,),
                listed=Tone(frequency_hz=Decimal(nominal)),
            )
            for nominal, hertz, level in tones
        ),
        channels=(
            ToneChannel(channel=1, reference_dbfs=Decimal("-18.00")),
            ToneChannel(channel=2, azimuth=azimuth),
        ),
        methods={},
        fit="fits",
        speed_error_percent=Decimal("0.0399"),
    )


def test_within_tolerance_the_largest_deviation_is_the_furthest() -> None:
    told = measured.calibration(calibration(tones=line_up(is_beyond=False)))
    assert told.endswith("; furthest off channel 1, +0.90 dB at 125 Hz, within tolerance")


def test_a_channel_that_comes_early() -> None:
    told = measured.calibration(calibration(tones=line_up("-3.11", "-0.48")))
    assert "; channel 2 early by 3.11 µs (-0.48 arc-minutes); " in told
