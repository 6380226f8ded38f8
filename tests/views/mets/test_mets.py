"""METS 1.12.1 (schema of October 2019) and what no schema can hold it to."""

from dataclasses import replace
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from lxml import etree

from tailsout.bag.open import open_bag
from tailsout.ground.pcm import Pcm
from tailsout.records.dossier import Dossier, FileRecord
from tailsout.records.facts import (
    ContainerFacts,
    FoundFile,
    Manifest,
    ManifestLine,
    PackageFacts,
)
from tailsout.records.reel import Reel, Region, Side
from tailsout.records.transfer import Studio, Transfer
from tailsout.views import mets
from tailsout.views.mets.structure import time_code
from tailsout.work.package import read_package

KEPT = Path(__file__).resolve().parents[3] / "sample_packages" / "good"
NS = {
    "m": "http://www.loc.gov/METS/",
    "p": "http://www.loc.gov/premis/v3",
    "dc": "http://purl.org/dc/elements/1.1/",
}
HREF = "{http://www.w3.org/1999/xlink}href"
PCM = Pcm(is_float=False, sample_rate_hz=1000, channels=1, container_bits=24, valid_bits=24)


@pytest.fixture(scope="module")
def kept() -> Dossier:
    with open_bag(KEPT / "skerrow-light" / "package") as bag:
        return read_package(bag)


@pytest.fixture(scope="module")
def root(kept: Dossier) -> Any:
    return read(kept)


def read(dossier: Dossier) -> Any:
    return etree.fromstring(mets.render(dossier, (), {}))


def split(*, track: int | None = None) -> Dossier:
    """One region that runs through two files of a capture: parts, or tracks."""
    region = Region(
        id="r", kind="programme", capture="a", start=500, end=1500, speed_ips=Decimal("7.5")
    )
    files = tuple(
        FileRecord(
            path=f"data/audio/{name}.wav",
            octets=1,
            capture="a",
            starts_at=0 if track else number * 1000,
            track=number + 1 if track else None,
            container=ContainerFacts(form="RIFF", chunks=()),
            pcm=PCM,
            frames=2000 if track else 1000,
        )
        for number, name in enumerate(("one", "two"))
    )
    return Dossier(
        origin="received",
        transfer=Transfer(
            job_id="j",
            package_id="SKL-0007",
            studio=Studio(),
            reel=Reel(sides=(Side(id="A", regions=(region,)),)),
        ),
        files=files,
        package=bag(*(file.path for file in files)),
    )


def bag(*paths: str, algorithm: str = "sha256") -> PackageFacts:
    lines = tuple(ManifestLine(path=path, digest="ab" * 32, line=1) for path in paths)
    manifest = Manifest(
        name=f"manifest-{algorithm}.txt", algorithm=algorithm, is_tag=False, lines=lines
    )
    return PackageFacts(
        name="bag",
        bagit_version="1.0",
        encoding="UTF-8",
        bag_info=(),
        manifests=(manifest,),
        files=tuple(FoundFile(path=path, octets=3) for path in paths),
    )


def dangling(root: Any) -> set[str]:
    """References within the document that lead to nothing."""
    known = {one.get("ID") for one in root.iter() if one.get("ID")}
    return {
        key
        for one in root.iter()
        for name in ("ADMID", "DMDID", "FILEID")
        for key in (one.get(name) or "").split()
        if key not in known
    }


def test_every_reference_leads_to_something(root: Any) -> None:
    assert dangling(root) == set()
    ids = [one.get("ID") for one in root.iter() if one.get("ID")]
    assert len(ids) == len(set(ids)) > 40


def test_a_reference_that_leads_to_nothing_is_found(root: Any) -> None:
    broken = etree.fromstring(etree.tostring(root))
    section = broken.find("m:amdSec/m:techMD", NS)
    section.set("ID", "other")
    assert dangling(broken)


