"""What the meters found, in a few lines."""

from collections.abc import Iterator
from decimal import Decimal
from typing import TYPE_CHECKING

from tailsout.ground.units import clock_time

if TYPE_CHECKING:
    from tailsout.records.sound import AudioFacts, ChannelFacts, PairFacts

_GAPS_SHOWN = 12


def figure(value: Decimal | None, unit: str) -> str:
    """Return a figure with its unit, or that there is none."""
    return f"{value} {unit}" if value is not None else "nothing to measure"


def channel_lines(facts: "AudioFacts") -> Iterator[str]:
    """Yield a line or two a channel and one a pair of neighbours."""
    for number, channel in enumerate(facts.channels, start=1):
        runs = f"{channel.clipped_runs} runs" if channel.clipped_runs else "no run"
        yield (
            f"  channel {number}   peak {figure(channel.sample_peak_dbfs, 'dBFS')}, "
            f"DC {figure(channel.dc_offset_dbfs, 'dBFS')}, {runs} at full scale"
        )
        if channel.rms_dbfs is not None:
            yield "              " + ", ".join(_more(channel, facts.sample_rate_hz))
    for pair in facts.pairs:
        told = list(_pair(pair))
        if told:
            yield f"  {f'{pair.channel} and {pair.channel + 1}':11} " + ", ".join(told)


def _more(channel: "ChannelFacts", rate: int) -> Iterator[str]:
    yield f"RMS {channel.rms_dbfs} dBFS"
    yield f"crest {channel.crest_db} dB"
    if channel.noise_floor_dbfs is not None:
        yield f"noise floor {channel.noise_floor_dbfs} dBFS"
    if channel.effective_bits is not None:
        yield f"{channel.effective_bits} bits in use"
    if channel.digital_silence_samples:
        yield f"digital silence {channel.digital_silence_samples / rate:.2f} s"
    if channel.flat_tops:
        yield f"{channel.flat_tops} flat tops below full scale, which may be the recording's"
    if channel.dropouts:
        yield f"{channel.dropouts} possible dropouts"


def _pair(pair: "PairFacts") -> Iterator[str]:
    if pair.balance_db is None:
        return
    yield f"balance {pair.balance_db:+} dB"
    yield f"correlation {pair.correlation}"
    if pair.delay_us is not None:
        late = pair.channel + (pair.delay_us > 0)
        yield f"channel {late} late by {abs(pair.delay_us)} µs (±{pair.delay_spread_us})"
    if pair.may_be_a_cycle_out:
        other = f": {pair.rival_delay_us} µs fits as well" if pair.rival_delay_us else ""
        yield f"which may be a cycle out{other}"
    if pair.is_inverted:
        yield "possibly an inverted leg"
    if pair.is_identical:
        yield "the same samples"
    elif pair.is_dual_mono:
        yield "consistent with one full-track recording"


def file_lines(facts: "AudioFacts") -> Iterator[str]:
    """Yield what concerns all channels together."""
    if facts.bandwidth_hz is not None:
        wall = f", sharp edge at {facts.brick_wall_hz} Hz" if facts.brick_wall_hz else ""
        yield f"  bandwidth   up to {facts.bandwidth_hz} Hz{wall}"
    for line in facts.lines:
        yield (
            f"  line        {line.frequency_hz} Hz, {line.above_floor_db} dB above the floor, "
            f"near {line.nominal_hz} Hz"
        )
    for hum in facts.hum:
        levels = ", ".join(f"{one.level_dbfs} dBFS on {one.channel}" for one in hum.levels)
        yield f"  hum         {hum.frequency_hz} Hz, {hum.harmonics} lines: {levels}"
    if facts.hum_ratio is not None:
        yield (
            f"  speed       possibly hum of the tape by hum of the chain, {facts.hum_ratio}: "
            "evidence, not proof"
        )
    if facts.dropouts and facts.dropouts_a_minute is not None:
        yield f"  dropouts    {facts.dropouts_a_minute} a minute at most, possibly"
    for gap in facts.gaps[:_GAPS_SHOWN]:
        level = "" if gap.level_dbfs is None else f", {gap.level_dbfs} dBFS"
        start, end = (clock_time(one, facts.sample_rate_hz) for one in (gap.start, gap.end))
        yield f"  gap         {start} to {end}: {gap.kind}{level}"
    if len(facts.gaps) > _GAPS_SHOWN:
        yield f"  gap         and {len(facts.gaps) - _GAPS_SHOWN} more: see --json"
