"""Logbook lines from a transfer, and the hours since care from logbook lines.

A line is one JSON object (`schemas/logbook-0.1`), keyed by package: what is there already is not
written again. "Hours since" is *at least* so much: passes that nobody wrote down are not in it.
"""

from collections.abc import Iterable, Iterator, Mapping
from decimal import ROUND_DOWN, Decimal

from tailsout.ground.clock import is_before
from tailsout.mapping import schemas, strict_json
from tailsout.mapping.plain import json_line, plain, record
from tailsout.records.dossier import Dossier
from tailsout.records.logbook import LogLine
from tailsout.records.machine import CareEvent, HoursSince, Machine
from tailsout.records.playing import Pass
from tailsout.records.transfer import Transfer

_TENTH = Decimal("0.1")


def lines_of(
    transfer: Transfer, seconds: Mapping[str, Decimal], holds: Iterable[str] = ()
) -> Iterator[LogLine]:
    """Yield what one transfer puts into the logbooks; `seconds` is the length of each capture.

    `holds` are the SHA-256 of the captures of calibration tapes that its package holds.

    A pass without a machine or a date leaves no line. Winding counts for the first machine used.
    """
    first = True
    for machine in transfer.machines:
        passes = [p for p in transfer.passes if p.machine == machine.id and p.on is not None]
        if not passes:
            continue
        winding = sum((e.contact_minutes or Decimal(0) for e in transfer.reel.events), Decimal(0))
        yield LogLine(
            key=transfer.package_id,
            job_id=transfer.job_id,
            machine=machine.id,
            on=_earliest(passes),
            programme_minutes=sum((minutes_of(p, transfer, seconds) for p in passes), Decimal(0)),
            winding_minutes=winding if first else Decimal(0),
            holds=tuple(holds),
        )
        first = False
    for session in transfer.sessions:
        if session.tone_minutes and session.machine and session.on:
            yield LogLine(
                key=f"session {session.id}",
                job_id=transfer.job_id,
                machine=session.machine,
                on=session.on,
                tone_minutes=session.tone_minutes,
            )


def hours_since(
    machine: Machine, transfer: Transfer, lines: Iterable[LogLine] | None
) -> tuple[HoursSince, ...] | None:
    """Return the hours of contact since the last care of each kind before the job's first pass.

    Only lines of other jobs, dated surely after that care and before that pass, count. Without a
    logbook (`lines` is None) the answer is None, unless no line could count, as where care has the
    day of the pass and no hour: there it does not matter which job of the evening is logged first.
    """
    passes = [p for p in transfer.passes if p.machine == machine.id and p.on is not None]
    if not passes:
        return ()
    begun = _earliest(passes)
    last = tuple(_last_of_each_kind(machine.care, begun))
    if lines is None and any(is_before(care.on or "", begun) for care in last):
        return None
    earlier = [
        line
        for line in lines or ()
        if line.machine == machine.id
        and line.job_id != transfer.job_id
        and is_before(line.on, begun)
    ]
    found = []
    for care in last:
        on = care.on or ""
        # Of what ran on the day of the care itself, nobody knows whether it was before it.
        counted = [line for line in earlier if is_before(on, line.on)]
        hours = sum((line.hours for line in counted), Decimal(0))
        found.append(
            HoursSince(
                since=care.kind,
                on=on,
                at_least_hours=hours.quantize(_TENTH, ROUND_DOWN),
                rests_on=tuple(sorted(line.key for line in counted)),
            )
        )
    return tuple(found)


def write(line: LogLine) -> bytes:
    """Return one line of a logbook, with its line end."""
    return json_line(plain(line)).encode("utf-8") + b"\n"


def read(content: bytes) -> tuple[tuple[LogLine, ...], tuple[int, ...]]:
    """Return the lines of a logbook, and the numbers of those that cannot be read.

    A crash may have torn the last line; it is passed over like any other that is not a line.
    """
    lines: dict[str, LogLine] = {}
    unread = []
    for number, raw in enumerate(content.split(b"\n"), start=1):
        if not raw.strip():
            continue
        try:
            data = strict_json.load(raw)
        except strict_json.StrictJsonError:
            unread.append(number)
            continue
        if schemas.faults(data, "logbook-0.1"):
            unread.append(number)
            continue
        line = record(data, LogLine)
        lines.setdefault(line.key, line)
    return tuple(lines.values()), tuple(unread)


def _last_of_each_kind(care: Iterable[CareEvent], begun: str) -> Iterator[CareEvent]:
    last: dict[str, CareEvent] = {}
    for event in care:
        if event.on is None or is_before(begun, event.on):
            continue
        known = last.get(event.kind)
        if known is None or not is_before(event.on, known.on or ""):
            last[event.kind] = event
    return (last[kind] for kind in sorted(last))


def _earliest(passes: Iterable[Pass]) -> str:
    dates = [one.on for one in passes if one.on is not None]
    return next(on for on in dates if not any(is_before(other, on) for other in dates))


def minutes_of(one: Pass, transfer: Transfer, seconds: Mapping[str, Decimal]) -> Decimal:
    """Return how long tape ran in a pass: as stated, else as long as its captures are."""
    if one.programme_minutes is not None:
        return one.programme_minutes
    lengths = (seconds.get(c.id, Decimal(0)) for c in transfer.captures if c.pass_id == one.id)
    return (sum(lengths, Decimal(0)) / 60).quantize(_TENTH)


def seconds_of(dossier: Dossier) -> dict[str, Decimal]:
    """Return the length of each capture in seconds, by its id."""
    return {
        file.capture: Decimal(dossier.frames_of(file.capture) or 0) / file.pcm.sample_rate_hz
        for file in dossier.files
        if file.capture is not None and file.pcm is not None and file.frames is not None
    }
