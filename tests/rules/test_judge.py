"""The judge: which rules speak on what was examined, and what that makes of the verdict."""

from collections.abc import Callable
from dataclasses import replace
from typing import get_args

import pytest

from tailsout.ground.findings import Place, Verdict
from tailsout.mapping.sidecar import SIDECAR_SCHEMA
from tailsout.records.dossier import Dossier, Examined, FileRecord
from tailsout.records.facts import FoundFile, PackageFacts
from tailsout.records.transfer import Transfer
from tailsout.rules import GROUPS, RULES, judge
from tailsout.rules.rule import Rule

DECIDING = {"structure of the bag", "completeness", "fixity", "containers"}
UNSTATED_AND_UNMEASURED = "there is no side-car of ours to read; nothing says what the samples show"
EVERY_NEED: tuple[Examined, ...] = get_args(Examined)


def test_a_package_of_ours_passes_every_check(received: Callable[..., Dossier]) -> None:
    judgement = judge(received())
    assert judgement.findings == ()
    assert [check.name for check in judgement.checks] == [rule.name for rule in RULES]
    assert {check.outcome for check in judgement.checks} == {"passed"}
    assert judgement.verdict is Verdict.PASS


# A dossier without a transfer, as every package from elsewhere gives


@pytest.mark.parametrize("rule", RULES, ids=lambda rule: rule.name)
def test_every_rule_runs_or_is_left_out_without_a_transfer(foreign: Dossier, rule: Rule) -> None:
    [check] = [c for c in judge(foreign).checks if c.name == rule.name]
    if rule.needs <= foreign.examined:
        assert check.outcome == "passed"
        assert list(rule.run(foreign)) == [] or rule.name == "side-cars present"
    else:
        assert check.outcome == "not examined"


def test_a_foreign_bag_passes_with_a_note(foreign: Dossier) -> None:
    judgement = judge(foreign)
    assert [finding.code for finding in judgement.findings] == ["sidecar-missing"]
    assert judgement.verdict is Verdict.PASS
    left_out = {c.name: c.why for c in judgement.checks if c.outcome == "not examined"}
    assert left_out == {
        "BagIt Profile": "no BagIt Profile was given",
        "descriptions by their official schemas": (
            "no descriptions in XML were read; no official schemas were given"
        ),
        "descriptions within themselves": "no descriptions in XML were read",
        "descriptions against files and manifests": "no descriptions in XML were read",
        "side-cars against each other": "there is no side-car of ours to read",
        "side-car schema": "there is no side-car of ours to read",
        "access copies": "there is no side-car of ours to read",
        "amendments in the side-cars": "there is no side-car of ours to read",
        "statements as amended": "there is no side-car of ours to read",
        "captures of calibration tapes and of the chain at rest": (
            "there is no side-car of ours to read"
        ),
        "side-cars against audio": "there is no side-car of ours to read",
        "embedded metadata against side-car": "there is no side-car of ours to read",
        "dates of the captures": "there is no side-car of ours to read",
        "coding history against chain": "there is no side-car of ours to read",
        "parts of a work as stated": "there is no side-car of ours to read",
        "bag-info.txt against what is stated of the work": ("there is no side-car of ours to read"),
        "samples measured again": "the samples were not measured in this run",
        "speed by recorded hum": UNSTATED_AND_UNMEASURED,
        "bandwidth by speed": UNSTATED_AND_UNMEASURED,
        "end of the spectrum": UNSTATED_AND_UNMEASURED,
        "channels by their sound": UNSTATED_AND_UNMEASURED,
        "bits in use": UNSTATED_AND_UNMEASURED,
        "levels of the samples": UNSTATED_AND_UNMEASURED,
        "chain at rest": UNSTATED_AND_UNMEASURED,
        "print-through": UNSTATED_AND_UNMEASURED,
        "calibration captures against their tape": UNSTATED_AND_UNMEASURED,
        "readings against calibration captures": UNSTATED_AND_UNMEASURED,
        "output of readings and of the transfer": "there is no side-car of ours to read",
        "levels as flux": UNSTATED_AND_UNMEASURED,
        "guideline of the recipient": "there is no side-car of ours to read",
        "files of a capture": "there is no side-car of ours to read",
        "regions inside the audio": "there is no side-car of ours to read",
        "identifiers of one kind": "there is no side-car of ours to read",
        "name of the package against identifiers": "there is no side-car of ours to read",
        "box, reel and list against identifiers": "there is no side-car of ours to read",
        "sides against captures": "there is no side-car of ours to read",
        "photographs in the package": "there is no side-car of ours to read",
        "heat against the base": "there is no side-car of ours to read",
        "state of the reel and what followed": "there is no side-car of ours to read",
        "how the base was told": "there is no side-car of ours to read",
        "how the machine was cleaned": "there is no side-car of ours to read",
        "repairs and calibration": "there is no side-car of ours to read",
        "azimuth from pass to pass": "there is no side-car of ours to read",
        "clocks of form and recorder": "there is no side-car of ours to read",
        "order of the chain": "there is no side-car of ours to read",
        "converter of the chain": "there is no side-car of ours to read",
        "output against the chain": "there is no side-car of ours to read",
        "noise reduction and decoding": "there is no side-car of ours to read",
        "flat transfer": "there is no side-car of ours to read",
        "channel map against captures": "there is no side-car of ours to read",
        "tracks of the channel map": "there is no side-car of ours to read",
        "stereo on two channels": "there is no side-car of ours to read",
        "captures against regions": UNSTATED_AND_UNMEASURED,
        "regions against the sides that were played": "there is no side-car of ours to read",
        "notes inside the audio": "there is no side-car of ours to read",
        "rights against sensitivity": "there is no side-car of ours to read",
        "what is withheld": "there is no side-car of ours to read",
        "order of dates": "there is no side-car of ours to read",
        "minutes of a pass": "there is no side-car of ours to read",
        "end out against last motion": "there is no side-car of ours to read",
        "tape played against the reel": "there is no side-car of ours to read",
        "speeds of regions against the machine": "there is no side-car of ours to read",
        "tracks against heads": "there is no side-car of ours to read",
        "settings against regions": "there is no side-car of ours to read",
        "settings against calibration tapes": "there is no side-car of ours to read",
        "passes within their session": "there is no side-car of ours to read",
        "hours of contact": "there is no side-car of ours to read",
        "kind of job": "there is no side-car of ours to read",
        "jottings": "there is no side-car of ours to read",
        "names by the recipient's template": "there is no side-car of ours to read",
        "names as the recipient takes them": "there is no side-car of ours to read",
        "folders as the recipient wants them": "there is no side-car of ours to read",
    } | {rule.name: "there is no side-car of ours to read" for rule in GROUPS["recipient"]}


