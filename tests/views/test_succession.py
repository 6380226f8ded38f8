"""A version and the one that it supersedes, in the words of others.

`replacement` and `supersedes` are words of the Library of Congress's relationshipType and
relationshipSubType from memory, so they stand without an authority; a schema takes any text there.
PROV: `prov:Revision` is a type of derivation (PROV-DM §5.2.2).
"""

import json
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from lxml import etree

from tailsout.bag.open import open_bag
from tailsout.mapping.descriptions import read
from tailsout.records.amendment import Amendment
from tailsout.records.dossier import Dossier
from tailsout.views import crate, mets, pbcore, premis, prov
from tailsout.work.package import read_package

KEPT = Path(__file__).resolve().parents[2] / "sample_packages/good"
NS = {"p": "http://www.loc.gov/premis/v3", "b": pbcore.PBCORE}


@cache
def kept() -> Dossier:
    with open_bag(KEPT / "skerrow-light/package") as bag:
        return read_package(bag)


def amended(*superseded: str) -> Dossier:
    """The kept package as one that came after others, the oldest first."""
    every = tuple(
        Amendment(
            version=number,
            supersedes=name,
            manifests={},
            by="isolde",
            on=f"2026-05-0{number}",
            why="a letter",
            written=f"2026-05-0{number}T08:00:00Z",
            software="tailsout 0",
        )
        for number, name in enumerate(superseded, start=2)
    )
    return replace(kept(), amendments=every)


TWICE = ("SKL-0008", "SKL-0008.v2")


def objects(root: Any) -> dict[str, Any]:
    """Representations by the name of their bag."""
    found: dict[str, Any] = {}
    for one in root.iterfind(".//p:object", NS):
        names = one.xpath(
            "p:objectIdentifier[p:objectIdentifierType='name of the bag']"
            "/p:objectIdentifierValue/text()",
            namespaces=NS,
        )
        found |= dict.fromkeys(names, one)
    return found


def uuid(one: Any) -> str:
    return str(one.xpath("string(.//p:objectIdentifierValue)", namespaces=NS))


def test_premis_leads_from_each_version_to_the_one_before() -> None:
    root = etree.fromstring(premis.render(amended(*TWICE), (), {}))
    found = objects(root)
    assert list(found) == ["SKL-0008.v3", "SKL-0008.v2", "SKL-0008"]
    for newer, older in (("SKL-0008.v3", "SKL-0008.v2"), ("SKL-0008.v2", "SKL-0008")):
        (one,) = found[newer].xpath(
            "p:relationship[p:relationshipType='replacement']", namespaces=NS
        )
        assert one.findtext("p:relationshipSubType", namespaces=NS) == "supersedes"
        related = one.xpath("string(.//p:relatedObjectIdentifierValue)", namespaces=NS)
        assert related == uuid(found[older])
        key = one.xpath("string(.//p:relatedEventIdentifierValue)", namespaces=NS)
        (event,) = (
            event
            for event in root.iterfind("p:event", NS)
            if event.xpath("string(.//p:eventIdentifierValue)", namespaces=NS) == key
        )
        assert event.findtext("p:eventType", namespaces=NS) == "amendment"
        roles = {
            link.xpath("string(p:linkingObjectIdentifierValue)", namespaces=NS): link.xpath(
                "string(p:linkingObjectRole)", namespaces=NS
            )
            for link in event.iterfind("p:linkingObjectIdentifier", NS)
        }
        assert roles == {uuid(found[older]): "source", uuid(found[newer]): "outcome"}
    assert not found["SKL-0008"].xpath("p:relationship", namespaces=NS)


def test_an_earlier_version_is_known_by_the_identifier_that_it_had_itself() -> None:
    before = objects(etree.fromstring(premis.render(amended(), (), {})))
    after = objects(etree.fromstring(premis.render(amended(*TWICE), (), {})))
    assert uuid(before["SKL-0008"]) == uuid(after["SKL-0008"])


@pytest.mark.parametrize("view", [premis, mets])
@pytest.mark.parametrize("names", [TWICE, ("SKL-0008.v2",), ("x", "x"), ("\0\u202e",)])
def test_no_link_leads_nowhere_whatever_a_version_is_called(
    view: Any, names: tuple[str, ...]
) -> None:
    content = view.render(amended(*names), (), {})
    description, found = read(content, "metadata/a.xml")
    assert found == ()
    assert description is not None
    assert description.loose == ()


def test_a_crate_is_based_on_the_version_before() -> None:
    graph = {o["@id"]: o for o in json.loads(crate.render(amended(*TWICE), (), {}))["@graph"]}
    before = graph[graph["./"]["isBasedOn"]["@id"]]
    assert before["name"] == "SKL-0008.v2"
    first, second = (one for one in graph.values() if one.get("name") == "amendment")
    assert graph[first["object"]["@id"]]["name"] == "SKL-0008"
    assert first["result"] == {"@id": before["@id"]} == second["object"]
    assert second["result"] == {"@id": "./"}
    assert "isBasedOn" not in json.loads(crate.render(amended(), (), {}))["@graph"][1]


def test_prov_has_a_version_as_revision_of_the_one_before() -> None:
    document = json.loads(prov.render(amended(*TWICE), (), {}))
    labels = {key: one["prov:label"] for key, one in document["entity"].items()}
    revised = [
        (labels[one["prov:generatedEntity"]], labels[one["prov:usedEntity"]])
        for one in document["wasDerivedFrom"].values()
        if one.get("prov:type") == {"$": "prov:Revision", "type": "xsd:QName"}
    ]
    assert revised == [("SKL-0008.v3", "SKL-0008.v2"), ("SKL-0008.v2", "SKL-0008")]


def test_pbcore_names_what_is_replaced() -> None:
    root = etree.fromstring(pbcore.render(amended(*TWICE), (), {}))
    related = {
        one.findtext("b:pbcoreRelationType", namespaces=NS): one.findtext(
            "b:pbcoreRelationIdentifier", namespaces=NS
        )
        for one in root.iterfind("b:pbcoreRelation", NS)
    }
    assert related["Replaces"] == "SKL-0008.v2"
