"""PBCore 2.1: what the schema (May 2018) cannot hold the document to."""

from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from lxml import etree

from tailsout.bag.open import open_bag
from tailsout.records.dossier import Dossier
from tailsout.records.facts import InfoLine, PackageFacts
from tailsout.records.recording import Recording
from tailsout.records.reel import Reel
from tailsout.records.transfer import Studio, Transfer
from tailsout.views import pbcore
from tailsout.work.package import read_package

PACKAGE = Path(__file__).resolve().parents[2] / "sample_packages/good/skerrow-light/package"
NS = {"b": pbcore.PBCORE}


@pytest.fixture(scope="module")
def kept() -> Dossier:
    with open_bag(PACKAGE) as bag:
        return read_package(bag)


def read(dossier: Dossier) -> Any:
    return etree.fromstring(pbcore.render(dossier, (), {}))


def texts(root: Any, path: str) -> list[str]:
    return [one.text for one in root.iterfind(path, NS)]


def test_what_is_the_recordings_or_the_studios_is_not_taken_for_the_reels() -> None:
    recording = Recording(languages=("eng", "dialect"), sensitivity="names")
    stated = Transfer(
        job_id="j",
        package_id="SKL-7",
        studio=Studio(name="Saltpan Row", place="Skerrow Haven"),
        reel=Reel(),
        recording=recording,
    )
    root = read(Dossier(origin="received", transfer=stated))
    assert texts(root, ".//b:instantiationLanguage") == ["eng"]
    notes = {
        one.get("annotationType"): one.text
        for one in root.iterfind(".//b:instantiationAnnotation", NS)
    }
    assert notes["recording language"] == "dialect"
    assert notes["recording sensitivity"] == "names"
    assert notes["studio place"] == "Skerrow Haven"
    assert not {"name", "place", "languages"} & set(notes)


def test_the_reel_and_each_master_are_instantiations_of_one_recording(kept: Dossier) -> None:
    root = read(kept)
    assert texts(root, "b:pbcoreTitle") == ["Skerrow Light, spoken log of the keeper, reel 8"]
    assert texts(root, "b:pbcoreDescription") == ["the keeper's spoken log of one December"]
    reel, *masters = root.findall("b:pbcoreInstantiation", NS)
    assert texts(reel, "b:instantiationPhysical") == ["Open reel audiotape"]
    assert "HA/SKL/8" in texts(reel, "b:instantiationIdentifier")
    (standard,) = masters[0].findall("b:instantiationStandard", NS)
    assert dict(standard.attrib) == {"version": "2", "source": "PRONOM", "ref": "fmt/705"}
    assert [texts(one, "b:instantiationDigital") for one in masters] == [["audio/vnd.wave"]] * 2
    assert [texts(one, "b:instantiationDuration") for one in masters] == [
        ["00:00:00.600"],
        ["00:00:00.500"],
    ]


def test_a_master_is_dubbed_from_the_reel(kept: Dossier) -> None:
    root = read(kept)
    reel, first, _ = root.findall("b:pbcoreInstantiation", NS)
    related = texts(first, ".//b:instantiationRelationIdentifier")
    assert related == texts(reel, "b:instantiationIdentifier[@source='UUID']")
    assert texts(first, "b:instantiationDate") == ["2026-03-14T10:21:07Z"]


def test_each_region_is_a_track_with_its_own_speed(kept: Dossier) -> None:
    tracks = read(kept).findall(".//b:instantiationEssenceTrack", NS)
    assert [texts(one, "b:essenceTrackPlaybackSpeed") for one in tracks] == [
        [],
        ["7.5"],
        ["7.5"],
        ["7.5"],
        ["7.5"],
        ["3.75"],
    ]
    last = tracks[-1]
    assert texts(last, "b:essenceTrackTimeStart") == ["00:00:00.250"]
    assert texts(last, "b:essenceTrackDuration") == ["00:00:00.250"]
    assert "NAB 3180+90 µs" in texts(
        last, "b:essenceTrackAnnotation[@annotationType='equalisation']"
    )


def test_digests_stand_in_annotations(kept: Dossier) -> None:
    found = read(kept).findall(".//b:instantiationAnnotation[@annotationType='sha512']", NS)
    assert [len(one.text) for one in found] == [128, 128]


def test_what_nobody_told_is_not_recorded() -> None:
    root = read(Dossier(origin="received"))
    assert texts(root, "b:pbcoreDescription") == ["not recorded"]
    assert root.findall("b:pbcoreInstantiation", NS) == []


def test_a_package_of_strangers_says_what_its_bag_info_says() -> None:
    info = (InfoLine(label="External-Description", value="some reel", line=1),)
    package = PackageFacts(
        name="bag", bagit_version="1.0", encoding="UTF-8", bag_info=info, manifests=(), files=()
    )
    root = read(Dossier(origin="received", package=package))
    assert texts(root, "b:pbcoreDescription") == ["some reel"]
    assert texts(root, "b:pbcoreIdentifier") == ["bag"]


def test_files_that_are_no_audio_are_said_to_be_left_out(kept: Dossier) -> None:
    sentence = "Files that are no audio stand in the manifests."
    assert sentence in pbcore.lost(kept)
    assert kept.package is not None
    sounding = tuple(f for f in kept.package.files if f.path.endswith(".wav"))
    audio_alone = replace(kept, package=replace(kept.package, files=sounding))
    assert sentence not in pbcore.lost(audio_alone)


def test_text_of_strangers_is_text(hostile: Dossier) -> None:
    assert read(hostile).findall(".//b") == []


def test_it_is_the_same_each_time(kept: Dossier) -> None:
    assert pbcore.render(kept, (), {}) == pbcore.render(replace(kept), (), {"x": b"y"})


def test_what_it_cannot_hold_is_told_in_it(kept: Dossier) -> None:
    told = texts(read(kept), "b:pbcoreAnnotation[@annotationType='left out']")
    assert told == list(pbcore.lost(kept))
    assert "Machines and their care stand in the side-car." in told
    assert pbcore.lost(Dossier(origin="received")) == ()
