"""PROV-JSON (W3C Member Submission, 24 April 2013): names, and relations between what is there."""

import json
import re
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from tailsout.bag.open import open_bag
from tailsout.records.dossier import Dossier
from tailsout.views import prov
from tailsout.work.package import read_package

PACKAGE = Path(__file__).resolve().parents[2] / "sample_packages/good/skerrow-light/package"
RELATIONS = {
    "used": ("prov:activity", "prov:entity"),
    "wasGeneratedBy": ("prov:activity", "prov:entity"),
    "wasAssociatedWith": ("prov:activity", "prov:agent"),
    "wasDerivedFrom": ("prov:generatedEntity", "prov:usedEntity"),
    "specializationOf": ("prov:specificEntity", "prov:generalEntity"),
}


@pytest.fixture(scope="module")
def kept() -> Dossier:
    with open_bag(PACKAGE) as bag:
        return read_package(bag)


def read(dossier: Dossier, **assets: bytes) -> dict[str, Any]:
    document: dict[str, Any] = json.loads(prov.render(dossier, (), assets))
    return document


def test_every_relation_is_between_things_that_are_there(kept: Dossier) -> None:
    document = read(kept, checks=b"success: pass")
    there = {key for sort in ("entity", "activity", "agent") for key in document[sort]}
    assert set(RELATIONS) <= set(document)
    for name, ends in RELATIONS.items():
        for relation in document[name].values():
            assert {relation[end] for end in ends} <= there


def test_a_master_is_derived_from_the_reel_by_its_capture(kept: Dossier) -> None:
    document = read(kept)
    labels = {key: one["prov:label"] for key, one in document["entity"].items()}
    derived = {
        (labels[one["prov:generatedEntity"]], labels[one["prov:usedEntity"]])
        for one in document["wasDerivedFrom"].values()
    }
    title = "Skerrow Light, spoken log of the keeper, reel 8"
    assert derived == {
        ("data/audio/skl8-side-a.wav", title),
        ("data/audio/skl8-side-b.wav", title),
    }
    made = {one["prov:activity"] for one in document["wasDerivedFrom"].values()}
    assert {document["activity"][one]["prov:label"] for one in made} == {"creation"}


def test_every_name_has_a_known_prefix(kept: Dossier) -> None:
    document = read(kept)
    for sort in ("entity", "activity", "agent"):
        assert document[sort]
        for key, said in document[sort].items():
            for name in (key, *said):
                prefix, _, local = name.partition(":")
                assert prefix in document["prefix"]
                assert re.fullmatch(r"[A-Za-z0-9-]+", local), name


def test_only_moments_are_times(kept: Dossier) -> None:
    activities = read(kept)["activity"].values()
    starts = [one["prov:startTime"] for one in activities if "prov:startTime" in one]
    moment = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}T[0-9:]{8}Z")
    assert starts
    assert [start for start in starts if not moment.fullmatch(start)] == []


def test_nothing_at_all_is_one_entity() -> None:
    document = read(Dossier(origin="received"))
    assert set(document) == {"prefix", "entity"}
    (package,) = document["entity"].values()
    assert package["prov:type"] == {"$": "tailsout:package", "type": "xsd:QName"}


def test_text_of_strangers_is_text(hostile: Dossier) -> None:
    assert "entity" in read(hostile)


def test_it_is_the_same_each_time(kept: Dossier) -> None:
    assert prov.render(kept, (), {}) == prov.render(replace(kept), (), {"x": b"y"})
