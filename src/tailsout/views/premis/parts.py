"""Elements of PREMIS 3.0 in the order that its schema wants."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

from tailsout.mapping import xml
from tailsout.mapping.xml import Element
from tailsout.views.premis.terms import Term
from tailsout.views.xml_text import holdable

PREMIS = "http://www.loc.gov/premis/v3"
XSI = "http://www.w3.org/2001/XMLSchema-instance"
PREFIXES: Mapping[str | None, str] = {None: PREMIS, "xsi": XSI}
UUID = "UUID"
PRONOM_NAME = "PRONOM"

Content = str | Term | Iterable[Element | None]


@dataclass(frozen=True, slots=True, kw_only=True)
class Entity:
    """One object, event, agent or rights statement."""

    id: str
    """UUID."""
    element: Element


def made(name: str, content: Content, attributes: Mapping[str, str] | None = None) -> Element:
    """Make an element of PREMIS; a term brings its authority along."""
    tag = f"{{{PREMIS}}}{name}"
    if isinstance(content, Term):
        of_term = {"authority": content.authority}
        # The one begins with the other.
        if content.value_uri:
            of_term["valueURI"] = content.value_uri
        else:
            of_term["authorityURI"] = content.authority_uri
        return xml.element(tag, holdable(content.label), attributes=of_term)
    if isinstance(content, str):
        return xml.element(tag, holdable(content), attributes=attributes)
    return xml.element(tag, [one for one in content if one is not None], attributes=attributes)


def optional(name: str, content: str | Term | None) -> Element | None:
    """Make an element if there is something to say."""
    return made(name, content) if content else None


def identifier(what: str, value: str, kind: str = UUID, *more: Element) -> Element:
    """Make an identifier or a link: `what` is `object`, `linkingAgent` and the like."""
    return made(
        f"{what}Identifier",
        [
            made(f"{what}IdentifierType", kind),
            made(f"{what}IdentifierValue", value),
            *more,
        ],
    )


def link(what: str, value: str, *roles: Term) -> Element:
    """Make a link to another entity, with the parts it plays."""
    plays = [made(f"linking{what}Role", role) for role in roles]
    return identifier(f"linking{what}", value, UUID, *plays)


def properties(told: Iterable[tuple[str, str]]) -> Iterator[Element]:
    """Yield one significant property for each label and text."""
    for label, text in told:
        if text:
            yield made(
                "significantProperties",
                [
                    made("significantPropertiesType", label),
                    made("significantPropertiesValue", text),
                ],
            )


def relationship(
    kind: str, what: str, objects: Iterable[str], events: Iterable[str] = ()
) -> Element | None:
    """Make a relationship to other objects; none if there are no others."""
    related = [identifier("relatedObject", one) for one in objects]
    if not related:
        return None
    return made(
        "relationship",
        [
            made("relationshipType", kind),
            made("relationshipSubType", what),
            *related,
            *(identifier("relatedEvent", one) for one in events),
        ],
    )


def an_object(category: str, parts: Iterable[Element | None]) -> Element:
    """Make an object of a category: `file`, `representation`, `bitstream`, `intellectualEntity`."""
    # The category is a qualified name: where it stands, the namespace without a prefix is PREMIS.
    return made("object", parts, {f"{{{XSI}}}type": category})
