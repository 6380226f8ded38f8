"""A page of plain text about a package, a job or an audio file, for a stranger to the trade."""

from collections.abc import Iterable, Iterator, Mapping
from decimal import Decimal
from textwrap import wrap

from tailsout.ground.findings import Finding
from tailsout.ground.units import clock_time, printable, size, speed
from tailsout.mapping.history import equalisation_text
from tailsout.records.dossier import Dossier, FileRecord
from tailsout.records.facts import AudioFacts, Embedded
from tailsout.records.machine import Chain, Machine, Pass, SetUp
from tailsout.records.reel import Event, Reel, Region
from tailsout.records.transfer import Transfer
from tailsout.tape.speed import tape_feet

_WIDTH = 92
_LABEL = 22

_Lines = Iterator[str]


def render(dossier: Dossier, findings: tuple[Finding, ...], assets: Mapping[str, bytes]) -> bytes:
    """Return the page in UTF-8. `assets` holds nothing that this view needs."""
    del assets
    lines = [*_package(dossier)]
    if dossier.transfer is not None:
        lines += _transfer(dossier.transfer, dossier)
    for file in dossier.files:
        lines += _file(file)
    if findings:
        lines += _heading("Findings")
        for finding in findings:
            lines += _row(finding.kind.severity.value, f"{finding.place}: {finding.text}")
    return ("\n".join(lines).strip("\n") + "\n").encode("utf-8")


def _heading(text: str) -> _Lines:
    yield ""
    yield text
    yield "-" * len(text)


def _row(label: str, value: str | None) -> _Lines:
    """One labelled value, wrapped; nothing if there is no value."""
    if not value:
        return
    width = _WIDTH - _LABEL
    first, *rest = wrap(printable(value), width, break_on_hyphens=False) or [""]
    yield f"{printable(label):<{_LABEL - 1}} {first}"
    yield from (f"{'':<{_LABEL}}{line}" for line in rest)


def _absent(absent: Mapping[str, str]) -> list[str]:
    """Say what is not there, and why: `number unknown`."""
    return [f"{key.replace('_', ' ')} {absent[key]}" for key in sorted(absent)]


def _package(dossier: Dossier) -> _Lines:
    package = dossier.package
    if package is None:
        return
    payload = [file for file in package.files if file.path.startswith("data/")]
    yield f"Package {printable(package.name)}"
    yield from _row("bag version", package.bagit_version or "none: this is no bag")
    octets = sum(file.octets for file in payload)
    yield from _row("payload", f"{len(payload)} files, {size(octets)}")
    for line in package.bag_info:
        yield from _row(line.label, line.value)
    if dossier.transfer is None:
        yield ""
        yield "No side-car of ours: this shows what the bag and its files say of themselves."


def _transfer(transfer: Transfer, dossier: Dossier) -> _Lines:
    yield from _heading(f"The reel: {printable(transfer.reel.title or transfer.package_id)}")
    yield from _reel(transfer.reel)
    yield from _sides(transfer.reel, dossier)
    yield from _events("What was done to it", transfer.reel.events)
    for one in transfer.passes:
        yield from _pass(one)
    for machine in transfer.machines:
        yield from _machine(machine)
    if transfer.chain is not None:
        yield from _chain(transfer.chain)
    yield from _people(transfer)


def _reel(reel: Reel) -> _Lines:
    for identifier in reel.identifiers:
        by = f", given by {identifier.assigned_by}" if identifier.assigned_by else ""
        yield from _row(identifier.kind or "identifier", f"{identifier.value}{by}")
    for words in reel.inscriptions:
        found = f" Found: {words.found}" if words.found else ""
        yield from _row(f"on the {words.place}", f"“{words.text}”{found}")
    for stock in reel.stock:
        name = " ".join(part for part in (stock.maker, stock.number) if part)
        told = f", told by {', '.join(stock.base_told_by)}" if stock.base_told_by else ""
        sure = f", {stock.confidence}" if stock.confidence else ""
        base = f"{stock.base}{told}{sure}" if stock.base else ""
        parts = (name, base, *_absent(stock.absent), stock.note)
        text = "; ".join(part for part in parts if part)
        yield from _row(f"tape section {stock.id}", text or "nothing known")
    yield from _row("end out on arrival", reel.end_out_on_arrival)
    yield from _row("end out on leaving", reel.end_out_on_leaving)
    yield from _row("last motion", reel.last_motion)
    yield from _row("note", reel.note)
    yield from _row("not stated", "; ".join(_absent(reel.absent)))


