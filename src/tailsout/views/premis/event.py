"""One event of PREMIS: what it says, who took part, how it is written."""

from collections.abc import Iterator
from dataclasses import dataclass

from tailsout.mapping.xml import Element
from tailsout.records.chain import Chain
from tailsout.records.playing import Pass
from tailsout.views.packaged import Packaged
from tailsout.views.premis import terms
from tailsout.views.premis.agents import Actor, agent_id, environment_id
from tailsout.views.premis.parts import Entity, identifier, link, made
from tailsout.views.premis.terms import Term
from tailsout.views.rows import inline

Parts = tuple[tuple[Actor, Term], ...]
"""Who took part, and in what."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Event:
    """One thing that happened."""

    id: str
    """UUID."""
    type: Term
    when: str
    """EDTF."""
    details: tuple[str, ...] = ()
    outcome: Term | str | None = None
    note: str = ""
    agents: Parts = ()
    objects: tuple[tuple[str, Term], ...] = ()


def element(packaged: Packaged, event: Event) -> Entity:
    """Write an event."""
    outcome: list[Element] = []
    if event.outcome:
        outcome.append(made("eventOutcome", event.outcome))
    if event.note:
        note = made("eventOutcomeDetailNote", event.note)
        outcome.append(made("eventOutcomeDetail", [note]))
    return Entity(
        id=event.id,
        element=made(
            "event",
            [
                identifier("event", event.id),
                made("eventType", event.type),
                made("eventDateTime", event.when),
                *(
                    made("eventDetailInformation", [made("eventDetail", one)])
                    for one in event.details
                    if one
                ),
                made("eventOutcomeInformation", outcome) if outcome else None,
                *(link("Agent", agent_id(packaged, who), part) for who, part in event.agents),
                *(link("Object", what, part) for what, part in event.objects),
            ],
        ),
    )


def by(name: str | None, role: str = "done by") -> Parts:
    """Name a person, if one is named."""
    if not name:
        return ()
    return ((Actor(kind="person", name=name), terms.own("agent-role", role)),)


def equipment(packaged: Packaged, name: str | None, role: str) -> Parts:
    """Name a machine or converter, if it is stated."""
    if name is None or environment_id(packaged, name) is None:
        return ()
    return ((Actor(kind="hardware", name=name), terms.own("agent-role", role)),)


def program(name: str) -> Parts:
    """Name a program."""
    return ((Actor(kind="software", name=name), terms.own("agent-role", "program")),)


def chain_of(chain: Chain | None) -> Iterator[str]:
    """Yield the signal chain, a sentence a step."""
    if chain is None:
        return
    yield f"signal chain; {inline(chain, but=('steps',))}"
    for number, step in enumerate(chain.steps, start=1):
        yield f"step {number}: {inline(step)}"


def playing(packaged: Packaged, one: Pass) -> Parts:
    """Name who and what played the tape in a pass."""
    sessions = packaged.transfer.sessions if packaged.transfer is not None else ()
    session = next((s for s in sessions if s.id == one.session), None)
    converter = session.converter if session is not None else None
    return (
        *by(one.by, "operator"),
        *equipment(packaged, one.machine, "machine"),
        *equipment(packaged, converter, "converter"),
    )
