from itertools import pairwise, permutations

import pytest

from tailsout.ground.findings import (
    Check,
    Finding,
    Judgement,
    Kind,
    Place,
    Severity,
    Verdict,
    in_order,
    worst,
)

FROM_LIGHT_TO_HEAVY = (
    Verdict.PASS,
    Verdict.OPEN,
    Verdict.NOT_EXAMINED,
    Verdict.FAIL,
    Verdict.REFUSED,
)


def kind(
    severity: Severity = Severity.NOTE,
    *,
    code: str = "some-code",
    needs_reel: bool = False,
    leads_to: Verdict | None = None,
) -> Kind:
    return Kind(
        code=code,
        severity=severity,
        title="t",
        basis="b",
        remedy="r",
        needs_reel=needs_reel,
        leads_to=leads_to,
    )


def finding(one: Kind, file: str = "f", line: int | None = None, part: str = "") -> Finding:
    return one.at(Place(file=file, line=line, part=part), "text")


def test_the_most_serious_verdict_counts_in_every_order() -> None:
    assert set(FROM_LIGHT_TO_HEAVY) == set(Verdict)
    for lighter, heavier in pairwise(FROM_LIGHT_TO_HEAVY):
        assert worst([lighter, heavier]) is worst([heavier, lighter]) is heavier
    for some in permutations(FROM_LIGHT_TO_HEAVY, 3):
        assert worst(some) is max(some, key=FROM_LIGHT_TO_HEAVY.index)


def test_no_verdict_at_all_is_a_pass() -> None:
    assert worst([]) is Verdict.PASS


@pytest.mark.parametrize(
    ("severity", "verdict"),
    [
        (Severity.MEND, Verdict.FAIL),
        (Severity.QUERY, Verdict.OPEN),
        (Severity.NOTE, Verdict.PASS),
    ],
)
def test_a_severity_makes_its_verdict(severity: Severity, verdict: Verdict) -> None:
    assert kind(severity).verdict is verdict


def test_a_kind_may_lead_to_a_verdict_of_its_own() -> None:
    assert kind(Severity.QUERY, leads_to=Verdict.NOT_EXAMINED).verdict is Verdict.NOT_EXAMINED
    assert kind(Severity.MEND, leads_to=Verdict.REFUSED).verdict is Verdict.REFUSED


@pytest.mark.parametrize(
    ("decides", "outcome", "verdict"),
    [
        (True, "not examined", Verdict.NOT_EXAMINED),
        (False, "not examined", Verdict.PASS),
        (True, "passed", Verdict.PASS),
    ],
)
def test_a_check_not_examined_counts_only_if_it_decides(
    decides: bool, outcome: str, verdict: Verdict
) -> None:
    check = Check(name="fixity", outcome=outcome, decides=decides)
    assert Judgement(findings=(), checks=(check,)).verdict is verdict


def test_a_judgement_takes_findings_and_checks_together() -> None:
    unseen = Check(name="fixity", outcome="not examined", decides=True)
    query = finding(kind(Severity.QUERY))
    mend = finding(kind(Severity.MEND))
    assert Judgement(findings=(query,), checks=(unseen,)).verdict is Verdict.NOT_EXAMINED
    assert Judgement(findings=(query, mend), checks=(unseen,)).verdict is Verdict.FAIL


def test_what_needs_the_reel_is_read_first_then_weight_place_and_code() -> None:
    wanted = (
        finding(kind(Severity.QUERY, needs_reel=True), "z"),
        finding(kind(Severity.NOTE, needs_reel=True), "a"),
        finding(kind(Severity.MEND), "a", 2),
        finding(kind(Severity.MEND), "a", 10),
        finding(kind(Severity.MEND), "b", part="/x"),
        finding(kind(Severity.MEND, code="a-code"), "b", part="/y"),
        finding(kind(Severity.MEND, code="b-code"), "b", part="/y"),
        finding(kind(Severity.QUERY), "a"),
        finding(kind(Severity.NOTE), "a"),
    )
    assert in_order(reversed(wanted)) == wanted
    assert in_order(wanted) == wanted


@pytest.mark.parametrize(
    ("place", "text"),
    [
        (Place(file="a.toml"), "a.toml"),
        (Place(file="a.toml", line=3), "a.toml:3"),
        (Place(file="a.toml", line=3, part="reel.title"), "a.toml:3 reel.title"),
        (Place(file="a.json", part="/reel"), "a.json#/reel"),
    ],
)
def test_a_place_in_words(place: Place, text: str) -> None:
    assert str(place) == text


def test_a_finding_has_the_code_of_its_kind() -> None:
    assert finding(kind(code="no-audio")).code == "no-audio"
