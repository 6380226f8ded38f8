"""What `measure` prints of figures, in the words of the bench."""

from collections.abc import Iterator
from decimal import Decimal

from tailsout.doors.cli.hearing import channel_lines, file_lines
from tailsout.records.sound import (
    AudioFacts,
    ChannelFacts,
    Dropout,
    Gap,
    Hum,
    HumLevel,
    PairFacts,
    SpectralLine,
)

RATE = 96_000


def facts(*channels: ChannelFacts, **more: object) -> AudioFacts:
    given: dict[str, object] = {"frames": 60 * RATE, "sample_rate_hz": RATE, "essence_sha256": ""}
    return AudioFacts(**{**given, "channels": channels, **more})  # type: ignore[arg-type]


def shown(lines: Iterator[str]) -> list[str]:
    return [" ".join(line.split()) for line in lines]


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
    assert shown(channel_lines(facts(channel))) == [
        "channel 1 peak -1.00 dBFS, DC -70.00 dBFS, 1 runs at full scale",
        (
            "RMS -20.00 dBFS, crest 22.01 dB, noise floor -62.00 dBFS, 16 bits in use, "
            "digital silence 0.50 s, 3 flat tops below full scale, which may be the recording's, "
            "2 possible dropouts"
        ),
    ]


def test_a_silent_channel_says_so_and_no_more() -> None:
    assert shown(channel_lines(facts(ChannelFacts()))) == [
        "channel 1 peak nothing to measure, DC nothing to measure, no run at full scale"
    ]


def test_pairs() -> None:
    def told(**pair: object) -> list[str]:
        one = PairFacts(channel=1, **pair)  # type: ignore[arg-type]
        return shown(channel_lines(facts(pairs=(one,))))

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
    assert shown(file_lines(found)) == [
        "bandwidth up to 15900.0 Hz, sharp edge at 16000.0 Hz",
        "line 15625.1 Hz, 12.00 dB above the floor, near 15625 Hz",
        "hum 49.20 Hz, 4 lines: -64.00 dBFS on 1",
        "speed possibly hum of the tape by hum of the chain, 0.9840: evidence, not proof",
        "dropouts 1.00 a minute at most, possibly",
        "gap 0:00.000 to 0:02.000: quiet as leader, -89.00 dBFS",
        "gap 0:50.000 to 1:00.000: digital silence",
    ]
    assert shown(file_lines(facts())) == []


def test_many_gaps_are_told_in_few_lines() -> None:
    gaps = tuple(Gap(start=n, end=n + 1, kind="digital silence") for n in range(15))
    told = shown(file_lines(facts(gaps=gaps)))
    assert len(told) == 13
    assert told[-1] == "gap and 3 more: see --json"
