"""Access copies in descriptions: derived from their master, by named programs, on a date."""

import json
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from lxml import etree

from tailsout.bag.open import open_bag
from tailsout.records.access import AccessCopy, CopyStep
from tailsout.records.amendment import Amendment, FileChange
from tailsout.records.dossier import Dossier
from tailsout.records.facts import FoundFile
from tailsout.views import crate, mets, pbcore, premis, prov
from tailsout.views.packaged import Packaged
from tailsout.work.package import read_package

PACKAGE = Path(__file__).resolve().parents[2] / "sample_packages/good/skerrow-light/package"
MASTER, COPY = "data/audio/skl8-side-a.wav", "data/access/skl8-side-a.opus"
NS = {
    "p": "http://www.loc.gov/premis/v3",
    "m": "http://www.loc.gov/METS/",
    "x": "http://www.w3.org/1999/xlink",
}
TOLD = AccessCopy(
    path=COPY,
    octets=700,
    sha256="ab" * 32,
    sha512="cd" * 64,
    format="Opus",
    start=0,
    end=48_000,
    regions=("A1",),
    sample_rate_hz=48_000,
    channels=1,
    frames=48_000,
    clipped_samples=0,
    steps=(
        CopyStep(step="sample rate conversion", software="Ripple 3", how="to 48000 Hz"),
        CopyStep(step="encoding", software="Groyne 4.2", how="Opus, 96 kbit/s"),
        CopyStep(step="tags", software="Groyne 4.2", how="comment"),
    ),
)


def with_copies(*copies: AccessCopy, amendments: tuple[Amendment, ...] = ()) -> Dossier:
    with open_bag(PACKAGE) as bag:
        dossier = read_package(bag)
    assert dossier.package is not None
    files = []
    for file in dossier.files:
        if file.path == MASTER:
            assert file.sidecar is not None
            stated = replace(file.stated, copies=copies)  # type: ignore[type-var]
            car = replace(file.sidecar, this_file=stated, amendments=amendments)
            files.append(replace(file, sidecar=car))
        else:
            files.append(file)
    found = [FoundFile(path=one.path, octets=one.octets) for one in copies if one.path == COPY]
    package = replace(dossier.package, files=(*dossier.package.files, *found))
    return replace(dossier, files=tuple(files), package=package, amendments=amendments or None)


@pytest.fixture(scope="module")
def copied() -> Dossier:
    return with_copies(TOLD)


@pytest.fixture(scope="module")
def of_premis(copied: Dossier) -> Any:
    return etree.fromstring(premis.render(copied, (), {}))


def named(root: Any, path: str) -> Any:
    (one,) = root.xpath(
        f"//p:object[p:objectIdentifier[p:objectIdentifierValue='{path}']]", namespaces=NS
    )
    return one


def uuid(one: Any) -> str:
    return str(one.findtext("p:objectIdentifier/p:objectIdentifierValue", namespaces=NS))


def creations(root: Any, what: str) -> list[Any]:
    """Events of creation with an object as their outcome."""
    return [
        event
        for event in root.iterfind("p:event", NS)
        if event.findtext("p:eventType", namespaces=NS) == "creation"
        for link in event.iterfind("p:linkingObjectIdentifier", NS)
        if link.findtext("p:linkingObjectIdentifierValue", namespaces=NS) == what
        and link.findtext("p:linkingObjectRole", namespaces=NS) == "outcome"
    ]


def test_premis_derives_a_copy_from_its_master(of_premis: Any) -> None:
    copy, master = named(of_premis, COPY), named(of_premis, MASTER)
    (event,) = creations(of_premis, uuid(copy))
    key = event.findtext("p:eventIdentifier/p:eventIdentifierValue", namespaces=NS)
    (derived,) = copy.xpath("p:relationship[p:relationshipType='derivation']", namespaces=NS)
    assert derived.findtext("p:relationshipSubType", namespaces=NS) == "has source"
    assert derived.xpath("string(.//p:relatedObjectIdentifierValue)", namespaces=NS) == uuid(master)
    assert derived.xpath("string(.//p:relatedEventIdentifierValue)", namespaces=NS) == key
    roles = {
        link.findtext("p:linkingObjectIdentifierValue", namespaces=NS): link.findtext(
            "p:linkingObjectRole", namespaces=NS
        )
        for link in event.iterfind("p:linkingObjectIdentifier", NS)
    }
    assert roles == {uuid(master): "source", uuid(copy): "outcome"}


def test_premis_names_each_program_once_and_each_step_in_order(of_premis: Any) -> None:
    (event,) = creations(of_premis, uuid(named(of_premis, COPY)))
    agents = {
        agent.findtext("p:agentIdentifier/p:agentIdentifierValue", namespaces=NS): agent.findtext(
            "p:agentName", namespaces=NS
        )
        for agent in of_premis.iterfind("p:agent", NS)
    }
    links = event.xpath(".//p:linkingAgentIdentifierValue/text()", namespaces=NS)
    assert [agents[one] for one in links] == ["Ripple 3", "Groyne 4.2"]
    details = event.xpath(".//p:eventDetail/text()", namespaces=NS)
    assert [one.partition(":")[0] for one in details] == [
        "access copy",
        "step 1",
        "step 2",
        "step 3",
    ]
    written = named(of_premis, COPY)
    program = written.xpath("string(.//p:creatingApplicationName)", namespaces=NS)
    assert program == "Groyne 4.2"


