"""RO-Crate 1.2: its MUSTs, and what its graph tells.

Descriptor, root and properties: RO-Crate Metadata Specification 1.2, "Root Data Entity" and
"Provenance of entities"; the context has `sha256` from 1.2 on.
"""

import json
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from tailsout.bag.open import open_bag
from tailsout.records.dossier import Dossier
from tailsout.records.facts import FoundFile, PackageFacts
from tailsout.records.reel import Event as ReelEvent
from tailsout.records.transfer import Studio
from tailsout.views import crate
from tailsout.work.package import read_package

PACKAGE = Path(__file__).resolve().parents[2] / "sample_packages/good/skerrow-light/package"


@pytest.fixture(scope="module")
def kept() -> Dossier:
    with open_bag(PACKAGE) as bag:
        return read_package(bag)


def graph(dossier: Dossier, **assets: bytes) -> dict[str, Any]:
    document = json.loads(crate.render(dossier, (), assets))
    assert document["@context"] == "https://w3id.org/ro/crate/1.2/context"
    entities = document["@graph"]
    found = {one["@id"]: one for one in entities}
    assert len(found) == len(entities)
    return found


def references(value: Any) -> set[str]:
    """Everything that an entity points to."""
    if isinstance(value, list):
        return {key for one in value for key in references(one)}
    if isinstance(value, dict):
        if set(value) == {"@id"}:
            return {value["@id"]}
        return {key for one in value.values() for key in references(one)}
    return set()


def test_the_descriptor_leads_to_the_root(kept: Dossier) -> None:
    found = graph(kept)
    descriptor = found["ro-crate-metadata.json"]
    assert descriptor["@type"] == "CreativeWork"
    assert descriptor["about"] == {"@id": "./"}
    assert descriptor["conformsTo"] == {"@id": "https://w3id.org/ro/crate/1.2"}
    root = found["./"]
    assert root["@type"] == "Dataset"
    assert {"name", "description", "datePublished", "license"} <= set(root)
    assert root["datePublished"] == "2026-03-15T08:00:00Z"


def test_every_reference_leads_to_something(kept: Dossier) -> None:
    found = graph(kept, checks=b"success: pass")
    outside = {"https://w3id.org/ro/crate/1.2"}
    assert {key for one in found.values() for key in references(one)} - set(found) == outside


def test_files_are_told_from_the_folder_data(kept: Dossier) -> None:
    found = graph(kept)
    master = found["audio/skl8-side-a.wav"]
    assert master["@type"] == "File"
    assert kept.package is not None
    stated = next(
        line.digest
        for manifest in kept.package.manifests
        if manifest.name == "manifest-sha256.txt"
        for line in manifest.lines
        if line.path == "data/audio/skl8-side-a.wav"
    )
    assert master["sha256"] == stated
    media_type, registry = master["encodingFormat"]
    assert media_type == "audio/vnd.wave"
    assert found[registry["@id"]]["name"] == "Broadcast WAVE 2"
    assert registry["@id"].endswith("/PRONOM/fmt/705")
    assert {one["@id"] for one in found["./"]["hasPart"]} == {
        f"audio/skl8-side-{side}.{ending}" for side in "ab" for ending in ("wav", "json")
    }


def test_a_capture_is_an_action_that_made_the_master_of_the_reel(kept: Dossier) -> None:
    found = graph(kept)
    (action,) = (
        one
        for one in found.values()
        if one["@type"] == "CreateAction" and one["result"] == {"@id": "audio/skl8-side-a.wav"}
    )
    assert action["name"] == "creation"
    assert action["startTime"] == "2026-03-14T10:21:07Z"
    assert found[action["object"]["@id"]]["identifier"] == "HA/SKL/8"
    tools = {found[one["@id"]]["@type"] for one in action["instrument"]}
    assert tools <= {"IndividualProduct", "CreativeWork"}
    assert found[action["agent"]["@id"]]["name"] == "Isolde Varga-Finch"


