"""A page of plain text about a package, a job or an audio file, for a stranger to the trade.

Everything that a transfer states comes out: what has no line of its own is listed field by field.
"""

from collections.abc import Iterable, Iterator, Mapping

from tailsout.ground.findings import Finding
from tailsout.ground.units import clock_time, counted, printable, size
from tailsout.records.dossier import Dossier, FileRecord
from tailsout.records.facts import Embedded
from tailsout.records.listening import SignalNote
from tailsout.records.recipient import Recipient
from tailsout.records.reel import Reel, StockSection
from tailsout.records.transfer import Transfer
from tailsout.views import measured, stretches, versions
from tailsout.views.rows import absent, heading, inline, row, rows, without

_Lines = Iterator[str]


def render(dossier: Dossier, findings: tuple[Finding, ...], assets: Mapping[str, bytes]) -> bytes:
    """Return the page in UTF-8. `assets` holds nothing that this view needs."""
    del assets
    lines = [*_package(dossier)]
    if dossier.transfer is not None:
        lines += _transfer(dossier.transfer, dossier)
    lines += versions.told(dossier.amendments or ())
    lines += _bench(dossier)
    for file in dossier.files:
        lines += _file(file, dossier.transfer)
    if findings:
        lines += heading("Findings")
        for finding in findings:
            lines += row(finding.severity.value, f"{finding.place}: {finding.text}")
    return ("\n".join(lines).strip("\n") + "\n").encode("utf-8", "backslashreplace")


def _package(dossier: Dossier) -> _Lines:
    package = dossier.package
    if package is None:
        return
    payload = [file for file in package.files if file.path.startswith("data/")]
    yield f"Package {printable(package.name)}"
    yield from row("bag version", package.bagit_version or "none: this is not a bag")
    octets = sum(file.octets for file in payload)
    yield from row("payload", f"{counted(len(payload), 'file')}, {size(octets)}")
    if package.archive is not None and not package.archive.whole:
        told = "not read as a whole, so that files may be missing here; `tailsout check` says why"
        yield from row("archive", f"{printable(package.archive.name)}: {told}")
    for line in package.bag_info:
        yield from row(line.label, line.value)
    if dossier.transfer is None:
        yield ""
        yield "No side-car of ours: this shows what the bag and its files say of themselves."


def _transfer(transfer: Transfer, dossier: Dossier) -> _Lines:
    yield from heading(f"The reel: {transfer.reel.title or transfer.package_id}")
    yield from row("package", transfer.package_id)
    yield from row("kind of job", transfer.kind)
    yield from row("not played because", transfer.not_played_because)
    yield from row("sort of reason", transfer.not_played_category)
    yield from _reel(transfer.reel)
    for title, record in (
        ("What was recorded", transfer.recording),
        ("Who asked for the transfer", transfer.commission),
        ("What it is a part of", transfer.work),
    ):
        if record is not None:
            yield from heading(title)
            yield from rows(record)
    yield from _sides(transfer, dossier)
    yield from _listed("What was done to it", transfer.reel.events, "on")
    for one in transfer.passes:
        yield from heading(f"Pass {one.id}")
        yield from rows(one, but=("id", "set_up", "stops"))
        yield from rows(one.set_up)
        for stop in one.stops:
            yield from row(f"stopped at {stop.at}", stop.reason)
    yield from _equipment(transfer)
    if transfer.chain is not None:
        yield from heading("The signal chain")
        yield from row("why this one", transfer.chain.reason)
        for number, step in enumerate(transfer.chain.steps, start=1):
            yield from row(f"{number}. {step.kind}", without(step, "kind"))
        yield from row("not stated", "; ".join(absent(transfer.chain)))
    for capture in transfer.captures:
        yield from heading(f"Capture {capture.id}")
        yield from rows(capture, but=("id",))
    yield from _heard(transfer, dossier)
    yield from _listed("Who listened", transfer.listening, "on")
    yield from _listed("Said, and otherwise", transfer.corrections, "about")
    yield from _listed("Questions answered", transfer.answers, "code")
    yield from _listed("Jotted down", transfer.jottings, "at")
    yield from _people(transfer)


