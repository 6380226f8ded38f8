"""metadata/premis.xml: the package in PREMIS 3.0 (PREMIS Editorial Committee, 2015; XSD of 2016).

The reel is a representation of what was recorded, the bag another one; each file below `data` is a
file, each region in one a bitstream, machines, converters and calibration tapes are environments.
Long statements stand as text in properties and details: the side-car holds them field by field.
"""

from collections.abc import Mapping
from dataclasses import dataclass

from tailsout.ground.findings import Finding
from tailsout.mapping import xml
from tailsout.records.dossier import Dossier
from tailsout.views.packaged import Packaged
from tailsout.views.premis.agents import agents, environments
from tailsout.views.premis.event import element
from tailsout.views.premis.events import CHECKS, events
from tailsout.views.premis.losses import NOT_HELD, lost
from tailsout.views.premis.objects import objects
from tailsout.views.premis.parts import PREFIXES, PREMIS, Entity
from tailsout.views.premis.rights import rights

__all__ = ["NOT_HELD", "Entities", "entities", "lost", "render"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Entities:
    """Everything that PREMIS says of a package, piece by piece."""

    objects: tuple[Entity, ...]
    events: tuple[Entity, ...]
    agents: tuple[Entity, ...]
    rights: tuple[Entity, ...]
    happened_to: Mapping[str, tuple[str, ...]]
    """UUIDs of the events of each object that has any."""


def entities(packaged: Packaged, assets: Mapping[str, bytes]) -> Entities:
    """Return the pieces, in an order that is always the same."""
    checks = assets.get(CHECKS, b"").decode("utf-8", "replace")
    happened = events(packaged, checks)
    of: dict[str, dict[str, None]] = {}
    for event in happened:
        for key, _ in event.objects:
            of.setdefault(key, {})[event.id] = None
    actors = [actor for event in happened for actor, _ in event.agents]
    return Entities(
        objects=(*objects(packaged, lost(packaged.dossier)), *environments(packaged)),
        events=tuple(element(packaged, one) for one in happened),
        agents=agents(packaged, actors),
        rights=tuple(rights(packaged)),
        happened_to={key: tuple(events) for key, events in of.items()},
    )


def render(dossier: Dossier, findings: tuple[Finding, ...], assets: Mapping[str, bytes]) -> bytes:
    """Return the document. The asset `checks` says what the checks came to."""
    del findings
    told = entities(Packaged(dossier), assets)
    every = (*told.objects, *told.events, *told.agents, *told.rights)
    root = xml.element(
        f"{{{PREMIS}}}premis",
        [one.element for one in every],
        attributes={"version": "3.0"},
        prefixes=PREFIXES,
    )
    return xml.write(root)