def test_mets_groups_copies_wherever_the_recipient_wants_them(copied: Dossier) -> None:
    root = etree.fromstring(mets.render(copied, (), {}))
    (group,) = root.xpath("//m:fileGrp[@USE='access copy']", namespaces=NS)
    (file,) = group
    assert file.get("MIMETYPE") == "audio/ogg"
    assert file.xpath("m:FLocat/@x:href", namespaces=NS) == [f"../{COPY}"]


def test_pbcore_has_a_copy_as_an_instantiation_of_its_own(copied: Dossier) -> None:
    root = etree.fromstring(pbcore.render(copied, (), {}))
    ns = {"b": pbcore.PBCORE}
    found = {
        one.findtext("b:instantiationIdentifier[@source='path in the package']", namespaces=ns): one
        for one in root.iterfind("b:pbcoreInstantiation", ns)
    }
    copy, master = found[COPY], found[MASTER]
    assert copy.findtext("b:instantiationGenerations", namespaces=ns) == "Access copy"
    assert copy.findtext("b:instantiationDigital", namespaces=ns) == "audio/ogg"
    assert copy.findtext("b:instantiationDuration", namespaces=ns) == "00:00:01.000"
    related = copy.findtext("b:instantiationRelation/b:instantiationRelationIdentifier", None, ns)
    assert related == master.findtext("b:instantiationIdentifier", namespaces=ns)
    notes = {one.get("annotationType"): one.text for one in copy if one.get("annotationType")}
    assert notes["step 2"] == "encoding; Groyne 4.2; Opus, 96 kbit/s"
    assert notes["regions"] == "A1"


def test_a_crate_bases_a_copy_on_its_master(copied: Dossier) -> None:
    graph = {one["@id"]: one for one in json.loads(crate.render(copied, (), {}))["@graph"]}
    name, master = COPY.removeprefix("data/"), MASTER.removeprefix("data/")
    assert graph[name]["isBasedOn"] == {"@id": master}
    assert "isBasedOn" not in graph[master]
    (action,) = [one for one in graph.values() if one.get("result") == {"@id": name}]
    assert action["object"] == {"@id": master}
    assert {graph[one["@id"]]["name"] for one in action["instrument"]} == {"Ripple 3", "Groyne 4.2"}


def test_prov_derives_a_copy_from_its_master_by_its_making(copied: Dossier) -> None:
    document = json.loads(prov.render(copied, (), {}))
    labels = {key: one["prov:label"] for key, one in document["entity"].items()}
    derived = {
        (labels[one["prov:generatedEntity"]], labels[one["prov:usedEntity"]]): one["prov:activity"]
        for one in document["wasDerivedFrom"].values()
    }
    making = derived[COPY, MASTER]
    made = document["wasGeneratedBy"].values()
    assert [one["prov:activity"] for one in made if labels.get(one["prov:entity"]) == COPY] == [
        making
    ]


def amended(version: int, *files: FileChange) -> Amendment:
    return Amendment(
        version=version,
        supersedes="SKL-0008",
        manifests={},
        by="isolde",
        on="2026-05-02",
        why="a letter",
        written=f"2026-0{version + 3}-02T08:00:00Z",
        software="tailsout 0",
        files=files,
    )


RETAKEN = FileChange(path="data/audio/old.wav", change="replaced", now=MASTER)


@pytest.mark.parametrize(
    ("amendments", "when"),
    [
        ((amended(2),), "/2026-05-02"),
        ((amended(2), amended(3)), "/2026-05-02"),
        ((amended(2, FileChange(path=COPY, change="replaced")),), "2026-05-02T08:00:00Z"),
        ((amended(2, FileChange(path=COPY, change="added")), amended(3)), "2026-05-02T08:00:00Z"),
        ((amended(2), amended(3, RETAKEN)), "2026-06-02T08:00:00Z"),
        ((amended(2, FileChange(path=COPY, change="withdrawn")),), "/2026-05-02"),
        ((amended(2, FileChange(path=MASTER, change="header renewed")),), "/2026-05-02"),
    ],
)
def test_a_copy_was_made_by_the_amendment_that_says_so_or_before_them_all(
    amendments: tuple[Amendment, ...], when: str
) -> None:
    copies = [one.copied for one in Packaged(with_copies(TOLD, amendments=amendments)).files]
    assert [one.when for one in copies if one is not None] == [when]


def test_without_amendments_a_copy_is_as_old_as_its_package(copied: Dossier) -> None:
    packaged = Packaged(copied)
    (copy,) = [one.copied for one in packaged.files if one.copied is not None]
    assert copy.when == packaged.made_at != ""


@pytest.mark.parametrize("path", ["data/access/gone.opus", MASTER])
def test_what_is_not_there_or_is_a_master_is_no_copy(path: str) -> None:
    told: Mapping[str, Any] = {"path": path}
    files = Packaged(with_copies(replace(TOLD, **told))).files
    assert not any(one.copied for one in files)
