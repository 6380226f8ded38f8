"""What was measured, told to people: each line is a label and its text."""

from collections.abc import Iterator
from decimal import Decimal

from tailsout.ground.units import clock_time, counted, plain
from tailsout.records.calibration import CalibrationFacts
from tailsout.records.dossier import FileRecord
from tailsout.records.echo import PrintThrough
from tailsout.records.scale import Scale
from tailsout.records.sound import (
    AudioFacts,
    ChannelFacts,
    KeptOverview,
    PairFacts,
    RegionFacts,
    RegionSound,
)
from tailsout.records.tones import FoundTone, ToneFacts
from tailsout.records.transfer import Transfer
from tailsout.records.vocab import RegionKind
from tailsout.views.rows import row

Told = Iterator[tuple[str, str]]

_GAPS_SHOWN = 12
_WITHOUT_PROGRAMME = frozenset[RegionKind](
    {"line-up tone", "leader", "scrap tape", "silence", "blank"}
)
"""What has no bandwidth of its own."""


def figure(value: Decimal | None, unit: str) -> str:
    """Return a figure with its unit, or that there is none."""
    return f"{value} {unit}" if value is not None else "nothing to measure"


def facts(found: AudioFacts) -> Iterator[str]:
    """Yield the rows of a page about a file."""
    for label, value, unit in (
        ("loudness", found.integrated_lufs, "LUFS integrated"),
        ("loudness range", found.range_lu, "LU"),
        ("momentary maximum", found.momentary_max_lufs, "LUFS"),
        ("short-term maximum", found.short_term_max_lufs, "LUFS"),
        ("true peak", found.true_peak_dbtp, "dBTP"),
        ("sample peak", found.sample_peak_dbfs, "dBFS"),
    ):
        yield from row(label, f"{value} {unit}" if value is not None else None)
    for label, text in (*channels(found), *together(found)):
        yield from row(label, text)
    yield from row("samples' SHA-256", found.essence_sha256)


def channels(facts: AudioFacts) -> Told:
    """Yield a line a channel and one a pair of neighbours."""
    for number, channel in enumerate(facts.channels, start=1):
        runs = counted(channel.clipped_runs, "run") if channel.clipped_runs else "no run"
        told = [
            f"peak {figure(channel.sample_peak_dbfs, 'dBFS')}",
            f"DC {figure(channel.dc_offset_dbfs, 'dBFS')}",
            f"{runs} at full scale",
        ]
        if channel.rms_dbfs is not None:
            told += _more(channel, facts.sample_rate_hz)
        yield f"channel {number}", ", ".join(told)
    yield from pairs(facts.pairs)


def pairs(every: tuple[PairFacts, ...]) -> Told:
    """Yield a line a pair of neighbouring channels that shows something."""
    for pair in every:
        told = list(_pair(pair))
        if told:
            yield f"{pair.channel} and {pair.channel + 1}", ", ".join(told)


def _more(channel: ChannelFacts, rate: int) -> Iterator[str]:
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


def _pair(pair: PairFacts) -> Iterator[str]:
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


def together(facts: AudioFacts) -> Told:
    """Yield what concerns all channels together."""
    if facts.bandwidth_hz is not None and _has_edge(facts.bandwidth_hz, facts.sample_rate_hz):
        wall = f", sharp edge at {facts.brick_wall_hz} Hz" if facts.brick_wall_hz else ""
        yield "bandwidth", f"up to {facts.bandwidth_hz} Hz{wall}"
    for line in facts.lines:
        above = f"{line.above_floor_db} dB above the floor"
        yield "line", f"{line.frequency_hz} Hz, {above}, near {line.nominal_hz} Hz"
    yield from _hum(facts)
    if facts.dropouts and facts.dropouts_a_minute is not None:
        yield "dropouts", f"{facts.dropouts_a_minute} a minute at most, possibly"
    for gap in facts.gaps[:_GAPS_SHOWN]:
        level = "" if gap.level_dbfs is None else f", {gap.level_dbfs} dBFS"
        start, end = (clock_time(one, facts.sample_rate_hz) for one in (gap.start, gap.end))
        yield "gap", f"{start} to {end}: {gap.kind}{level}"
    if len(facts.gaps) > _GAPS_SHOWN:
        yield "gap", f"and {len(facts.gaps) - _GAPS_SHOWN} more: see --json"


def _hum(facts: AudioFacts | RegionSound) -> Told:
    for hum in facts.hum:
        levels = ", ".join(f"{one.level_dbfs} dBFS on {one.channel}" for one in hum.levels)
        yield "hum", f"{hum.frequency_hz} Hz, {hum.harmonics} lines: {levels}"
    if facts.hum_ratio is not None:
        evidence = "evidence, not proof"
        yield (
            "speed",
            f"possibly hum of the tape by hum of the chain, {facts.hum_ratio}: {evidence}",
        )


def _has_edge(bandwidth_hz: Decimal, rate: int) -> bool:
    # Of a spectrum that is flat from end to end half the sample rate is measured.
    return 2 * bandwidth_hz < rate


