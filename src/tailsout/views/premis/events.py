"""What happened to the reel, the machine, the files and the package, in the order of time."""

from collections.abc import Iterator

from tailsout.records.capture import Capture
from tailsout.records.reel import Event as ReelEvent
from tailsout.records.session import Session
from tailsout.records.transfer import Transfer
from tailsout.views.dates import UNKNOWN_DATE, edtf, interval
from tailsout.views.packaged import Copied, Packaged, PayloadFile
from tailsout.views.premis import terms
from tailsout.views.premis.agents import environment_id, tape_id
from tailsout.views.premis.event import Event, by, chain_of, equipment, playing, program
from tailsout.views.premis.identifiers import (
    amendment_event_id,
    copy_event_id,
    package_id,
    reel_id,
    version_id,
)
from tailsout.views.rows import inline

CHECKS = "checks"
"""Asset: what the checks came to when the package was made, as `outcome: sentence`."""


def events(packaged: Packaged, checks: str) -> tuple[Event, ...]:
    """Return all events by their date, those without one last; `checks` as the asset has it."""
    transfer = packaged.transfer
    found = [
        *_of_amendments(packaged),
        *_of_package(packaged, checks),
        *_of_documents(packaged),
    ]
    if transfer is not None:
        found = [
            *_of_reel(packaged, transfer),
            *_of_bench(packaged, transfer),
            *_of_passes(packaged, transfer),
            *_of_copies(packaged),
            *_of_listening(packaged, transfer),
            *found,
        ]
    return tuple(sorted(found, key=_order))


def _order(one: Event) -> tuple[bool, str]:
    """Say where an event stands; what is said of sound has no time of day and comes last in it."""
    is_later = "T" not in one.when and one.type in {terms.event("listening"), terms.event("answer")}
    return one.when == UNKNOWN_DATE, f"{one.when[:10]}T~" if is_later else one.when[:19]


def _of_reel(packaged: Packaged, transfer: Transfer) -> Iterator[Event]:
    reel = transfer.reel
    source = ((reel_id(packaged), terms.SOURCE),)
    for number, one in enumerate(reel.custody):
        yield Event(
            id=packaged.id(f"event/reel/custody/{number}"),
            type=terms.event("custody"),
            when=interval(one.from_date, one.to_date),
            details=(inline(one),),
            objects=source,
        )
    for number, state in enumerate(reel.condition):
        yield Event(
            id=packaged.id(f"event/reel/condition/{number}"),
            type=terms.event("inspection"),
            when=edtf(state.on),
            details=(f"state of the reel {state.moment}",),
            outcome=inline(state),
            agents=by(state.by),
            objects=source,
        )
    for number, event in enumerate(reel.events):
        yield _reel_event(packaged, number, event)


def _reel_event(packaged: Packaged, number: int, event: ReelEvent) -> Event:
    is_done = event.state in {None, "done"}
    return Event(
        id=packaged.id(f"event/reel/events/{number}"),
        type=terms.event(event.kind if is_done else "treatment decision"),
        when=edtf(event.on),
        details=(inline(event, but=("outcome",)),),
        outcome=event.outcome,
        agents=(*by(event.by), *by(event.approved_by, "approved by")),
        objects=((reel_id(packaged), terms.SOURCE),),
    )


def _of_bench(packaged: Packaged, transfer: Transfer) -> Iterator[Event]:
    for m, machine in enumerate(transfer.machines):
        for number, care in enumerate(machine.care):
            yield Event(
                id=packaged.id(f"event/machines/{m}/care/{number}"),
                type=terms.event("machine care"),
                when=edtf(care.on),
                details=(inline(care, but=("outcome",)),),
                outcome=care.outcome,
                agents=by(care.by),
                objects=((packaged.id(f"/machines/{m}"), terms.SOURCE),),
            )
    for s, session in enumerate(transfer.sessions):
        yield from _of_session(packaged, s, session)


def _of_session(packaged: Packaged, s: int, session: Session) -> Iterator[Event]:
    machine = equipment(packaged, session.machine, "machine")
    yield Event(
        id=packaged.id(f"event/sessions/{s}"),
        type=terms.event("session"),
        when=edtf(session.on),
        details=(inline(session, but=("settings", "chain")), *chain_of(session.chain)),
        agents=(*by(session.by), *machine),
    )
    for number, setting in enumerate(session.settings):
        tape = tape_id(packaged, setting.tape)
        subject = environment_id(packaged, session.machine or "")
        yield Event(
            id=packaged.id(f"event/sessions/{s}/settings/{number}"),
            type=terms.event("calibration"),
            when=edtf(session.on),
            details=(f"session {session.id}: {inline(setting, but=('outcome',))}",),
            outcome=setting.outcome,
            agents=by(session.by),
            objects=tuple((one, terms.SOURCE) for one in (subject, tape) if one is not None),
        )


def _of_passes(packaged: Packaged, transfer: Transfer) -> Iterator[Event]:
    for number, capture in enumerate(transfer.captures):
        yield _capture(packaged, transfer, capture, packaged.id(f"event/captures/{number}"))
    played = {capture.pass_id for capture in transfer.captures}
    for number, one in enumerate(transfer.passes):
        if one.id not in played:
            yield Event(
                id=packaged.id(f"event/passes/{number}"),
                type=terms.event("tape pass"),
                when=edtf(one.on),
                details=(inline(one),),
                agents=playing(packaged, one),
                objects=((reel_id(packaged), terms.SOURCE),),
            )


