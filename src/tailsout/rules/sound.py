"""What the samples show, against what is stated of the tape and the signal chain.

Evidence, never proof: on a flat transfer what looks wrong may be the recording. Every limit is
common practice, so nothing here is more than a query.
"""

import math
from collections.abc import Iterator
from decimal import Decimal

from tailsout.ground.findings import Finding, Kind, Place, Severity
from tailsout.ground.units import clock_time, printable, times
from tailsout.records.dossier import Dossier, Examined, FileRecord
from tailsout.records.reel import Region
from tailsout.records.sound import AudioFacts, ChannelFacts, Hum, RegionFacts
from tailsout.rules.rule import Rule, transfer_of
from tailsout.tape.bandwidth import implausible_above_hz

HUM_OFF = Kind(
    code="recorded-hum-off",
    severity=Severity.QUERY,
    title="Hum on the tape does not sit where the stated speed would put it",
    basis="common practice, no source: recorded hum moves with the speed, the chain's own does not",
    remedy="The engineer says what the speed rests on; mains and machines of old were off too.",
)
BANDWIDTH_HIGH = Kind(
    code="bandwidth-above-speed",
    severity=Severity.QUERY,
    title="A region holds higher frequencies than its speed is known to record",
    basis="common practice, no source: the reach of each speed, a quarter more allowed",
    remedy="The engineer says whether speed and generation are right; noise may pass for sound.",
)
BRICK_WALL = Kind(
    code="brick-wall",
    severity=Severity.QUERY,
    title="The spectrum ends abruptly, well below what the file could hold",
    basis="common practice, no source: tape falls off slowly, low rates and lossy coding do not",
    remedy="The engineer says what stood between the tape and the file.",
)
INVERTED = Kind(
    code="channel-perhaps-inverted",
    severity=Severity.QUERY,
    title="Two channels are alike and opposite: possibly an inverted leg",
    basis="common practice, no source: a correlation of -0.3 or less",
    remedy="The engineer says whether the recording is so; nothing is to be turned in the master.",
)
ONE_TRACK_TWICE = Kind(
    code="one-track-on-two-channels",
    severity=Severity.NOTE,
    title="Two channels of a region stated as stereo hold one and the same track",
    basis="common practice, no source: alike in level and wholly coherent",
    remedy="Nothing to do; perhaps the recording is mono, and the track format is another.",
)
BITS_UNUSED = Kind(
    code="bits-unused",
    severity=Severity.QUERY,
    title="The lowest bits of all samples are empty",
    basis="own rule: a converter fills all bits with noise at least",
    remedy="The engineer says which step shortened the samples: the file holds less than it says.",
)
CHANNEL_SILENT = Kind(
    code="channel-silent",
    severity=Severity.QUERY,
    title="A channel holds nothing but zeros",
    basis="own rule: a connected converter gives noise, if nothing else",
    remedy="The engineer says whether that channel was meant to be captured.",
    needs_reel=True,
)
FULL_SCALE = Kind(
    code="full-scale-runs",
    severity=Severity.NOTE,
    title="Samples lie at full scale in a row",
    basis="common practice, no source: three or more in a row are taken for clipping",
    remedy="Nothing to do afterwards; whether it is the recording or the capture can be heard.",
)
FLAT_TOPS = Kind(
    code="flat-tops",
    severity=Severity.NOTE,
    title="Peaks are cut off flat, below full scale",
    basis="common practice, no source: equal highest samples in a row",
    remedy="Nothing to do; it may be the recording, or a stage before the converter.",
)
DC_HIGH = Kind(
    code="dc-offset-high",
    severity=Severity.NOTE,
    title="The samples do not swing evenly about zero",
    basis="common practice, no source: a mean above -60 dBFS",
    remedy="Nothing to do in the master; a lopsided recording does this too.",
)
CHAIN_NOISE = Kind(
    code="chain-noise-near",
    severity=Severity.NOTE,
    title="The noise of the chain at rest is near that of the recording",
    basis="common practice, no source: less than 6 dB below its quietest half second",
    remedy="Nothing to do afterwards; what is heard in pauses is partly the machine.",
)
CYCLE_DOUBT = Kind(
    code="azimuth-may-be-a-cycle-out",
    severity=Severity.NOTE,
    title="Two delays between the channels fit the programme nearly as well",
    basis="common practice, no source: a phase meter cannot tell a whole cycle",
    remedy="Nothing to do; the delay that is given may be the wrong one of the two.",
)

