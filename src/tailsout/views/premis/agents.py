"""Who and what had a hand in it: people, organisations, programs, machines."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Literal

from tailsout.mapping.history import machine_name
from tailsout.records.machine import CalibrationTape, Converter, Machine
from tailsout.views.packaged import Packaged
from tailsout.views.premis.parts import (
    UUID,
    Entity,
    an_object,
    identifier,
    made,
    optional,
    properties,
)
from tailsout.views.premis.terms import AGENTS, own
from tailsout.views.rows import pairs


@dataclass(frozen=True, slots=True, kw_only=True)
class Actor:
    """Somebody or something that an event names."""

    kind: Literal["person", "organization", "software", "hardware"]
    name: str
    """Of a person or a machine the id by which forms name it."""


def agent_id(packaged: Packaged, actor: Actor) -> str:
    """Return the UUID of an agent."""
    return packaged.id(f"agent/{actor.kind}/{actor.name}")


def agents(packaged: Packaged, used: Iterable[Actor]) -> tuple[Entity, ...]:
    """Return everybody who is stated and every actor that an event names, each once."""
    found = dict.fromkeys((*_stated(packaged), *used))
    return tuple(_agent(packaged, actor) for actor in found)


def _stated(packaged: Packaged) -> Iterator[Actor]:
    transfer = packaged.transfer
    if transfer is None:
        return
    for person in transfer.people:
        yield Actor(kind="person", name=person.id)
    if transfer.studio.name:
        yield Actor(kind="organization", name=transfer.studio.name)
    if transfer.recipient is not None:
        yield Actor(kind="organization", name=transfer.recipient.id)


def _agent(packaged: Packaged, actor: Actor) -> Entity:
    name, notes, equipment = actor.name, [], None
    transfer = packaged.transfer
    if transfer is not None and actor.kind == "person":
        person = next((one for one in transfer.people if one.id == actor.name), None)
        if person is not None:
            name = person.name or person.id
            notes = [f"{key}: {text}" for key, text in pairs(person, but=("name",))]
    elif transfer is not None and actor.kind == "organization":
        if actor.name == transfer.studio.name:
            notes = [f"{key}: {text}" for key, text in pairs(transfer.studio, but=("name",))]
        elif transfer.recipient is not None and actor.name == transfer.recipient.id:
            name = transfer.recipient.name or actor.name
            notes = [f"id: {actor.name}"]
    elif actor.kind == "hardware":
        equipment = environment_id(packaged, actor.name)
        name, notes = _named(packaged, actor.name)
    key = agent_id(packaged, actor)
    return Entity(
        id=key,
        element=made(
            "agent",
            [
                identifier("agent", key),
                made("agentName", name),
                made("agentType", AGENTS[actor.kind]),
                *(made("agentNote", note) for note in notes),
                identifier("linkingEnvironment", equipment, UUID) if equipment else None,
            ],
        ),
    )


def _named(packaged: Packaged, key: str) -> tuple[str, list[str]]:
    """Return what a machine or converter is called, and its id where that is something else."""
    things = (one for _, one, _ in equipment(packaged) if one.id == key and not _is_tape(one))
    name = next((thing_name(one) for one in things), key)
    return name, [] if name == key else [f"id: {key}"]


def thing_name(one: Machine | Converter | CalibrationTape) -> str:
    """Return what a machine, converter or calibration tape is called, its id if it has no name."""
    parts = (one.maker, one.number if isinstance(one, CalibrationTape) else one.model)
    name = machine_name(one) if isinstance(one, Machine) else " ".join(filter(None, parts))
    return name or one.id


def environment_id(packaged: Packaged, name: str) -> str | None:
    """Return the UUID of the machine or converter of an id, if it is stated."""
    things = ((key, one) for key, one, _ in equipment(packaged))
    return next((key for key, one in things if one.id == name and not _is_tape(one)), None)


def _is_tape(one: Machine | Converter | CalibrationTape) -> bool:
    return isinstance(one, CalibrationTape)


def tape_id(packaged: Packaged, name: str | None) -> str | None:
    """Return the UUID of the calibration tape of an id, if it is stated."""
    tapes = packaged.transfer.calibration_tapes if packaged.transfer is not None else ()
    numbers = (number for number, one in enumerate(tapes) if one.id == name)
    return next((packaged.id(f"/calibration_tapes/{number}") for number in numbers), None)


def equipment(
    packaged: Packaged,
) -> Iterator[tuple[str, Machine | Converter | CalibrationTape, str]]:
    """Yield machines, converters and calibration tapes: UUID, what it is, and what it is for."""
    transfer = packaged.transfer
    if transfer is None:
        return
    for number, machine in enumerate(transfer.machines):
        yield packaged.id(f"/machines/{number}"), machine, "tape machine"
    for number, converter in enumerate(transfer.converters):
        yield packaged.id(f"/converters/{number}"), converter, "analogue-to-digital converter"
    for number, tape in enumerate(transfer.calibration_tapes):
        yield packaged.id(f"/calibration_tapes/{number}"), tape, "calibration tape"


def environments(packaged: Packaged) -> Iterator[Entity]:
    """Yield machines, converters and calibration tapes, each an intellectual entity."""
    for key, one, function in equipment(packaged):
        yield _environment(key, one, function)


def _environment(key: str, one: Machine | Converter | CalibrationTape, function: str) -> Entity:
    return Entity(
        id=key,
        element=an_object(
            "intellectualEntity",
            [
                identifier("object", key),
                *properties(pairs(one, but=("care",))),
                made(
                    "environmentFunction",
                    [
                        made("environmentFunctionType", own("environment-function", function)),
                        made("environmentFunctionLevel", "1"),
                    ],
                ),
                made(
                    "environmentDesignation",
                    [
                        made("environmentName", thing_name(one)),
                        optional("environmentOrigin", one.maker),
                    ],
                ),
            ],
        ),
    )