def test_an_empty_dossier_is_judged_by_nothing() -> None:
    judgement = judge(Dossier(origin="closing"))
    assert judgement.findings == ()
    assert {check.outcome for check in judgement.checks} == {"not examined"}
    assert all(check.why for check in judgement.checks)


# What nobody asked for


def test_what_nobody_asked_for_is_listed_and_does_not_weigh(
    received: Callable[..., Dossier],
) -> None:
    dossier = received()
    fewer = replace(dossier, examined=dossier.examined - {"fixity", "samples"})
    assert judge(fewer).verdict is Verdict.NOT_EXAMINED
    judgement = judge(replace(fewer, unasked=frozenset({"fixity", "samples"})))
    assert judgement.verdict is Verdict.PASS
    left_out = {c.name: c.why for c in judgement.checks if c.outcome == "not examined"}
    assert left_out["fixity"] == "it was not asked for"
    assert left_out["samples measured again"] == "it was not asked for"


# Needs


@pytest.mark.parametrize("need", EVERY_NEED)
def test_a_need_that_is_not_met_leaves_out_the_rules_that_have_it(
    received: Callable[..., Dossier], need: Examined
) -> None:
    dossier = received()
    judgement = judge(replace(dossier, examined=dossier.examined - {need}))
    left_out = {c.name for c in judgement.checks if c.outcome == "not examined"}
    assert left_out == {rule.name for rule in RULES if need in rule.needs}
    assert all(bool(c.why) == (c.name in left_out) for c in judgement.checks)


def test_a_rule_that_is_left_out_finds_nothing(
    received: Callable[..., Dossier], file: Callable[..., FileRecord]
) -> None:
    bad = received(files=(file(essence_sha256="0" * 64),))
    assert [f.code for f in judge(bad).findings] == ["essence-differs"]
    unread = judge(replace(bad, examined=bad.examined - {"essence"}))
    assert unread.findings == ()
    assert unread.verdict is Verdict.PASS


# Which checks decide


def test_the_rules_that_decide_are_these() -> None:
    assert {rule.name for rule in RULES if rule.decides} == DECIDING