def regions(file: FileRecord, transfer: Transfer | None) -> Told:
    """Yield what was measured of each region in a file."""
    kinds = {
        (side.id, one.id): one.kind
        for side in (transfer.reel.sides if transfer is not None else ())
        for one in side.regions
    }
    rate = file.pcm.sample_rate_hz if file.pcm is not None else 0
    for part in file.regions:
        kind = kinds.get((part.side, part.region))
        yield f"region {part.side} {part.region}", _region(part, kind, rate)


def _region(one: RegionFacts, kind: RegionKind | None, rate: int) -> str:
    told = []
    for number, channel in enumerate(one.sound.channels, start=1):
        floor = channel.noise_floor_dbfs if kind != "line-up tone" else None
        levels = [
            f"{name} {level} dBFS"
            for name, level in (("RMS", channel.rms_dbfs), ("floor", floor))
            if level is not None
        ]
        if levels:
            told.append(f"channel {number} {', '.join(levels)}")
    band = one.sound.bandwidth_hz
    if band is not None and kind not in _WITHOUT_PROGRAMME and _has_edge(band, rate):
        told.append(f"up to {band} Hz")
    told += [f"{label} {text}" for label, text in (*pairs(one.sound.pairs), *_hum(one.sound))]
    return "; ".join(told) or "too short to be measured by itself"


def scale(one: Scale) -> str:
    """Return what flux the levels of a file stand for, in one line."""
    told = []
    for channel in one.channels:
        peak = f", peak {channel.peak_nwb_m} nWb/m" if channel.peak_nwb_m is not None else ""
        told.append(f"channel {channel.channel}: 0 dBFS is {channel.full_scale_nwb_m} nWb/m{peak}")
    by = one.stated_by or "method not stated"
    return (
        f"{'; '.join(told)}; by tape {one.tape} of {one.stated_nwb_m} nWb/m ({by}) at setting"
        f" {one.setting}, {one.moment}"
    )


def from_afar(seen: KeptOverview) -> str:
    """Return what a side-car keeps for drawing, in one line."""
    columns = len(seen.channels[0].high.split()) if seen.channels else 0
    across = len(seen.spectrogram.levels[0].split()) if seen.spectrogram.levels else 0
    return (
        f"waveform: {columns} columns of {plain(seen.seconds_a_column)} s; "
        f"spectrogram: {across} of {plain(seen.spectrogram.seconds_a_column)} s"
    )


def echoes(heard: PrintThrough) -> str:
    """Return what was found of print-through, in one line."""
    turns = f"turns of {heard.shortest_s} to {heard.longest_s} s"
    if not heard.before.found and not heard.after.found:
        tried = heard.before.tried + heard.after.tried
        sounds = counted(tried, "sound")
        return f"no echo found beside {sounds}, {turns}"
    told = [
        f"{name} {side.found} of {side.tried} sounds, {side.delay_s} s away at {side.level_db} dB"
        if side.found
        else f"{name} none of {side.tried} sounds"
        for name, side in (("before", heard.before), ("after", heard.after))
    ]
    end = f"; consistent with the {heard.end_out} having been out" if heard.end_out else ""
    return f"possible echoes {', '.join(told)}, {turns}{end}"


def calibration(one: CalibrationFacts) -> str:
    """Return what was read of a capture of a calibration tape, in one line."""
    where = one.path if one.path is not None else f"in package {one.packed_in}"
    told = [f"tape {one.tape}" if one.tape else "no tape named", f"capture {where}"]
    if one.tones is None:
        return "; ".join([*told, "not read"])
    return "; ".join([*told, *_tones(one.tones)])


def _tones(tones: ToneFacts) -> Iterator[str]:
    if tones.fit is not None and tones.fit != "fits":
        yield f"these are not its tones: {tones.fit}"
    yield counted(len(tones.tones), "tone") + (
        f", {len(tones.missing)} missing" if tones.missing else ""
    )
    if tones.speed_error_percent is not None:
        yield f"speed {tones.speed_error_percent:+} %"
    for channel in tones.channels:
        if channel.reference_dbfs is not None:
            yield f"channel {channel.channel} reference tone {channel.reference_dbfs} dBFS"
        if channel.azimuth is not None:
            delay, angle = channel.azimuth.delay_us, channel.azimuth.arc_minutes
            minutes = f" ({angle:+} arc-minutes)" if angle is not None else ""
            late = "early" if delay < 0 else "late"
            yield f"channel {channel.channel} {late} by {abs(delay)} µs{minutes}"
    yield from _furthest(tones.tones)
    if tones.flutter is not None:
        yield f"flutter ± {tones.flutter.weighted_percent} % weighted, 2-sigma style"


def _furthest(tones: tuple[FoundTone, ...]) -> Iterator[str]:
    off = [
        # A tone beyond a narrow tolerance matters more than one further off within a wide one.
        ((level.is_within is False, abs(level.deviation_db)), tone, level)
        for tone in tones
        for level in tone.channels
        if level.deviation_db is not None and not level.may_be_fringing
    ]
    if off:
        _, tone, level = max(off, key=lambda one: one[0])
        hertz = tone.listed.frequency_hz if tone.listed is not None else tone.frequency_hz
        within = {True: "within", False: "beyond", None: "no"}[level.is_within]
        yield (
            f"furthest off channel {level.channel}, {level.deviation_db:+} dB at {plain(hertz)} Hz,"
            f" {within} tolerance"
        )
