"""PREMIS 3.0 (Data Dictionary 2015, XSD of 18 January 2016) and what no schema can hold it to."""

from collections import Counter
from dataclasses import replace
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from edtf import parse_edtf
from lxml import etree

from tailsout.ground.pcm import Pcm
from tailsout.mapping.text_formats import is_edtf
from tailsout.records.amendment import Amendment, FileChange, StatementChange
from tailsout.records.capture import Capture
from tailsout.records.carrier import Condition, Custody
from tailsout.records.dossier import Dossier, FileRecord
from tailsout.records.facts import (
    ContainerFacts,
    FoundFile,
    InfoLine,
    Manifest,
    ManifestLine,
    PackageFacts,
)
from tailsout.records.listening import Listening, SignalNote
from tailsout.records.machine import CalibrationTape, CareEvent, Converter, Machine
from tailsout.records.playing import Pass
from tailsout.records.recording import Recording, Rights
from tailsout.records.reel import Event, Identifier, Reel, Region, Side
from tailsout.records.session import CalibrationSetting, Session
from tailsout.records.sound import AudioFacts
from tailsout.records.statements import Answer
from tailsout.records.transfer import Person, SideCar, SourceFile, Studio, ThisFile, Transfer
from tailsout.views import crate, mets, pbcore, premis, prov
from tailsout.views.dates import edtf
from tailsout.views.premis.terms import EVENT_MEANINGS

ROOT = Path(__file__).resolve().parents[3]
NS = {"p": "http://www.loc.gov/premis/v3", "xsi": "http://www.w3.org/2001/XMLSchema-instance"}
XSI_TYPE = f"{{{NS['xsi']}}}type"
MASTER = "data/audio/skl7-side-a.wav"
SHA = "ab" * 32
PCM = Pcm(is_float=False, sample_rate_hz=48_000, channels=1, container_bits=24, valid_bits=24)
SOURCE = SourceFile(file="captures/skl7-side-a.wav", octets=9, frames=1000, sha256=SHA)


def transfer(**more: Any) -> Transfer:
    region = Region(id="A1", kind="programme", capture="a", start=100, speed_ips=Decimal("7.5"))
    usual: dict[str, Any] = {
        "job_id": "0b4e3c1e-6a0e-4e0b-9a53-6d1f5f3b2c07",
        "package_id": "SKL-0007",
        "studio": Studio(name="Saltpan Row"),
        "people": (Person(id="isolde", name="Isolde Varga-Finch", role="operator"),),
        "reel": Reel(
            title="Log of the keeper",
            identifiers=(Identifier(value="HA/7", kind="shelf mark"),),
            sides=(Side(id="A", regions=(region,)),),
        ),
        "captures": (Capture(id="a", file="captures/skl7-side-a.wav", program="Groyne 4.2"),),
    }
    return Transfer(**{**usual, **more})


def sidecar(stated: Transfer) -> SideCar:
    return SideCar(
        schema="urn:x",
        software="tailsout 0",
        written="2026-03-15T08:00:00Z",
        transfer=stated,
        this_file=ThisFile(
            id="7b1c6a52-0d1b-4f7e-8a35-0a8a4b8c1d11",
            path=MASTER,
            capture="a",
            octets=9,
            sha256=SHA,
            sha512=SHA * 2,
            made="as captured",
            sources=(SOURCE,),
            pcm=PCM,
            measured=AudioFacts(
                frames=1000,
                sample_rate_hz=48_000,
                essence_sha256="cd" * 32,
                channels=(),
                integrated_lufs=Decimal("-23.01"),
            ),
            methods={},
        ),
    )


def package(*paths: str) -> PackageFacts:
    lines = tuple(ManifestLine(path=path, digest=SHA.upper(), line=1) for path in paths)
    return PackageFacts(
        name="SKL-0007",
        bagit_version="1.0",
        encoding="UTF-8",
        bag_info=(InfoLine(label="Source-Organization", value="Saltpan Row", line=1),),
        manifests=(
            Manifest(name="manifest-sha256.txt", algorithm="sha256", is_tag=False, lines=lines),
        ),
        files=tuple(FoundFile(path=path, octets=9) for path in ("bagit.txt", *paths)),
    )


def dossier(**more: Any) -> Dossier:
    stated = transfer(**more)
    file = FileRecord(
        path=MASTER,
        octets=9,
        capture="a",
        container=ContainerFacts(form="RIFF", chunks=()),
        pcm=PCM,
        frames=1000,
        sources=(SOURCE,),
        sidecar=sidecar(stated),
    )
    return Dossier(
        origin="received", transfer=stated, files=(file,), package=package(MASTER, "data/x.pdf")
    )