def _sides(reel: Reel, dossier: Dossier) -> _Lines:
    rates = {f.capture: f.pcm.sample_rate_hz for f in dossier.files if f.pcm and f.capture}
    ends = {f.capture: f.frames for f in dossier.files if f.frames and f.capture}
    for side in reel.sides:
        title = f": {printable(side.title)}" if side.title else ""
        yield from _heading(f"Side {printable(side.id)}{title}")
        for region in side.regions:
            rate = rates.get(region.capture)
            end = region.end if region.end is not None else ends.get(region.capture)
            text = _region_text(region)
            if rate and end and region.speed_ips is not None:
                seconds = Decimal(end - region.start) / rate
                text += f"; {round(tape_feet(seconds, region.speed_ips))} ft of tape"
            yield from _row(_stretch(region.start, end, rate), text)


def _stretch(start: int, end: int | None, rate: int | None) -> str:
    if rate is None:
        return f"{start}–{'end' if end is None else end}"
    begins = clock_time(start, rate)[:-2]
    return f"{begins}–{'end' if end is None else clock_time(end, rate)[:-2]}"


def _region_text(region: Region) -> str:
    parts = [
        region.title,
        speed(region.speed_ips) if region.speed_ips is not None else None,
        equalisation_text(region.equalisation) if region.equalisation else None,
        region.tracks,
        "played in reverse" if region.direction == "reversed" else None,
        f"noise reduction {region.noise_reduction}" if region.noise_reduction else None,
        f"tape section {region.stock}" if region.stock else None,
        f"told by {', '.join(region.basis)}" if region.basis else None,
        region.confidence,
        *_absent(region.absent),
        region.note,
    ]
    return f"{region.kind}: {'; '.join(part for part in parts if part)}".rstrip(": ")


def _events(title: str, events: Iterable[Event]) -> _Lines:
    events = tuple(events)
    if events:
        yield from _heading(title)
    for event in events:
        parts = [
            f"by {event.by}" if event.by else None,
            f"because {event.why}" if event.why else None,
            event.outcome,
            f"the tape ran {event.tape_ran}" if event.tape_ran else None,
            event.note,
        ]
        text = "; ".join(part for part in parts if part)
        yield from _row(event.on or "no date", f"{event.kind}: {text}".rstrip(": "))


def _pass(one: Pass) -> _Lines:
    yield from _heading(f"Pass {printable(one.id)}")
    yield from _row("when", one.on)
    yield from _row("by", one.by)
    yield from _row("machine", one.machine)
    yield from _row("sides", ", ".join(one.sides))
    kept = {True: "yes", False: f"no: {one.why_not_kept or 'no reason given'}", None: None}
    yield from _row("kept", kept[one.kept])
    yield from _row("tape ran", one.tape_ran)
    if one.set_up is not None:
        yield from _set_up(one.set_up)
    for stop in one.stops:
        yield from _row(f"stopped at {stop.at}", stop.reason)
    yield from _row("note", one.note)
    yield from _row("not stated", "; ".join(_absent(one.absent)))


def _set_up(set_up: SetUp) -> _Lines:
    yield from _row("speed", speed(set_up.speed_ips) if set_up.speed_ips is not None else None)
    curve = equalisation_text(set_up.equalisation) if set_up.equalisation else None
    yield from _row("equalisation", curve)
    yield from _row("output select", set_up.output_select)
    yield from _row("output tap", set_up.output_tap)
    yield from _row("meter switch", set_up.meter_switch)
    sizes = [part for part in (set_up.reel_size_supply, set_up.reel_size_take_up) if part]
    yield from _row("reel size settings", " / ".join(sizes))
    yield from _row("lifters", set_up.lifters)
    yield from _row("noise reduction", set_up.noise_reduction)
    yield from _row("record inhibited", set_up.record_inhibited)
    yield from _row("not stated", "; ".join(_absent(set_up.absent)))