def test_each_file_has_its_strongest_digest_and_where_it_lies(kept: Dossier, root: Any) -> None:
    files = {one[0].get(HREF): one for one in root.iterfind(".//m:file", NS)}
    master = files["../data/audio/skl8-side-a.wav"]
    assert kept.package is not None
    stated = next(
        line.digest
        for manifest in kept.package.manifests
        if manifest.name == "manifest-sha512.txt"
        for line in manifest.lines
        if line.path == "data/audio/skl8-side-a.wav"
    )
    assert (master.get("CHECKSUMTYPE"), master.get("CHECKSUM")) == ("SHA-512", stated)
    assert master.get("MIMETYPE") == "audio/vnd.wave"
    assert {one.get("USE") for one in root.iterfind(".//m:fileGrp", NS)} == {
        "preservation master",
        "payload",
        "side-car",
    }


def test_the_structure_leads_from_the_recording_to_each_region(root: Any) -> None:
    first = root.find("m:structMap[@TYPE='physical']", NS)
    recording = first[0]
    (reel,) = recording.findall("m:div", NS)
    sides = reel.findall("m:div", NS)
    assert [one.get("TYPE") for one in (recording, reel, *sides)] == [
        "recording",
        "reel",
        "side",
        "side",
    ]
    kinds = [one.get("TYPE") for one in sides[0]]
    assert kinds == ["leader", "line-up tone", "programme", "programme"]


def test_a_region_is_a_stretch_of_time_that_points_to_its_own_speed(root: Any) -> None:
    areas = root.findall(".//m:area", NS)
    tone = areas[1]
    assert (tone.get("BETYPE"), tone.get("BEGIN"), tone.get("END")) == (
        "TIME",
        "00:00:00.050",
        "00:00:00.210",
    )
    section = next(one for one in root.iter() if one.get("ID") == tone.get("ADMID"))
    said = [one.text for one in section.iterfind(".//p:significantPropertiesValue", NS)]
    assert "7.5 ips (19.05 cm/s)" in said
    assert "NAB 3180+50 µs" in said


def test_each_thing_points_to_what_happened_to_it(root: Any) -> None:
    sections = {one.get("ID"): one for one in root.iter() if one.get("ID")}

    def events(one: Any) -> set[str]:
        pointed_to = (sections[key] for key in one.get("ADMID").split())
        found = (section.find(".//p:eventType", NS) for section in pointed_to)
        return {one.text for one in found if one is not None}

    files = {one[0].get(HREF): one for one in root.iterfind(".//m:file", NS)}
    master = events(files["../data/audio/skl8-side-a.wav"])
    assert {"creation", "message digest calculation", "listening"} <= master
    assert events(files["../data/audio/skl8-side-a.json"]) == {"message digest calculation"}
    recording, reel = (
        root.findall(".//m:div[@TYPE='recording']", NS)[0],
        root.find(".//m:div[@TYPE='reel']", NS),
    )
    assert {"inspection", "winding", "creation"} <= events(reel)
    assert "packaging" in events(root.find(".//m:div[@TYPE='package']", NS))
    kinds = [sections[key].tag.rpartition("}")[2] for key in recording.get("ADMID").split()]
    assert kinds == ["techMD", "rightsMD"]


def test_what_premis_and_dublin_core_say_is_wrapped(root: Any) -> None:
    kinds = {one.get("MDTYPE") for one in root.iterfind(".//m:mdWrap", NS)}
    assert kinds == {"DC", "PREMIS:OBJECT", "PREMIS:EVENT", "PREMIS:AGENT", "PREMIS:RIGHTS"}
    assert [one.text for one in root.iterfind(".//dc:title", NS)] == [
        "Skerrow Light, spoken log of the keeper, reel 8"
    ]
    assert root.find("m:metsHdr", NS).get("CREATEDATE") == "2026-03-15T08:00:00Z"


