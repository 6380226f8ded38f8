import dataclasses
import re
from decimal import Decimal
from typing import Any, get_args

import pytest

from tailsout.ground.damage import Damage
from tailsout.ground.findings import Check, Judgement, Kind, Place, Severity
from tailsout.mapping import json_output, schemas
from tailsout.mapping.plain import json_line
from tailsout.records.bag_state import BagState, BagWord, NotVerified, WhyNot
from tailsout.records.dossier import FileRecord
from tailsout.records.facts import ChunkFacts, ContainerFacts, Embedded, EmbeddedHistoryLine
from tailsout.records.ixml import Ixml, IxmlTrack, SyncPoint
from tailsout.records.sound import ChannelFacts
from tailsout.records.tags import (
    CartFacts,
    DefinitionRow,
    InfoEntry,
    PeakEnvelope,
    SetMark,
    SourceIdentifier,
    Tags,
    UmidParts,
    XmlDocument,
)

HOSTILE = "\x1b[2J\u202e\udc80.wav"
KIND = Kind(
    code="no-audio",
    severity=Severity.MEND,
    title="t",
    basis="own rule",
    remedy="Look for the right file.",
    needs_reel=True,
)


def judgement(file: str = "data/audio/a.wav") -> Judgement:
    return Judgement(
        findings=(KIND.at(Place(file=file, line=2, part="/x"), f"it ({file}) holds nothing."),),
        checks=(
            Check(name="fixity", outcome="passed", decides=True),
            Check(name="samples", outcome="not examined", why="not asked for"),
        ),
    )


def test_what_measure_says(make: Any) -> None:
    facts = make.facts(
        frames=9600,
        essence_sha256="0" * 64,
        channels=(ChannelFacts(sample_peak_dbfs=Decimal("-6.02")),),
        integrated_lufs=Decimal("-23.00"),
    )
    said = json_output.measured("a.wav", make.pcm(), facts)
    assert schemas.faults(said, "measure-0.1") == ()
    assert said["pcm"]["channels"] == 2
    assert said["integrated_lufs"] == Decimal("-23.00")
    assert said["non_finite_samples"] == 0
    assert "true_peak_dbtp" not in said


def test_what_measure_says_of_a_damaged_file(make: Any) -> None:
    facts = make.facts(essence_sha256="0" * 64)
    damage = (Damage(kind="truncated", offset=36, text=f"It ends early{HOSTILE}."),)
    said = json_output.measured("a.wav", make.pcm(), facts, damage)
    assert schemas.faults(said, "measure-0.1") == ()
    assert said["damage"] == [
        {
            "kind": "truncated",
            "offset": 36,
            "text": "It ends early\\x1b[2J\\u202e\\udc80.wav.",
        }
    ]
    assert "damage" not in json_output.measured("a.wav", make.pcm(), facts)


@pytest.mark.parametrize(
    "spoilt",
    [
        {"damage": []},
        {"damage": [{"kind": "truncated", "offset": 36}]},
        {"damage": [{"kind": "Too short", "offset": 36, "text": "x"}]},
        {"damage": [{"kind": "truncated", "offset": -1, "text": "x"}]},
        {"damage": [{"kind": "truncated", "offset": 1, "text": "x", "more": 1}]},
        {"damage": "truncated"},
    ],
)
def test_damage_told_otherwise_is_not_allowed(make: Any, spoilt: dict[str, object]) -> None:
    said = json_output.measured("a.wav", make.pcm(), make.facts(essence_sha256="0" * 64))
    assert schemas.faults(said, "measure-0.1") == ()
    assert schemas.faults({**said, **spoilt}, "measure-0.1")


def test_what_check_says() -> None:
    said = json_output.judged("SKL-0007", judgement(), "tailsout 0.1")
    assert schemas.faults(said, "check-0.1") == ()
    assert said == {
        "schema": "urn:tailsout:schema:check:0.1",
        "path": "SKL-0007",
        "software": "tailsout 0.1",
        "verdict": "fail",
        "findings": [
            {
                "code": "no-audio",
                "severity": "mend",
                "place": "data/audio/a.wav:2 /x",
                "text": "it (data/audio/a.wav) holds nothing.",
                "basis": "own rule",
                "remedy": "Look for the right file.",
                "needs_reel": True,
            }
        ],
        "checks": [
            {"name": "fixity", "outcome": "passed"},
            {"name": "samples", "outcome": "not examined", "why": "not asked for"},
        ],
    }


def test_what_check_says_of_the_bag() -> None:
    left = NotVerified(why="left to be fetched", count=2, paths=("data/\x1b", "data/b"))
    state = BagState(word="incomplete", not_verified=(left,))
    said = json_output.judged("SKL-0007", judgement(), "tailsout 0.1", state)
    assert schemas.faults(said, "check-0.1") == ()
    assert said["bag"] == {
        "state": "incomplete",
        "not_verified": [
            {"why": "left to be fetched", "count": 2, "paths": ["data/\\x1b", "data/b"]}
        ],
    }
    assert schemas.faults({**said, "bag": {"state": "good", "not_verified": []}}, "check-0.1")


def test_the_schema_knows_the_words_of_the_record() -> None:
    bag = schemas.schema("check-0.1")["properties"]["bag"]["properties"]
    assert bag["state"]["enum"] == list(get_args(BagWord))
    assert bag["not_verified"]["items"]["properties"]["why"]["enum"] == list(get_args(WhyNot))