_HUM_APART = Decimal("0.01")
_DC_DBFS = Decimal(-60)
_CHANCE_DB = 12.0
"""Four standard errors of a mean."""
_NEAR_DB = Decimal(6)
_OPPOSITE = Decimal("-0.3")
"""Wide rooms are a little opposite too."""
_STEREO = frozenset({"half-track stereo", "quarter-track stereo"})
_MEASURED: frozenset[Examined] = frozenset({"statements", "measurements"})


def _measured(dossier: Dossier) -> Iterator[tuple[FileRecord, AudioFacts]]:
    for file in dossier.files:
        facts = file.measured or (file.stated.measured if file.stated is not None else None)
        if facts is not None and file.capture is not None:
            yield file, facts


def _parts(dossier: Dossier) -> Iterator[tuple[FileRecord, Region, RegionFacts, Place]]:
    """Yield every measured region with what is stated of it, and where."""
    stated = {
        (side.id, region.id): (region, dossier.place(f"/reel/sides/{s}/regions/{r}"))
        for s, side in enumerate(transfer_of(dossier).reel.sides)
        for r, region in enumerate(side.regions)
    }
    for file in dossier.files:
        for part in file.regions:
            if (part.side, part.region) in stated:
                region, place = stated[part.side, part.region]
                yield file, region, part, place


def _hum(dossier: Dossier) -> Iterator[Finding]:
    for file, region, part, place in _parts(dossier):
        if region.kind != "programme":
            continue
        at_rest = _chain_hum(dossier, file.capture)
        pair = _apart(part.sound.hum, at_rest)
        if pair is None:
            continue
        chain, recorded = pair
        percent = (recorded / chain - 1) * 100
        text = (
            f"hum at {recorded} Hz beside {chain} Hz of the chain: consistent with a tape that runs"
            f" {abs(percent):.1f} % {'slow' if percent < 0 else 'fast'}."
        )
        yield HUM_OFF.at(place, text)


def _chain_hum(dossier: Dossier, capture: str | None) -> tuple[Hum, ...]:
    return tuple(
        hum
        for one in dossier.at_rest
        if capture in one.captures and one.measured is not None
        for hum in one.measured.hum
    )


def _apart(heard: tuple[Hum, ...], at_rest: tuple[Hum, ...]) -> tuple[Decimal, Decimal] | None:
    """Return the hum of the chain and of the tape where they are a per cent apart or more."""
    chains = at_rest or heard[:1]
    for chain in chains:
        for one in heard:
            same_mains = one.mains_hz == chain.mains_hz
            if same_mains and abs(one.frequency_hz / chain.frequency_hz - 1) >= _HUM_APART:
                return chain.frequency_hz, one.frequency_hz
    return None


def _bandwidth(dossier: Dossier) -> Iterator[Finding]:
    for _, region, part, place in _parts(dossier):
        edge = part.sound.bandwidth_hz
        if region.kind != "programme" or edge is None or region.speed_ips is None:
            continue
        highest = implausible_above_hz(float(region.speed_ips))
        if edge > highest:
            text = f"it reaches {edge} Hz; at {region.speed_ips} ips {highest:.0f} Hz is a lot."
            yield BANDWIDTH_HIGH.at(place, text)


def _wall(dossier: Dossier) -> Iterator[Finding]:
    for file, facts in _measured(dossier):
        if facts.brick_wall_hz is not None:
            text = f"it ends at {facts.brick_wall_hz} Hz, in a file of {facts.sample_rate_hz} Hz."
            yield BRICK_WALL.at(Place(file=printable(file.path)), text)


