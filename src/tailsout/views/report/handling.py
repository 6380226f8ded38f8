"""What was done to reel and machine, in order of time: the handling as a timeline."""

from collections.abc import Iterator, Mapping
from dataclasses import replace

from tailsout.ground.findings import Finding
from tailsout.mapping.names import tree
from tailsout.records.dossier import Dossier
from tailsout.records.playing import Pass
from tailsout.records.reel import Event
from tailsout.records.transfer import Transfer
from tailsout.views.report.blocks import Block, Entries, Entry
from tailsout.views.report.wording import day, listed, moment, who
from tailsout.views.rows import inline

_UNDATED = "no date stated"


def blocks(
    dossier: Dossier, findings: tuple[Finding, ...], assets: Mapping[str, bytes]
) -> Iterator[Block]:
    """Yield the section; nothing where nothing is told."""
    del findings, assets
    told = [*(_of(dossier.transfer) if dossier.transfer is not None else ()), *_versions(dossier)]
    # What has no date comes last, each kind in the order in which it was told.
    told.sort(key=lambda one: (not one.when, one.when))
    if told:
        entries = (_dated(one) for one in told)
        yield Entries(entries=tuple(entries), is_timeline=True)


def _dated(one: Entry) -> Entry:
    return replace(one, when=day(one.when) if one.when else _UNDATED)


def _of(transfer: Transfer) -> Iterator[Entry]:
    for kept in transfer.reel.custody:
        span = "/".join([kept.from_date or "..", kept.to_date or ".."])
        when = span if kept.from_date or kept.to_date else ""
        told = inline(kept, but=("from_date", "to_date"))
        yield Entry(when=when, mark="kept", text=told or "nothing told")
    for seen in transfer.reel.condition:
        told = inline(seen, but=("moment", "on", "by"))
        by = who(transfer, seen.by)
        yield Entry(
            when=moment(seen.on),
            mark="condition",
            text=f"{seen.moment}: {told}".removesuffix(": "),
            more=_by(by),
        )
    yield from (_event(one, transfer) for one in transfer.reel.events)
    for machine in transfer.machines:
        for care in machine.care:
            told = inline(care, but=("kind", "on", "by"))
            yield Entry(
                when=moment(care.on),
                mark=f"machine {care.kind}",
                text=told or machine.id,
                more=_by(who(transfer, care.by)),
            )
    yield from (_pass(one, transfer) for one in transfer.passes)
    for jotted in transfer.jottings:
        during = (f"during pass {jotted.pass_id}",) if jotted.pass_id else ()
        yield Entry(when=moment(jotted.at), mark="jotted", text=jotted.text, more=during)
    for one in transfer.listening:
        told = inline(one, but=("by", "on"))
        yield Entry(
            when=moment(one.on),
            mark="listened",
            text=told or "nothing told",
            more=_by(who(transfer, one.by)),
        )


def _by(name: str) -> tuple[str, ...]:
    return (f"by {name}",) if name else ()


def _event(one: Event, transfer: Transfer) -> Entry:
    state = f" {one.state}" if one.state and one.state != "done" else ""
    told = inline(one, but=("kind", "on", "by", "state", "images"))
    pictures = listed(tree.kept_path(transfer.recipient, image.file) for image in one.images)
    more = [*_by(who(transfer, one.by)), f"photographs: {pictures}" if pictures else ""]
    return Entry(
        when=moment(one.on),
        mark=f"{one.kind}{state}",
        text=told or "nothing more is told",
        more=tuple(line for line in more if line),
    )


def _pass(one: Pass, transfer: Transfer) -> Entry:
    ran = f"side {listed(one.sides)}" if one.sides else "sides not stated"
    kept = {True: "kept", False: f"not kept: {one.why_not_kept or 'no reason'}", None: ""}[one.kept]
    but = ("id", "on", "by", "sides", "kept", "why_not_kept", "set_up", "stops", "channels")
    return Entry(
        when=moment(one.on),
        mark=f"pass {one.id}",
        text="; ".join(part for part in (ran, kept, inline(one, but=but)) if part),
        more=(
            *(f"stopped at {stop.at}: {stop.reason}" for stop in one.stops),
            *_by(who(transfer, one.by)),
        ),
    )


def _versions(dossier: Dossier) -> Iterator[Entry]:
    for one in dossier.amendments or ():
        changed = [f"{said.change} {said.at}" for said in one.statements]
        changed += [f"{file.change} {file.path}" for file in one.files]
        yield Entry(
            when=moment(one.on),
            mark=f"version {one.version}",
            text=f"amended: {one.why}",
            more=(f"supersedes {one.supersedes}", *changed, *_by(one.by)),
        )