def test_identifiers_say_what_they_are_and_the_studio_whom_to_ask(kept: Dossier) -> None:
    found = graph(kept)
    told = [found[one["@id"]] for one in found["./"]["identifier"]]
    assert [(one["@type"], one["propertyID"]) for one in told] == [
        ("PropertyValue", "name of the bag"),
        ("PropertyValue", "UUID"),
    ]
    assert told[0]["value"] == "SKL-0008"
    assert kept.transfer is not None
    for studio, point in (
        (Studio(contact_name="Ada", contact_email="a@b.example"), ("Ada", "a@b.example")),
        (Studio(contact_email="a@b.example"), ("a@b.example", "a@b.example")),
    ):
        of_it = graph(replace(kept, transfer=replace(kept.transfer, studio=studio)))
        assert of_it["#studio"]["contactPoint"] == {"@id": "#contact"}
        assert (of_it["#contact"]["name"], of_it["#contact"]["email"]) == point
    silent = graph(replace(kept, transfer=replace(kept.transfer, studio=Studio(name="S"))))
    assert "contactPoint" not in silent["#studio"]
    assert "#contact" not in silent


@pytest.mark.parametrize(
    ("on", "is_time"),
    [("2026-03", True), ("2026-03-14T10:00:00+01:00", True), ("2026-03-14?", False)],
)
def test_a_doubted_date_is_told_in_words(kept: Dossier, on: str, is_time: bool) -> None:
    assert kept.transfer is not None
    events = (ReelEvent(kind="winding", on=on),)
    reel = replace(kept.transfer.reel, events=events)
    found = graph(replace(kept, transfer=replace(kept.transfer, reel=reel)))
    (action,) = (one for one in found.values() if one.get("name") == "winding")
    assert action.get("startTime") == (on if is_time else None)
    assert (f"when: {on}" in action["description"]) is not is_time


def test_its_own_file_is_no_part_of_it(kept: Dossier) -> None:
    assert kept.package is not None
    own = FoundFile(path="data/ro-crate-metadata.json", octets=1)
    files = tuple(one for one in kept.package.files if one.path != own.path)
    without = replace(kept, package=replace(kept.package, files=files))
    with_it = replace(kept, package=replace(kept.package, files=(*files, own)))
    assert crate.render(without, (), {}) == crate.render(with_it, (), {})


def test_what_it_asks_for_and_nobody_told_is_said() -> None:
    package = PackageFacts(
        name="bag",
        bagit_version="1.0",
        encoding="UTF-8",
        bag_info=(),
        manifests=(),
        files=(
            FoundFile(path="data/a b.txt", octets=1),
            FoundFile(path="data/unknown", octets=1),
        ),
    )
    one = Dossier(origin="received", package=package)
    found = graph(one)
    assert crate.lost(one) == (
        "The day of publication, which RO-Crate asks for, is not known.",
        "No licence is stated, which RO-Crate asks for.",
    )
    assert found["./"]["license"] == {"@id": "#no-licence"}
    assert "mentions" not in found["./"]
    assert "left out: No licence is stated" in found["./"]["description"]
    assert found["a%20b.txt"]["@type"] == "File"
    assert found["unknown"]["encodingFormat"] == "application/octet-stream"


def test_whoever_is_told_of_twice_stands_once(kept: Dossier) -> None:
    assert kept.transfer is not None
    people = (*kept.transfer.people, replace(kept.transfer.people[0], role="listener"))
    told = crate.render(replace(kept, transfer=replace(kept.transfer, people=people)), (), {})
    ids = [one["@id"] for one in json.loads(told)["@graph"]]
    assert len(ids) == len(set(ids))


def test_text_of_strangers_is_text(hostile: Dossier) -> None:
    assert graph(hostile)["./"]["@type"] == "Dataset"


def test_it_is_the_same_each_time(kept: Dossier) -> None:
    assert crate.render(kept, (), {}) == crate.render(replace(kept), (), {"x": b"y"})
