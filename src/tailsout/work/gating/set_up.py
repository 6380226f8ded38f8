"""The set-up sheet: all that somebody at the machine wants to know before a reel is threaded."""

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from tailsout.ground import clock
from tailsout.ground.findings import Finding
from tailsout.ground.units import counted, plain, printable, size, speed
from tailsout.records.dossier import Dossier
from tailsout.records.gate import Entry, Part, Sheet
from tailsout.records.machine import CalibrationTape, Machine
from tailsout.records.playing import SetUp
from tailsout.records.reel import Reel, StockSection
from tailsout.records.transfer import Transfer
from tailsout.rules import answers
from tailsout.rules import recipient as recipient_rules
from tailsout.work.gating import ends, hours, shelf, stops
from tailsout.work.gating.kinds import DISK_TOO_SMALL
from tailsout.work.gating.planned import (
    Planned,
    Wanted,
    Width,
    lasts,
    needs_rf64,
    once,
    sides_of,
)

_RATE_HZ, _BITS, _CHANNELS = 96_000, 24, 2
_RATE = re.compile(r"([0-9]{2,3}(?:\.[0-9])?) ?kHz")
_WIDTH = re.compile(r"([0-9]{2}) ?bit")
_MOST_SAID = 300


@dataclass(frozen=True, slots=True, kw_only=True)
class Room:
    """What is around a job on the day."""

    instant: datetime
    tapes: tuple[CalibrationTape, ...]
    """On the studio's shelf."""
    free_octets: int | None
    """On the disk that the captures go to; None if that is not known."""
    machines: tuple[Machine, ...]
    """Those of the passes, with the hours since they were cared for."""


def sheet(dossier: Dossier, transfer: Transfer, room: Room) -> Sheet:
    """Make the sheet of a job."""
    sides = sides_of(transfer)
    wanted = tuple(once(one for side in sides for one in side.wanted))
    recorder, too_small = _recorder(dossier, transfer, sides, room)
    parts = [
        Part(title="WHICH END", entries=tuple(ends.entries(transfer, [s.side for s in sides]))),
        Part(title="THE TAPE", entries=tuple(_tape(transfer.reel))),
        Part(title="SAID OF IT, NOT FOUND YET", entries=tuple(_said(transfer.reel))),
        *(_side(side, transfer) for side in sides or (_nobodys(),)),
        Part(title="CALIBRATION TAPES", entries=tuple(_tapes(transfer, wanted, room.tapes))),
        Part(title="MACHINE", entries=tuple(_machine(transfer, sides, room))),
        Part(title="RECORDER AND DISK", entries=recorder),
        Part(title="RECIPIENT", entries=tuple(_recipient(transfer, sides))),
        Part(title="THE RECIPIENT ASKS OF THE REEL", entries=tuple(_asked(dossier))),
        Part(title="BY HAND", entries=(Entry(label="threaded by"), Entry(label="at"))),
    ]
    return Sheet(
        title=transfer.package_id,
        subtitle=transfer.reel.title or "",
        on=clock.stamp(room.instant),
        stops=(*stops.stops(dossier, transfer), *too_small),
        cautions=tuple(stops.cautions(transfer, needs_tones=bool(wanted))),
        parts=tuple(part for part in parts if part.entries),
    )


def _nobodys() -> Planned:
    return Planned(side="", runs=(), regions=(), wanted=())


def _tape(reel: Reel) -> Iterator[Entry]:
    ids = ", ".join(one.value for one in reel.identifiers)
    yield Entry(label="identifiers", says=ids or None)
    for section in reel.stock:
        yield Entry(label=f"section {section.id}", says=_section(section))
    if not reel.stock:
        yield Entry(label="base, thickness")
    diameter = f"{plain(reel.diameter_in)} inches" if reel.diameter_in is not None else None
    yield Entry(label="reel", says=_joined(diameter, reel.hub, reel.reel_material))
    yield Entry(label="reel pair", says=reel.original_reel)
    yield Entry(label="oxide", says=f"facing {reel.oxide}" if reel.oxide else None)
    for leader in reel.leaders:
        what = _joined(leader.kind, leader.colour, leader.holds)
        yield Entry(label=f"leader, {leader.end}", says=what)
    for splice in reel.splices:
        yield Entry(label="splice", says=_joined(splice.at, splice.condition, splice.note))
    if not reel.splices:
        yield Entry(label="splices", says=reel.absent.get("splices"))
    for one in reel.condition:
        odour = f"smells of {one.odour}" if one.odour else None
        mould = f"mould {one.mould}" if one.mould else None
        shedding = f"shedding {one.shedding}" if one.shedding else None
        told = _joined(", ".join(one.pack) or None, odour, mould, shedding, one.edges, one.note)
        yield Entry(label=one.moment, says=told)