def _channels(dossier: Dossier) -> Iterator[Finding]:
    for file, facts in _measured(dossier):
        place = Place(file=printable(file.path))
        for pair in facts.pairs:
            both = f"channels {pair.channel} and {pair.channel + 1}"
            if pair.is_inverted and (pair.correlation or 0) <= _OPPOSITE:
                yield INVERTED.at(place, f"{both} are opposite: correlation {pair.correlation}.")
            if pair.may_be_a_cycle_out:
                delays = f"{pair.delay_us} µs and with one of {pair.rival_delay_us} µs"
                yield CYCLE_DOUBT.at(place, f"{both} fit with a delay of {delays}.")
        silent = [
            n for n, one in enumerate(facts.channels, start=1) if one.sample_peak_dbfs is None
        ]
        if silent and facts.frames:
            which = ", ".join(map(str, silent))
            text = f"nothing but zeros in channel {which} of {len(facts.channels)}."
            yield CHANNEL_SILENT.at(place, text)
    for _, region, part, place in _parts(dossier):
        if region.tracks in _STEREO and any(pair.is_dual_mono for pair in part.sound.pairs):
            text = f"both channels are alike; it is stated as {region.tracks}."
            yield ONE_TRACK_TWICE.at(place, text)


def _bits(dossier: Dossier) -> Iterator[Finding]:
    for file, facts in _measured(dossier):
        used = [one.effective_bits for one in facts.channels if one.effective_bits is not None]
        if used and file.pcm is not None and max(used) < file.pcm.valid_bits:
            text = f"{max(used)} of {file.pcm.valid_bits} bits are in use."
            yield BITS_UNUSED.at(Place(file=printable(file.path)), text)


def _levels(dossier: Dossier) -> Iterator[Finding]:
    for file, facts in _measured(dossier):
        place = Place(file=printable(file.path))
        for number, one in enumerate(facts.channels, start=1):
            if one.clipped_runs:
                first = next((r for r in facts.clipped_runs if r.channel == number), None)
                at = f", first at {clock_time(first.start, facts.sample_rate_hz)}" if first else ""
                text = f"channel {number} is at full scale {times(one.clipped_runs)}{at}."
                yield FULL_SCALE.at(place, text)
            if one.flat_tops:
                often, level = times(one.flat_tops), one.sample_peak_dbfs
                text = f"channel {number} is cut off {often} at {level} dBFS."
                yield FLAT_TOPS.at(place, text)
            if _is_off_zero(one, facts.frames):
                text = f"the mean of channel {number} is {one.dc_offset_dbfs} dBFS off zero."
                yield DC_HIGH.at(place, text)


def _is_off_zero(one: ChannelFacts, frames: int) -> bool:
    """Tell whether a mean is high, and higher than so few such samples give by chance."""
    mean, level = one.dc_offset_dbfs, one.rms_dbfs
    if mean is None or level is None or mean <= _DC_DBFS:
        return False
    return float(mean) > float(level) - 10 * math.log10(frames) + _CHANCE_DB


def _rest(dossier: Dossier) -> Iterator[Finding]:
    for file, facts in _measured(dossier):
        for one in dossier.at_rest:
            if file.capture not in one.captures or one.measured is None:
                continue
            for number, (heard, still) in enumerate(
                zip(facts.channels, one.measured.channels, strict=False), start=1
            ):
                floor, chain = heard.noise_floor_dbfs, still.noise_floor_dbfs
                if floor is not None and chain is not None and chain > floor - _NEAR_DB:
                    text = f"channel {number}: {chain} dBFS at rest, {floor} dBFS in the recording."
                    yield CHAIN_NOISE.at(Place(file=printable(file.path)), text)


RULES = (
    Rule(name="speed by recorded hum", kinds=(HUM_OFF,), needs=_MEASURED, run=_hum),
    Rule(name="bandwidth by speed", kinds=(BANDWIDTH_HIGH,), needs=_MEASURED, run=_bandwidth),
    Rule(name="end of the spectrum", kinds=(BRICK_WALL,), needs=_MEASURED, run=_wall),
    Rule(
        name="channels by their sound",
        kinds=(INVERTED, CYCLE_DOUBT, CHANNEL_SILENT, ONE_TRACK_TWICE),
        needs=_MEASURED,
        run=_channels,
    ),
    Rule(name="bits in use", kinds=(BITS_UNUSED,), needs=_MEASURED, run=_bits),
    Rule(
        name="levels of the samples",
        kinds=(FULL_SCALE, FLAT_TOPS, DC_HIGH),
        needs=_MEASURED,
        run=_levels,
    ),
    Rule(name="chain at rest", kinds=(CHAIN_NOISE,), needs=_MEASURED, run=_rest),
)
