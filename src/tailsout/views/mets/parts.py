"""Elements of METS 1.12.1."""

from collections.abc import Iterable, Mapping

from tailsout.mapping import xml
from tailsout.mapping.xml import Element
from tailsout.views import dublin_core
from tailsout.views.premis import Entities
from tailsout.views.premis.parts import PREFIXES as PREMIS_PREFIXES

METS = "http://www.loc.gov/METS/"
XLINK = "http://www.w3.org/1999/xlink"
PREFIXES: Mapping[str | None, str] = {
    "mets": METS,
    "xlink": XLINK,
    "dc": dublin_core.DC,
    **PREMIS_PREFIXES,
}


def made(
    name: str, content: str | Iterable[Element], attributes: Mapping[str, str] | None = None
) -> Element:
    """Make an element of METS."""
    return xml.element(f"{{{METS}}}{name}", content, attributes=attributes)


def section_id(key: str) -> str:
    """Return an identifier within the document for a UUID: it may not begin with a figure."""
    return f"id-{key}"


def section_ids(key: str, entities: Entities) -> str:
    """Return where a thing is described within the document, and then each event of it."""
    return " ".join(map(section_id, (key, *entities.happened_to.get(key, ()))))


def wrapped(name: str, key: str, kind: str, content: Iterable[Element]) -> Element:
    """Make a section of metadata in another standard, identified within the document by `key`."""
    of_kind = {"MDTYPE": kind}
    if kind.startswith("PREMIS"):
        of_kind["MDTYPEVERSION"] = "3.0"
    return made(name, [made("mdWrap", [made("xmlData", content)], of_kind)], {"ID": key})
