"""metadata/mets.xml: the package in METS 1.12.1 (METS Editorial Board, October 2019).

PREMIS and Dublin Core are wrapped; each file has its strongest digest; the structure leads from the
recording over reel and side to each region, which is a stretch of time in a file and points to what
is known of its own speed and equalisation. Reel, recording, package and files point to what is
known of each, to what happened to it, and to the rights in it.
"""

from collections.abc import Iterator, Mapping

from tailsout.ground.findings import Finding
from tailsout.mapping import xml
from tailsout.mapping.xml import Element
from tailsout.records.dossier import Dossier
from tailsout.views import dublin_core, premis
from tailsout.views.dates import is_moment
from tailsout.views.mets.files import file_section
from tailsout.views.mets.parts import PREFIXES, made, section_id, wrapped
from tailsout.views.mets.structure import structure_maps
from tailsout.views.packaged import Packaged
from tailsout.views.premis import NOT_HELD, Entities
from tailsout.views.premis.identifiers import package_id, reel_id
from tailsout.views.xml_text import holdable

__all__ = ["NOT_HELD", "lost", "render"]

DESCRIPTIVE = "dc"


def render(dossier: Dossier, findings: tuple[Finding, ...], assets: Mapping[str, bytes]) -> bytes:
    """Return the document. The asset `checks` is what PREMIS says of the checks."""
    del findings
    packaged = Packaged(dossier)
    entities = premis.entities(packaged, assets)
    files = file_section(packaged, entities)
    described = wrapped("dmdSec", DESCRIPTIVE, "DC", dublin_core.elements(packaged))
    root = xml.element(
        made("mets", ()).tag,
        [
            _header(packaged),
            described,
            made("amdSec", _administrative(packaged, entities), {"ID": "amd"}),
            *([files] if files is not None else []),
            *structure_maps(packaged, DESCRIPTIVE, entities),
        ],
        attributes={
            "OBJID": f"urn:uuid:{package_id(packaged)}",
            "LABEL": holdable(packaged.name),
            "TYPE": "transfer of a magnetic tape",
        },
        prefixes=PREFIXES,
    )
    return xml.write(root)


def lost(dossier: Dossier) -> tuple[str, ...]:
    """Say what METS does not hold, a sentence each: what PREMIS does not, and moments."""
    told = premis.lost(dossier)
    if Packaged(dossier).stretches:
        told += ("Stretches of time are cut to the millisecond; PREMIS has them in samples.",)
    return told


def _header(packaged: Packaged) -> Element:
    agents = []
    studio = packaged.transfer.studio if packaged.transfer is not None else None
    if studio is not None and studio.name:
        who = {"ROLE": "CREATOR", "TYPE": "ORGANIZATION"}
        agents.append(made("agent", [made("name", holdable(studio.name))], who))
    if packaged.made_by:
        what = {"ROLE": "CREATOR", "TYPE": "OTHER", "OTHERTYPE": "software"}
        notes = [made("note", holdable(one)) for one in lost(packaged.dossier)]
        name = made("name", holdable(packaged.made_by))
        agents.append(made("agent", [name, *notes], what))
    when = {"CREATEDATE": packaged.made_at} if is_moment(packaged.made_at) else {}
    return made("metsHdr", agents, when)


def _administrative(packaged: Packaged, entities: Entities) -> Iterator[Element]:
    reel = reel_id(packaged)
    for one in entities.objects:
        if one.id != reel:
            yield _wrapped("techMD", one.id, "PREMIS:OBJECT", one.element)
    for one in entities.rights:
        yield _wrapped("rightsMD", one.id, "PREMIS:RIGHTS", one.element)
    for one in entities.objects:
        if one.id == reel:
            yield _wrapped("sourceMD", one.id, "PREMIS:OBJECT", one.element)
    for one in entities.events:
        yield _wrapped("digiprovMD", one.id, "PREMIS:EVENT", one.element)
    for one in entities.agents:
        yield _wrapped("digiprovMD", one.id, "PREMIS:AGENT", one.element)


def _wrapped(name: str, key: str, kind: str, element: Element) -> Element:
    return wrapped(name, section_id(key), kind, [element])