def _equipment(transfer: Transfer) -> _Lines:
    for machine in transfer.machines:
        name = " ".join(part for part in (machine.maker, machine.model) if part)
        yield from heading(f"Machine {name or machine.id}")
        yield from rows(machine, but=("maker", "model", "care"))
        yield from _entries(machine.care, "on")
    for session in transfer.sessions:
        yield from heading(f"Session {session.id}")
        # What a pass or the transfer took over as it is stands there already.
        taken_over = [*(one.set_up for one in transfer.passes), transfer.chain]
        repeated = [key for key in ("set_up", "chain") if getattr(session, key) in taken_over]
        yield from rows(session, but=("id", *repeated))
    for converter in transfer.converters:
        yield from heading(f"Converter {converter.id}")
        yield from rows(converter, but=("id",))
    for tape in transfer.calibration_tapes:
        yield from heading(f"Calibration tape {tape.id}")
        yield from rows(tape, but=("id",))


def _reel(reel: Reel) -> _Lines:
    for one in reel.identifiers:
        by = f", given by {one.assigned_by}" if one.assigned_by else ""
        yield from row(one.kind or "identifier", "; ".join([f"{one.value}{by}", *absent(one)]))
    for words in reel.inscriptions:
        found = f" Found: {words.found}" if words.found else ""
        rest = [f"photograph {words.image}"] if words.image else []
        told = "; ".join([f"“{words.text}”{found}", *rest, *absent(words)])
        yield from row(f"on the {words.place}", told)
    for stock in reel.stock:
        yield from row(f"tape section {stock.id}", _stock_text(stock) or "nothing known")
    yield from rows(reel, but=("title", "identifiers", "inscriptions", "stock", "sides", "events"))


def _stock_text(stock: StockSection) -> str:
    name = " ".join(part for part in (stock.maker, stock.number) if part)
    told = f"told by {', '.join(stock.base_told_by)}" if stock.base_told_by else ""
    base = ", ".join(part for part in (stock.base, told, stock.confidence) if part)
    shown = ("id", "maker", "number", "base", "base_told_by", "confidence")
    return "; ".join(part for part in (name, base, inline(stock, but=shown)) if part)


def _listed(title: str, entries: Iterable[object], label: str) -> _Lines:
    rows = list(_entries(entries, label))
    if rows:
        yield from heading(title)
        yield from rows


def _entries(entries: Iterable[object], label: str) -> _Lines:
    for one in entries:
        kind = getattr(one, "kind", None)
        told = inline(one, but=(label, "kind"))
        text = f"{kind}: {told}".removesuffix(": ") if kind else told
        yield from row(getattr(one, label) or "no date", text)


def _sides(transfer: Transfer, dossier: Dossier) -> _Lines:
    rates, ends = _rates(dossier), _ends(dossier)
    several = len(transfer.captures) > 1
    for side in transfer.reel.sides:
        title = f": {side.title}" if side.title else ""
        yield from heading(f"Side {side.id}{title}")
        yield from row("not stated", "; ".join(absent(side)))
        for region in side.regions:
            end = region.end if region.end is not None else ends.get(region.capture)
            rate = rates.get(region.capture)
            told = stretches.region_text(region, end, rate)
            text = f"{told}; in capture {region.capture}" if several else told
            yield from row(stretches.stretch(region.start, end, rate), text)


def _rates(dossier: Dossier) -> dict[str, int]:
    return {f.capture: f.pcm.sample_rate_hz for f in dossier.files if f.pcm and f.capture}


def _ends(dossier: Dossier) -> dict[str, int]:
    ends = {f.capture: dossier.frames_of(f.capture) for f in dossier.files if f.capture}
    return {capture: end for capture, end in ends.items() if end}