def test_names_from_strangers_are_escaped_and_can_be_written(make: Any) -> None:
    every = [
        json_output.judged(HOSTILE, judgement(HOSTILE), "tailsout 0.1"),
        json_output.measured(HOSTILE, make.pcm(), make.facts(essence_sha256="0" * 64)),
        json_output.could_not(json_output.CHECK, HOSTILE, f"{HOSTILE} is not a directory.", 2),
    ]
    for one in every:
        assert json_line(one).isprintable()


@pytest.mark.parametrize("schema", [json_output.CHECK, json_output.MEASURE])
@pytest.mark.parametrize("exit_code", [1, 2, 3, 4])
def test_an_input_that_could_not_be_worked_on(schema: str, exit_code: int) -> None:
    name = schema.removeprefix(schemas.URN).replace(":", "-")
    said = json_output.could_not(schema, "x", "There is none.", exit_code)
    assert schemas.faults(said, name) == ()
    assert schemas.faults({**said, "exit_code": 0}, name)


def test_an_answer_is_either_a_judgement_or_an_error() -> None:
    both = {
        **json_output.judged("x", judgement(), "tailsout 0.1"),
        **json_output.could_not(json_output.CHECK, "x", "There is none.", 2),
    }
    assert schemas.faults(both, "check-0.1")
    assert schemas.faults({"schema": json_output.CHECK, "path": "x"}, "check-0.1")


def receipt(**more: Any) -> dict[str, Any]:
    usual = {
        "package_id": "SKL-0007",
        "committed": "2026-03-15T08:00:00Z",
        "software": "tailsout 0.1",
        "durability": "fsynced",
        "not_promised": (),
        "files": 14,
        "octets": 2_073_600_044,
        "tag_manifests": {"tagmanifest-sha512.txt": {"sha512": "0" * 128}},
        "masters": [{"path": "data/audio/a.wav", "sha256": "0" * 64, "essence_sha256": "1" * 64}],
        "judgement": judgement(),
    }
    return json_output.receipt(**{**usual, **more})


def test_the_receipt() -> None:
    said = receipt()
    assert schemas.faults(said, "receipt-0.1") == ()
    assert said["verdict"] == "fail"
    assert "not_promised" not in said
    assert receipt(not_promised=("It lies elsewhere.",))["not_promised"] == ["It lies elsewhere."]
    assert [check["name"] for check in said["checks"]] == ["fixity", "samples"]
    assert said["tag_manifests"] == {"tagmanifest-sha512.txt": {"sha512": "0" * 128}}


@pytest.mark.parametrize(
    ("key", "value"),
    [
        ("committed", "2026-03-15"),
        ("durability", "certain"),
        ("files", -1),
        ("not_promised", [1]),
        ("masters", [{"path": "a.wav"}]),
        ("tag_manifests", {"tagmanifest-sha512.txt": {"sha512": "xyz"}}),
    ],
)
def test_the_receipts_schema_finds_what_is_off(key: str, value: object) -> None:
    assert schemas.faults(receipt(**{key: value}), "receipt-0.1")


# What show says of a file


def fields(record: type) -> set[str]:
    return {field.name for field in dataclasses.fields(record)}


@pytest.mark.parametrize(
    "record",
    [
        Embedded,
        EmbeddedHistoryLine,
        Tags,
        InfoEntry,
        SetMark,
        UmidParts,
        SourceIdentifier,
        DefinitionRow,
        PeakEnvelope,
        CartFacts,
        XmlDocument,
        Ixml,
        IxmlTrack,
        SyncPoint,
    ],
)
def test_every_field_of_what_show_says_is_in_its_schema_and_no_other(record: type) -> None:
    name = re.sub(r"(?<!^)(?=[A-Z])", "_", record.__name__).lower()
    node = schemas.schema("show-0.1")["$defs"][name]
    # The types of lists are in the words of the chunks; texts of XML are there for a rule.
    assert set(node["properties"]) == fields(record) - {"list_types", "all_text"}
    nothing = dataclasses.MISSING
    needed = {
        field.name
        for field in dataclasses.fields(record)
        if field.default is nothing and field.default_factory is nothing
    }
    assert needed <= set(node.get("required", ()))


def test_every_definition_is_of_a_record() -> None:
    assert len(schemas.schema("show-0.1")["$defs"]) == 14


def test_texts_of_a_file_are_safe_wherever_they_stand() -> None:
    tags = Tags(
        history_lines=(HOSTILE,),
        marks=(SetMark(frame=0, label=HOSTILE, note="", frames=None, purpose="", text=""),),
        cart=CartFacts(texts={"title": HOSTILE}, timers=((HOSTILE, 7),)),
        listed=(HOSTILE,),
        list_types={44: HOSTILE},
    )
    chunks = (ChunkFacts(id="LIST", offset=44, octets=4),)
    file = FileRecord(
        path=HOSTILE,
        octets=48,
        container=ContainerFacts(form="RIFF", chunks=chunks),
        tags=tags,
    )
    said = json_output.shown(HOSTILE, file, [KIND.at(Place(file=HOSTILE), HOSTILE)])
    assert schemas.faults(said, "show-0.1") == ()
    assert json_line(said).isprintable()
    assert said["chunks"][0]["what"].startswith("list of type \\x1b[2J")
    assert said["tags"]["cart"]["timers"] == [["\\x1b[2J\\u202e\\udc80.wav", 7]]