def test_parts_follow_each_other_and_tracks_sound_together() -> None:
    (seq,) = read(split()).findall(".//m:seq", NS)
    assert [(one.get("BEGIN"), one.get("END")) for one in seq] == [
        ("00:00:00.500", "00:00:01.000"),
        ("00:00:00.000", "00:00:00.500"),
    ]
    (par,) = read(split(track=1)).findall(".//m:par", NS)
    assert [one.get("BEGIN") for one in par] == ["00:00:00.500", "00:00:00.500"]


def test_names_of_files_are_written_as_addresses() -> None:
    root = read(Dossier(origin="received", package=bag("data/a b%ü.wav")))
    assert root.find(".//m:FLocat", NS).get(HREF) == "../data/a%20b%25%C3%BC.wav"


@pytest.mark.parametrize(
    ("written", "is_told"),
    [
        ("2026-03-15T08:00:00Z", True),
        ("2026-03-15T08:00:00.25+14:00", True),
        ("2026-03-15T08:00:00-14:30", False),
        ("2026-03-15", False),
        ("2026-03-15T08:00Z", False),
    ],
)
def test_when_it_was_made_is_told_where_the_schema_knows_such_a_moment(
    kept: Dossier, written: str, is_told: bool
) -> None:
    """XML Schema part 2, §3.2.7.3: fourteen hours from UTC at most; RFC 3339 has no such bound."""
    files = tuple(
        replace(one, sidecar=replace(one.sidecar, written=written))
        for one in kept.files
        if one.sidecar is not None
    )
    header = read(replace(kept, files=files)).find("m:metsHdr", NS)
    assert header.get("CREATEDATE") == (written if is_told else None)


def test_files_whose_side_cars_state_one_identifier_have_each_their_own(kept: Dossier) -> None:
    first = next(one.stated for one in kept.files if one.stated is not None)
    files = tuple(
        replace(one, sidecar=replace(one.sidecar, this_file=replace(one.stated, id=first.id)))
        for one in kept.files
        if one.sidecar is not None and one.stated is not None
    )
    assert len(files) == 2
    for some in (files, files[1:]):
        ids = [one.get("ID") for one in read(replace(kept, files=some)).iter() if one.get("ID")]
        assert len(ids) == len(set(ids))


def test_a_digest_that_mets_cannot_name_is_left_out() -> None:
    root = read(Dossier(origin="received", package=bag("data/x", algorithm="blake2b")))
    (file,) = root.findall(".//m:file", NS)
    assert file.get("CHECKSUM") is None
    assert file.get("SIZE") == "3"


def test_a_package_that_nobody_stated_anything_about() -> None:
    root = read(Dossier(origin="received", package=bag("data/x.wav")))
    assert [one.get("TYPE") for one in root.iterfind("m:structMap", NS)] == ["files"]
    assert root.find("m:metsHdr", NS).get("CREATEDATE") is None
    assert dangling(root) == set()
    assert read(Dossier(origin="received")).find("m:fileSec", NS) is None


def test_text_of_strangers_is_text(hostile: Dossier) -> None:
    root = read(hostile)
    assert root.findall(".//b") == []
    assert dangling(root) == set()


def test_it_is_the_same_each_time(kept: Dossier) -> None:
    assert mets.render(kept, (), {}) == mets.render(replace(kept), (), {"x": b"y"})


def test_what_it_cannot_hold_is_told_in_it(kept: Dossier, root: Any) -> None:
    notes = [one.text for one in root.iterfind(".//m:note", NS)]
    assert notes == list(mets.lost(kept))
    assert notes[-1].startswith("Stretches of time are cut to the millisecond")
    assert mets.lost(Dossier(origin="received")) == ()


@pytest.mark.parametrize(
    ("sample", "rate", "told"),
    [
        (0, 48_000, "00:00:00.000"),
        (47_999, 48_000, "00:00:00.999"),
        (48_000 * 3661 + 24_000, 48_000, "01:01:01.500"),
        (96_000 * 360_000, 96_000, "100:00:00.000"),
    ],
)
def test_positions_are_cut_to_the_millisecond(sample: int, rate: int, told: str) -> None:
    assert time_code(sample, rate) == told