def _heard(transfer: Transfer, dossier: Dossier) -> _Lines:
    if transfer.signal_notes:
        yield from heading("Heard or seen in the signal")
    rates = _rates(dossier)
    for one in transfer.signal_notes:
        rate = rates.get(one.capture)
        at = clock_time(one.start, rate)[:-2] if rate else str(one.start)
        yield from row(f"{one.capture} {at}", _note_text(one, rate))


def _note_text(one: SignalNote, rate: int | None) -> str:
    until = "" if one.end is None else f"until {clock_time(one.end, rate) if rate else one.end}"
    parts = [
        one.heard,
        until,
        f"channel {one.channel}" if one.channel else None,
        f"lives in the {one.lives_in}" if one.lives_in else None,
        one.noticed,
        f"by {one.by}" if one.by else None,
        one.note,
        *absent(one),
    ]
    return "; ".join(part for part in parts if part)


def _people(transfer: Transfer) -> _Lines:
    yield from heading("Who made the transfer")
    studio = transfer.studio
    place = ", ".join(part for part in (studio.name, studio.place) if part)
    yield from row("studio", place or "not stated")
    yield from rows(studio, but=("name", "place"))
    for person in transfer.people:
        known = ", ".join(part for part in (person.name, person.role) if part)
        yield from row(person.id, "; ".join([known or "no name stated", *absent(person)]))
    yield from row("note", transfer.note)
    yield from row("not stated", "; ".join(absent(transfer)))
    if transfer.recipient is not None:
        yield from _recipient(transfer.recipient)


def _recipient(recipient: Recipient) -> _Lines:
    yield from heading("Who it is for, and what they ask")
    name = recipient.name
    yield from row("recipient", f"{name} ({recipient.id})" if name else recipient.id)
    yield from rows(recipient, but=("id", "name"))


def _bench(dossier: Dossier) -> _Lines:
    if dossier.calibrations or dossier.at_rest:
        yield from heading("What the machine proved")
    for one in dossier.calibrations:
        yield from row(f"{one.setting}, {one.moment}", measured.calibration(one))
    for rest in dossier.at_rest:
        floors = [
            f"noise floor {c.noise_floor_dbfs} dBFS"
            for c in (rest.measured.channels if rest.measured else ())
            if c.noise_floor_dbfs is not None
        ]
        of = f"chain of {', '.join(rest.captures)}"
        yield from row("at rest", "; ".join([of, f"capture {rest.path}", *floors]))


def _file(file: FileRecord, transfer: Transfer | None) -> _Lines:
    yield from heading(f"Audio {file.path}")
    yield from row("container", f"{file.container.form}, {size(file.octets)}")
    if file.pcm is not None:
        channels = counted(file.pcm.channels, "channel")
        rate = f"{file.pcm.sample_rate_hz} Hz"
        yield from row("format", f"{rate}, {file.pcm.coding}, {channels}")
        frames = file.frames or 0
        length = clock_time(frames, file.pcm.sample_rate_hz)
        yield from row("length", f"{length} ({counted(frames, 'sample')} a channel)")
    facts = file.measured or (file.stated.measured if file.stated else None)
    if facts is not None:
        yield from measured.facts(facts)
    for label, text in measured.regions(file, transfer):
        yield from row(label, text)
    if file.print_through is not None:
        yield from row("print-through", measured.echoes(file.print_through))
    for scale in file.scales:
        yield from row("flux", measured.scale(scale))
    if file.stated is not None and file.stated.overview is not None:
        yield from row("drawn in the report", measured.from_afar(file.stated.overview))
    if file.embedded is not None:
        yield from _embedded(file.embedded)
    for damage in file.container.damage:
        yield from row("damage", f"octet {damage.offset}: {damage.text}")


def _embedded(said: Embedded) -> _Lines:
    yield from row("bext version", str(said.version))
    yield from row("description", said.description)
    yield from row("originator", said.originator)
    yield from row("originator reference", said.originator_reference)
    yield from row("origination", f"{said.origination_date} {said.origination_time}".strip())
    yield from row("time reference", f"sample {said.time_reference} since midnight")
    for line in said.coding_history:
        text = ",".join(f"{key}={value}" for key, value in line.parameters)
        yield from row("history", text)