def _capture(packaged: Packaged, transfer: Transfer, capture: Capture, key: str) -> Event:
    one = next((one for one in transfer.passes if one.id == capture.pass_id), None)
    files = packaged.holding(capture.id)
    details = [f"capture: {inline(capture)}", *chain_of(transfer.chain)]
    if one is not None:
        details.insert(1, f"pass: {inline(one)}")
    return Event(
        id=key,
        type=terms.CREATION,
        when=edtf(capture.started or (one.on if one is not None else None)),
        details=tuple(details),
        agents=(
            *(playing(packaged, one) if one is not None else ()),
            *(program(capture.program) if capture.program else ()),
        ),
        objects=(
            (reel_id(packaged), terms.SOURCE),
            *((packaged.file_id(file.path), terms.OUTCOME) for file in files),
        ),
    )


def _of_copies(packaged: Packaged) -> Iterator[Event]:
    for file in packaged.files:
        if file.copied is not None:
            yield _copy(packaged, file, file.copied)


def _copy(packaged: Packaged, file: PayloadFile, copied: Copied) -> Event:
    steps = copied.told.steps
    programs = dict.fromkeys(one.software for one in steps)
    return Event(
        id=copy_event_id(packaged, file),
        type=terms.CREATION,
        when=copied.when,
        details=(
            f"access copy: {inline(copied.told, but=('path', 'steps', 'sha256', 'sha512'))}",
            *(f"step {number}: {inline(one)}" for number, one in enumerate(steps, start=1)),
        ),
        agents=tuple(part for name in programs for part in program(name)),
        objects=(
            (packaged.file_id(copied.of), terms.SOURCE),
            (packaged.file_id(file.path), terms.OUTCOME),
        ),
    )


def _of_listening(packaged: Packaged, transfer: Transfer) -> Iterator[Event]:
    for number, one in enumerate(transfer.listening):
        files = [file for file in packaged.files if file.record is not None]
        heard = [f for f in files if f.record and one.capture in {None, f.record.capture}]
        yield Event(
            id=packaged.id(f"event/listening/{number}"),
            type=terms.event("listening"),
            when=edtf(one.on),
            details=(inline(one, but=("verdict",)),),
            outcome=one.verdict,
            agents=by(one.by),
            objects=tuple((packaged.file_id(f.path), terms.SOURCE) for f in heard),
        )
    for number, answer in enumerate(transfer.answers):
        yield Event(
            id=packaged.id(f"event/answers/{number}"),
            type=terms.event("answer"),
            when=edtf(answer.on),
            details=(f"{answer.code} at {answer.place}: {answer.reason}",),
            outcome=answer.decision,
            agents=by(answer.by),
        )


def _of_amendments(packaged: Packaged) -> Iterator[Event]:
    for step in reversed(packaged.successions):
        one = step.by
        yield Event(
            id=amendment_event_id(packaged, one),
            type=terms.event("amendment"),
            when=edtf(one.on),
            details=(
                f"version {one.version} supersedes {one.supersedes}: {one.why}",
                *(f"{said.change}: {said.at}" for said in one.statements),
                *(f"{file.change}: {file.path}" for file in one.files),
            ),
            agents=(*by(one.by), *program(one.software)),
            objects=(
                (version_id(packaged, step.older), terms.SOURCE),
                (version_id(packaged, step.newer), terms.OUTCOME),
            ),
        )


def _of_package(packaged: Packaged, checks: str) -> Iterator[Event]:
    if not packaged.made_by or not packaged.made_at:
        return
    when = edtf(packaged.made_at)
    software = program(packaged.made_by)
    files = tuple((packaged.file_id(file.path), terms.SOURCE) for file in packaged.files)
    algorithms = sorted({name for file in packaged.files for name, _ in file.digests})
    if algorithms:
        yield Event(
            id=packaged.id("event/digests"),
            type=terms.DIGEST_CALCULATION,
            when=when,
            details=(f"{', '.join(algorithms)} of every file, as it was written",),
            outcome=terms.OUTCOMES["success"],
            agents=software,
            objects=files,
        )
    outcome, _, sentence = checks.partition(": ")
    if outcome in terms.OUTCOMES:
        yield Event(
            id=packaged.id("event/checks"),
            type=terms.VALIDATION,
            when=when,
            details=("statements, headers and measurements held against each other",),
            outcome=terms.OUTCOMES[outcome],
            note=sentence,
            agents=software,
            objects=((package_id(packaged), terms.SOURCE),),
        )
    yield Event(
        id=packaged.id("event/packaging"),
        type=terms.PACKAGING,
        when=when,
        details=("laid out as a bag (RFC 8493)",),
        outcome=terms.OUTCOMES["success"],
        agents=software,
        objects=((package_id(packaged), terms.OUTCOME),),
    )


def _of_documents(packaged: Packaged) -> Iterator[Event]:
    for one in packaged.dossier.afterwards:
        is_fixity = one.what == "fixity check"
        yield Event(
            id=packaged.id(f"event/document/{one.sha512}"),
            type=terms.FIXITY_CHECK if is_fixity else terms.event(one.what),
            when=edtf(one.when),
            details=(*one.details, f"told by a document with the SHA-512 {one.sha512}"),
            outcome=terms.OUTCOMES.get(one.outcome, one.outcome),
            agents=(*by(one.by, "decided by"), *program(one.software)),
            objects=((package_id(packaged), terms.SOURCE),),
        )