def read(one: Dossier, **assets: bytes) -> Any:
    return etree.fromstring(premis.render(one, (), assets))


def texts(root: Any, path: str) -> list[str]:
    return [one.text for one in root.findall(path, NS)]


def event_types(root: Any) -> list[str]:
    return texts(root, "p:event/p:eventType")


def dangling(root: Any) -> set[tuple[str, str]]:
    """Links and relationships that lead to nothing in the document, by the sort of thing."""
    known = {
        sort: set(texts(root, f".//p:{sort}IdentifierValue"))
        for sort in ("object", "event", "agent", "rightsStatement")
    }
    links = {
        "linkingObject": "object",
        "relatedObject": "object",
        "linkingEnvironment": "object",
        "linkingEvent": "event",
        "relatedEvent": "event",
        "linkingAgent": "agent",
        "linkingRightsStatement": "rightsStatement",
    }
    return {
        (link, value)
        for link, sort in links.items()
        for value in texts(root, f".//p:{link}IdentifierValue")
        if value not in known[sort]
    }


FULL = {
    "machines": (Machine(id="m", maker="Marlspike", model="3", care=(CareEvent(kind="cleaned"),)),),
    "converters": (Converter(id="c", model="C2"),),
    "calibration_tapes": (CalibrationTape(id="t", number="T-1"),),
    "sessions": (
        Session(
            id="s",
            on="2026-03-14",
            by="isolde",
            machine="m",
            converter="c",
            settings=(CalibrationSetting(id="k", tape="t", outcome="adjusted"),),
        ),
    ),
    "passes": (
        Pass(id="p", machine="m", session="s", on="2026-03-14T10:20", by="isolde"),
        Pass(id="q", kept=False),
    ),
    "captures": (Capture(id="a", file="captures/skl7-side-a.wav", pass_id="p"),),  # noqa: S106  an id
    "listening": (Listening(by="somebody else", verdict="accepted"),),
    "answers": (
        Answer(
            code="x", place="y", decision="accepted as is", reason="z", by="isolde", on="2026-03-14"
        ),
    ),
    "signal_notes": (SignalNote(capture="a", start=5, heard="a click"),),
    "recording": Recording(what="a log", rights=Rights(holder="Skerrow Light Trust")),
    "reel": Reel(
        sides=transfer().reel.sides,
        custody=(Custody(from_date="1961", holder="the keeper"),),
        condition=(Condition(moment="on arrival", on="2026-03-12", by="isolde"),),
        events=(
            Event(kind="treatment", state="done", on="2026-03-13", approved_by="the owner"),
            Event(kind="treatment", state="declined"),
            Event(kind="winding"),
        ),
    ),
}


def full() -> Dossier:
    amendment = Amendment(
        version=2,
        supersedes="SKL-0007",
        manifests={},
        by="isolde",
        on="2026-04-01",
        why="a name",
        written="2026-04-01T08:00:00Z",
        software="tailsout 0",
        statements=(StatementChange(at="/transfer/note", change="corrected", was="secret"),),
        files=(FileChange(path=MASTER, change="header renewed"),),
    )
    return replace(dossier(**FULL), amendments=(amendment,))


def test_the_reel_is_a_representation_with_its_shelf_mark() -> None:
    root = read(dossier())
    kinds = Counter(one.get(XSI_TYPE) for one in root.findall("p:object", NS))
    assert kinds == {
        "intellectualEntity": 1,
        "representation": 2,
        "file": 2,
        "bitstream": 1,
    }
    assert "HA/7" in texts(root, "p:object/p:objectIdentifier/p:objectIdentifierValue")
    assert root.get("version") == "3.0"


def test_a_file_has_digest_size_format_and_what_made_it() -> None:
    root = read(dossier())
    file = next(one for one in root.findall("p:object", NS) if MASTER in texts(one, ".//*"))
    assert texts(file, ".//p:messageDigest") == [SHA]
    assert texts(file, ".//p:messageDigestAlgorithm") == ["SHA-256"]
    assert texts(file, ".//p:size") == ["9"]
    assert texts(file, ".//p:creatingApplicationName") == ["Groyne 4.2"]
    assert texts(file, "p:objectIdentifier/p:objectIdentifierValue")[0] == (
        "7b1c6a52-0d1b-4f7e-8a35-0a8a4b8c1d11"
    )
    assert "-23.01" in " ".join(texts(file, ".//p:significantPropertiesValue"))
    assert texts(file, "p:originalName") == ["captures/skl7-side-a.wav"]