def _section(section: StockSection) -> str:
    base = section.base or f"BASE {section.absent.get('base', 'not stated').upper()}"
    sure = f"({section.confidence})" if section.confidence and section.base else None
    thick = f"{plain(section.thickness_um)} µm" if section.thickness_um is not None else None
    coat = "back-coated" if section.back_coat else None
    made = " ".join(part for part in (section.maker, section.number) if part)
    return _joined(f"{base} {sure}" if sure else base, thick, coat, made or None) or base


def _said(reel: Reel) -> Iterator[Entry]:
    for one in reel.expectations:
        by = f" ({one.said_by})" if one.said_by else ""
        yield Entry(label=one.about, says=f"{one.expected}{by}")
    for words in reel.inscriptions:
        yield Entry(label=words.place, says=f"“{words.text}”")


def _side(side: Planned, transfer: Transfer) -> Part:
    set_up = side.set_up or SetUp()
    entries = [Entry(label="speed, curve", says=shelf.wanted_text(one)) for one in side.wanted]
    tones = [t for region in side.regions for t in region.tones]
    told = ", ".join(
        _joined(f"{plain(t.frequency_hz)} Hz", t.stated_level, t.used_for) or "" for t in tones
    )
    systems = {r.noise_reduction: None for r in side.regions if r.noise_reduction}
    on_tape = ", ".join(one for one in systems if one and one != "none")
    encoded = f"on the tape: {on_tape}" if on_tape else None
    tracks = ", ".join(dict.fromkeys(r.tracks for r in side.regions if r.tracks))
    channels = max((len(one.channels) for one in side.runs), default=0)
    played = f"file channels {channels}" if channels else None
    minutes = [_minutes(transfer, ips) for ips, _ in side.wanted]
    entries = [
        *(entries or [Entry(label="speed, curve")]),
        Entry(label="tracks", says=_joined(tracks or None, played)),
        Entry(label="line-up tones", says=told or None),
        Entry(label="noise reduction", says=_joined(set_up.noise_reduction, encoded)),
        Entry(label="supply set to", says=set_up.reel_size_supply),
        Entry(label="take-up set to", says=set_up.reel_size_take_up),
        Entry(label="lifters", says=set_up.lifters),
        Entry(label="output", says=_joined(set_up.output_select, set_up.output_tap)),
        Entry(label="expect", says="; ".join(dict.fromkeys(m for m in minutes if m)) or None),
        Entry(label="RECORD INHIBITED", says=set_up.record_inhibited),
    ]
    runs = ", ".join(one.id for one in side.runs)
    title = f"SIDE {side.side}" if side.side else "SIDE ____"
    return Part(title=f"{title}  (pass {runs})" if runs else title, entries=tuple(entries))


def _minutes(transfer: Transfer, ips: Decimal) -> str:
    found = lasts(transfer, ips)
    if found is None:
        return ""
    if found.thick_minutes == found.thin_minutes:
        return f"{found.thin_minutes} min at most at {speed(ips)}"
    return (
        f"{found.thick_minutes} min at most at {speed(ips)}; "
        f"{found.thin_minutes} if the tape is thin"
    )


def _tapes(
    transfer: Transfer, wanted: Iterable[Wanted], tapes: tuple[CalibrationTape, ...]
) -> Iterator[Entry]:
    for one in wanted:
        yield Entry(label="for", says=shelf.wanted_text(one))
        yield Entry(label="  fetch", says=shelf.to_fetch(one, tapes))
        for told in shelf.checked_in(one, transfer.sessions):
            yield Entry(label="  checked", says=told)