def _machine(machine: Machine) -> _Lines:
    name = " ".join(part for part in (machine.maker, machine.model) if part)
    yield from _heading(f"Machine {printable(name or machine.id)}")
    yield from _row("serial", machine.serial)
    yield from _row("head", machine.head)
    yield from _row("note", machine.note)
    for care in machine.care:
        parts = [
            ", ".join(care.parts),
            f"with {care.agent}" if care.agent else "",
            f"by {care.by}" if care.by else "",
            care.outcome or "",
            care.note or "",
        ]
        text = "; ".join(part for part in parts if part)
        yield from _row(care.on or "no date", f"{care.kind}: {text}".rstrip(": "))
    yield from _row("not stated", "; ".join(_absent(machine.absent)))


def _chain(chain: Chain) -> _Lines:
    yield from _heading("The way of the signal")
    yield from _row("why this one", chain.reason)
    for number, step in enumerate(chain.steps, start=1):
        parts = [
            step.device,
            f"serial {step.serial}" if step.serial else None,
            step.setting,
            f"{step.signal} from here" if step.signal else None,
            step.note,
        ]
        yield from _row(f"{number}. {step.kind}", "; ".join(part for part in parts if part))


def _people(transfer: Transfer) -> _Lines:
    yield from _heading("Who made the transfer")
    studio = transfer.studio
    place = ", ".join(part for part in (studio.name, studio.place) if part)
    yield from _row("studio", place or "not stated")
    for person in transfer.people:
        yield from _row(person.id, ", ".join(p for p in (person.name, person.role) if p))


def _file(file: FileRecord) -> _Lines:
    yield from _heading(f"Audio {printable(file.path)}")
    yield from _row("container", f"{file.container.form}, {size(file.octets)}")
    if file.pcm is not None:
        channels = "1 channel" if file.pcm.channels == 1 else f"{file.pcm.channels} channels"
        rate = f"{file.pcm.sample_rate_hz} Hz"
        yield from _row("format", f"{rate}, {file.pcm.coding}, {channels}")
        frames = file.frames or 0
        length = clock_time(frames, file.pcm.sample_rate_hz)
        yield from _row("length", f"{length} ({frames} samples a channel)")
    facts = file.measured or (file.sidecar.this_file.measured if file.sidecar else None)
    if facts is not None:
        yield from _facts(facts)
    if file.embedded is not None:
        yield from _embedded(file.embedded)
    for damage in file.container.damage:
        yield from _row("damage", f"octet {damage.offset}: {damage.text}")


def _facts(facts: AudioFacts) -> _Lines:
    for label, value, unit in (
        ("loudness", facts.integrated_lufs, "LUFS integrated"),
        ("loudness range", facts.range_lu, "LU"),
        ("momentary maximum", facts.momentary_max_lufs, "LUFS"),
        ("short-term maximum", facts.short_term_max_lufs, "LUFS"),
        ("true peak", facts.true_peak_dbtp, "dBTP"),
        ("sample peak", facts.sample_peak_dbfs, "dBFS"),
    ):
        yield from _row(label, f"{value} {unit}" if value is not None else None)
    runs = sum(channel.clipped_runs for channel in facts.channels)
    yield from _row("runs at full scale", str(runs) if runs else "none")
    yield from _row("samples' SHA-256", facts.essence_sha256)


def _embedded(said: Embedded) -> _Lines:
    yield from _row("bext version", str(said.version))
    yield from _row("description", said.description)
    yield from _row("originator", said.originator)
    yield from _row("originator reference", said.originator_reference)
    yield from _row("origination", f"{said.origination_date} {said.origination_time}".strip())
    yield from _row("time reference", f"sample {said.time_reference} since midnight")
    for line in said.coding_history:
        text = ",".join(f"{key}={value}" for key, value in line.parameters)
        yield from _row("history", text)