def test_a_region_is_a_bitstream_of_its_file_with_its_own_speed() -> None:
    root = read(dossier())
    region = next(one for one in root.findall("p:object", NS) if one.get(XSI_TYPE) == "bitstream")
    said = texts(region, ".//p:significantPropertiesValue")
    assert {"100 to 1000", "7.5 ips (19.05 cm/s)", "A"} <= set(said)
    assert texts(region, ".//p:relatedObjectIdentifierValue") == [
        "7b1c6a52-0d1b-4f7e-8a35-0a8a4b8c1d11"
    ]


def test_every_event_is_told() -> None:
    root = read(full(), checks=b"warning: open questions")
    assert Counter(event_types(root)) == {
        "custody": 1,
        "inspection": 1,
        "treatment": 1,
        "treatment decision": 1,
        "winding": 1,
        "machine care": 1,
        "session": 1,
        "calibration": 1,
        "creation": 1,
        "tape pass": 1,
        "listening": 1,
        "answer": 1,
        "amendment": 1,
        "message digest calculation": 1,
        "validation": 1,
        "packaging": 1,
    }
    assert set(texts(root, ".//p:eventOutcome")) >= {"warning", "success", "adjusted"}


def test_events_stand_in_the_order_of_time() -> None:
    dates = texts(read(full()), "p:event/p:eventDateTime")
    known = [date[:10] for date in dates if date != "XXXX"]
    assert known == sorted(known)
    assert dates[-1] == "XXXX"
    # Its time has no seconds in the form, and EDTF knows none without.
    assert "2026-03-14T10:20:00" in dates


def test_what_is_said_of_sound_comes_after_the_day_that_it_was_made_on() -> None:
    day = "2026-03-14"
    stated = dossier(
        listening=(Listening(by="isolde", on=day),),
        passes=(Pass(id="p", on=f"{day}T10:20:00Z"),),
        sessions=(Session(id="s", on=day),),
        captures=(Capture(id="a", file="captures/skl7-side-a.wav", pass_id="p"),),  # noqa: S106  an id
    )
    found = event_types(read(stated))
    assert found[:3] == ["session", "creation", "listening"]


def test_every_date_is_edtf() -> None:
    root = read(full(), checks=b"success: pass")
    dates = texts(root, ".//p:eventDateTime")
    assert len(dates) > 5
    for date in dates:
        parse_edtf(date)


def test_a_capture_is_made_from_the_reel_by_people_and_machines() -> None:
    root = read(full())
    event = next(
        one for one in root.findall("p:event", NS) if texts(one, "p:eventType") == ["creation"]
    )
    assert event.find("p:eventType", NS).get("valueURI").endswith("/eventType/cre")
    roles = Counter(texts(event, ".//p:linkingObjectRole"))
    assert roles == {"source": 1, "outcome": 1}
    assert texts(event, ".//p:linkingAgentRole") == ["operator", "machine", "converter"]


def test_machines_converters_and_calibration_tapes_are_environments() -> None:
    root = read(full())
    assert texts(root, ".//p:environmentFunctionType") == [
        "tape machine",
        "analogue-to-digital converter",
        "calibration tape",
    ]
    assert texts(root, ".//p:environmentName") == ["Marlspike 3", "C2", "T-1"]


def test_people_programs_and_organisations_are_agents() -> None:
    found = dict(
        zip(
            texts(read(full()), "p:agent/p:agentName"),
            texts(read(full()), "p:agent/p:agentType"),
            strict=True,
        )
    )
    assert found == {
        "Isolde Varga-Finch": "person",
        "Saltpan Row": "organization",
        "the owner": "person",
        "Marlspike 3": "hardware",
        "C2": "hardware",
        "somebody else": "person",
        "tailsout 0": "software",
    }


@pytest.mark.parametrize("one", [dossier(), full()], ids=["small", "full"])
def test_no_reference_leads_to_nothing_and_no_identifier_stands_twice(one: Dossier) -> None:
    root = read(one, checks=b"success: pass")
    assert dangling(root) == set()
    own = [
        *texts(root, "p:object/p:objectIdentifier[1]/p:objectIdentifierValue"),
        *texts(root, "p:event/p:eventIdentifier/p:eventIdentifierValue"),
        *texts(root, "p:agent/p:agentIdentifier/p:agentIdentifierValue"),
    ]
    assert [one for one, count in Counter(own).items() if count > 1] == []


def test_a_reference_that_leads_to_nothing_is_found() -> None:
    root = read(dossier())
    root.remove(root.findall("p:object", NS)[1])
    assert dangling(root)


def test_what_an_amendment_withholds_does_not_stand_in_it() -> None:
    content = premis.render(full(), (), {})
    assert b"/transfer/note" in content
    assert b"secret" not in content


def test_without_an_asset_nothing_is_said_of_checks() -> None:
    assert "validation" not in event_types(read(full()))