def _machine(transfer: Transfer, sides: Iterable[Planned], room: Room) -> Iterator[Entry]:
    is_there = False
    for machine in room.machines:
        is_there = True
        yield Entry(label="machine", says=_joined(machine.maker, machine.model, machine.serial))
        yield Entry(label="head", says=machine.head)
        yield from hours.entries(machine, transfer.recipient, room.instant)
        slow = [ips for side in sides for ips, _ in side.wanted if ips not in machine.speeds_ips]
        if machine.speeds_ips and slow:
            told = ", ".join(dict.fromkeys(speed(one) for one in slow))
            yield Entry(label="NOT ITS SPEED", says=told)
    if not is_there:
        yield Entry(label="machine")
        yield Entry(label="hours since care")


def _recorder(
    dossier: Dossier, transfer: Transfer, sides: tuple[Planned, ...], room: Room
) -> tuple[tuple[Entry, ...], tuple[Finding, ...]]:
    entries, sizes = [], []
    for side in sides:
        width = _width(transfer, side)
        assumed = " (assumed)" if width.is_assumed else ""
        told = f"{plain(Decimal(width.sample_rate_hz) / 1000)} kHz, {width.bits} bit"
        slowest = min((ips for ips, _ in side.wanted), default=None)
        found = lasts(transfer, slowest) if slowest is not None else None
        label = f"side {side.side}"
        if found is None:
            entries.append(Entry(label=label, says=f"{told}, {_channels(width)}{assumed}"))
            continue
        octets = width.octets(found.thick_minutes)
        sizes.append(octets)
        rf64 = "; PAST 4 GiB: RF64, or parts" if needs_rf64(octets) else "; below 4 GiB"
        says = f"{told}, {_channels(width)}{assumed}: {size(octets)} at most{rf64}"
        entries.append(Entry(label=label, says=says))
    free = f"{size(room.free_octets)}" if room.free_octets is not None else None
    entries.append(Entry(label="room on disk", says=free))
    short = room.free_octets is not None and sum(sizes) > room.free_octets
    text = f"{size(sum(sizes))} may be wanted, {free} are free."
    place = dossier.place("/captures")
    return tuple(entries), (DISK_TOO_SMALL.at(place, text),) if short else ()


def _channels(width: Width) -> str:
    return counted(width.channels, "channel")


def _width(transfer: Transfer, side: Planned) -> Width:
    """Take rate and width from what the chain says of converter and recorder."""
    steps = transfer.chain.steps if transfer.chain is not None else ()
    said = " ".join(s.setting for s in steps if s.signal == "digital" and s.setting)[:_MOST_SAID]
    rate, bits = _RATE.search(said), _WIDTH.search(said)
    channels = max((len(one.channels) for one in side.runs), default=0)
    return Width(
        sample_rate_hz=int(Decimal(rate[1]) * 1000) if rate else _RATE_HZ,
        bits=int(bits[1]) if bits else _BITS,
        channels=channels or _CHANNELS,
        is_assumed=not (rate and bits and channels),
    )


def _recipient(transfer: Transfer, sides: Iterable[Planned]) -> Iterator[Entry]:
    recipient = transfer.recipient
    yield Entry(label="for", says=recipient.name or recipient.id if recipient else None)
    changing = ", ".join(side.side for side in sides if side.changes_speed)
    if changing:
        yield Entry(label="speed changes", says=f"on side {changing}")
    if recipient is None:
        return
    stop = recipient.stop_at_speed_change
    if stop is not None:
        words = "wanted: two files" if stop else "not wanted: one file, changed on the run"
        yield Entry(label="stop there", says=words)
    elif changing:
        yield Entry(label="stop there", says="not asked for")
    if recipient.overlap is not None:
        at = ", ".join(recipient.overlap.at)
        yield Entry(label="overlap", says=f"{plain(recipient.overlap.seconds)} s at: {at}")
    elif changing:
        yield Entry(label="overlap", says="not asked for")
    yield Entry(label="photographs", says=", ".join(recipient.images) or "not asked for")
    if recipient.house_rule_end_out is not None:
        yield Entry(label="END OUT after", says=recipient.house_rule_end_out.upper())


def _asked(dossier: Dossier) -> Iterator[Entry]:
    """Yield a line to fill in for all that the recipient requires and the reel would tell."""
    for rule in recipient_rules.RULES:
        if recipient_rules.ASKED_OF_REEL in rule.kinds:
            found = (one for one in rule.run(dossier) if one.kind.needs_reel)
            yield from (Entry(label=answers.dotted(one.place.part)) for one in found)


def _joined(*parts: str | None) -> str | None:
    return printable(", ".join(part for part in parts if part), _MOST_SAID) or None