@pytest.mark.parametrize(
    ("need", "verdict"),
    [
        ("structure", Verdict.NOT_EXAMINED),
        ("manifests", Verdict.NOT_EXAMINED),
        ("fixity", Verdict.NOT_EXAMINED),
        ("headers", Verdict.NOT_EXAMINED),
        ("essence", Verdict.PASS),
        ("side-cars", Verdict.PASS),
        ("statements", Verdict.PASS),
        ("samples", Verdict.PASS),
        ("measurements", Verdict.PASS),
        ("bagit-profile", Verdict.PASS),
    ],
)
def test_a_check_not_made_weighs_on_a_received_package_if_it_decides(
    received: Callable[..., Dossier], need: Examined, verdict: Verdict
) -> None:
    dossier = received()
    without = replace(dossier, examined=dossier.examined - {need})
    assert judge(without).verdict is verdict
    # Before there is a package there is no fixity to prove.
    assert judge(replace(without, origin="closing")).verdict is Verdict.PASS


def test_a_fault_that_was_found_outweighs_a_check_not_made(
    received: Callable[..., Dossier], file: Callable[..., FileRecord]
) -> None:
    bad = received(files=(file(frames=0),))
    dossier = replace(bad, examined=bad.examined - {"fixity"})
    assert judge(dossier).verdict is Verdict.FAIL


# Findings and outcomes


def test_a_finding_met_while_reading_stands_once(received: Callable[..., Dossier]) -> None:
    met = SIDECAR_SCHEMA.at(Place(file="data/audio/reel.json"), "it cannot be taken.")
    assert judge(received(reading=(met, met))).findings == (met,)


def test_two_findings_that_differ_in_place_or_words_stand_both(
    received: Callable[..., Dossier],
) -> None:
    place = Place(file="data/audio/reel.json")
    one = SIDECAR_SCHEMA.at(place, "it cannot be taken.")
    other = SIDECAR_SCHEMA.at(place, "it cannot be taken at all.")
    third = SIDECAR_SCHEMA.at(Place(file="data/audio/reel.json", part="/schema"), one.text)
    assert judge(received(reading=(third, other, one))).findings == (other, one, third)


def test_what_was_met_while_reading_counts_where_its_rule_is_left_out() -> None:
    met = SIDECAR_SCHEMA.at(Place(file="data/audio/reel.json"), "it cannot be taken.")
    judgement = judge(Dossier(origin="closing", reading=(met,)))
    assert judgement.findings == (met,)
    assert judgement.verdict is Verdict.FAIL


def test_a_note_or_a_query_does_not_fail_its_check(
    foreign: Dossier, transfer: Callable[..., Transfer], stating: Callable[[Transfer], Dossier]
) -> None:
    note = judge(foreign)
    query = judge(stating(transfer(kind="record only")))
    assert [f.code for f in note.findings] == ["sidecar-missing"]
    assert [f.code for f in query.findings] == ["not-played-unexplained"]
    for judgement in (note, query):
        assert "failed" not in {c.outcome for c in judgement.checks}


def test_a_fault_fails_its_own_check_alone(
    received: Callable[..., Dossier], file: Callable[..., FileRecord]
) -> None:
    judgement = judge(received(files=(file(frames=0),)))
    failed = {c.name for c in judgement.checks if c.outcome == "failed"}
    # No frame: the container, what the side-car says of its length, and the region in it.
    assert failed == {"containers", "side-cars against audio", "regions inside the audio"}


def test_findings_come_in_the_order_of_reading_not_of_rules(
    received: Callable[..., Dossier], package: Callable[..., PackageFacts]
) -> None:
    extra = FoundFile(path="data/a", octets=0)
    hidden = FoundFile(path="zz.txt", octets=0)
    dossier = received(package=package(files=(*package().files, hidden, extra)))
    found = [(f.code, str(f.place)) for f in judge(dossier).findings]
    assert found == [
        ("oxum-differs", "bag-info.txt:2"),
        ("file-unlisted", "data/a"),
        ("tag-file-unlisted", "zz.txt"),
    ]


def test_the_same_dossier_is_judged_the_same_whatever_the_order_of_its_reading(
    received: Callable[..., Dossier],
) -> None:
    met = tuple(
        SIDECAR_SCHEMA.at(Place(file=f"data/{name}.json"), "it cannot be taken.") for name in "cab"
    )
    assert judge(received(reading=met)) == judge(received(reading=met[::-1]))