def test_a_package_that_nobody_stated_anything_about() -> None:
    root = read(Dossier(origin="received", package=package("data/x.pdf")))
    assert [one.get(XSI_TYPE) for one in root] == ["representation", "file"]
    assert texts(root, ".//p:messageDigest") == [SHA]
    assert "Saltpan Row" in texts(root, ".//p:significantPropertiesValue")
    assert event_types(root) == []


def test_nothing_at_all_is_still_a_document() -> None:
    assert [one.get(XSI_TYPE) for one in read(Dossier(origin="received"))] == ["representation"]


def test_two_packages_of_strangers_are_told_apart() -> None:
    one, other = (
        read(Dossier(origin="received", package=replace(package("data/x.pdf"), name=name)))
        for name in ("one", "other")
    )
    path = "p:object/p:objectIdentifier[1]/p:objectIdentifierValue"
    assert not {*texts(one, path)} & {*texts(other, path)}


def test_text_of_strangers_is_text(hostile: Dossier) -> None:
    root = read(hostile)
    assert root.findall(".//b") == []
    assert "\ufffd" in "".join(root.itertext())
    assert "Characters that XML 1.0 cannot hold are replaced by U+FFFD." in premis.lost(hostile)


@pytest.mark.parametrize(
    ("start", "end", "told"),
    [
        ("195X", None, "195X/"),
        (None, "1970~", "/1970~"),
        ("1960/1961", "1970/1972", "1960/1972"),
        ("[1960,1962]", "1970", "/1970"),
        ("../1961", "1970-05-01T10:00:00Z", "../1970-05-01"),
        (None, None, "XXXX"),
        ("[1960,1962]", None, "XXXX"),
    ],
)
def test_in_whose_keeping_it_was_is_dated_in_edtf(
    start: str | None, end: str | None, told: str
) -> None:
    kept = (Custody(from_date=start, to_date=end, holder="the keeper"),)
    root = read(dossier(reel=Reel(custody=kept)))
    events = root.findall("p:event", NS)
    (when,) = [
        one.findtext("p:eventDateTime", namespaces=NS)
        for one in events
        if one.findtext("p:eventType", namespaces=NS) == "custody"
    ]
    assert when == told
    assert is_edtf(when)


def test_parts_of_a_second_are_no_edtf() -> None:
    assert edtf("2026-03-15T08:00:00.25+01:00") == "2026-03-15T08:00:00+01:00"
    assert edtf("2026-03-15T08:00Z") == "2026-03-15T08:00:00Z"


def test_a_book_in_a_note_is_cut() -> None:
    content = premis.render(dossier(note="n" * 10_000_000), (), {})
    assert len(content) < 200_000
    assert "…(9980000 more)" in content.decode("utf-8")


@pytest.mark.parametrize("view", [premis, mets, pbcore, crate, prov], ids=lambda one: one.__name__)
def test_that_a_text_is_cut_is_said_and_of_xml_only_in_xml(view: Any) -> None:
    sentence = "Texts of more than 20000 characters are cut, and say by how many."
    assert sentence in view.lost(dossier(note="n" * 20_001))
    assert sentence not in view.lost(dossier(note="n" * 20_000))
    of_xml = "Characters that XML 1.0 cannot hold are replaced by U+FFFD."
    assert (of_xml in view.lost(dossier(note="\x00"))) == (view not in {crate, prov})


def test_it_is_the_same_each_time() -> None:
    assert premis.render(full(), (), {}) == premis.render(replace(full()), (), {"x": b"y"})


def test_what_it_cannot_hold_is_told_in_it() -> None:
    losses = premis.lost(dossier())
    (sentence,) = losses
    assert sentence == (
        "Of what was measured, figures of whole files are here; all else of it stands in the "
        "side-cars."
    )
    assert losses[0] in texts(read(dossier()), ".//p:significantPropertiesValue")
    assert premis.lost(Dossier(origin="received")) == ()


def test_five_hundred_regions_and_two_hundred_events() -> None:
    one = transfer().reel.sides[0].regions[0]
    regions = tuple(replace(one, id=f"r{n}", start=n) for n in range(500))
    events = tuple(Event(kind="winding", on="2026-03-14") for _ in range(200))
    root = read(dossier(reel=Reel(sides=(Side(id="A", regions=regions),), events=events)))
    assert event_types(root).count("winding") == 200
    assert sum(one.get(XSI_TYPE) == "bitstream" for one in root) == 500


@pytest.mark.parametrize("word", sorted(EVENT_MEANINGS))
def test_the_readme_explains_each_word_of_our_own(word: str) -> None:
    readme = (ROOT / "README.md").read_text("utf-8")
    assert f"| {word} | {EVENT_MEANINGS[word]} |" in readme
