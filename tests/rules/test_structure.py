"""Each word of the bag's reader weighed: the table is written out here, one line a word."""

from collections.abc import Callable

import pytest

from tailsout.ground.findings import Judgement, Severity, Verdict
from tailsout.records.dossier import Dossier
from tailsout.records.facts import Observation, PackageFacts
from tailsout.rules import judge
from tailsout.rules.structure import KIND_OF

Run = Callable[[str, Dossier], list[tuple[str, str]]]
RULE = "structure of the bag"

REFUSED = (Severity.MEND, Verdict.REFUSED)
LIMIT = (Severity.QUERY, Verdict.NOT_EXAMINED)
MEND = (Severity.MEND, Verdict.FAIL)
QUERY = (Severity.QUERY, Verdict.OPEN)
NOTE = (Severity.NOTE, Verdict.PASS)

WEIGHTS = {
    "bag-path-unsafe": REFUSED,
    "bag-link": REFUSED,
    "bag-special-file": REFUSED,
    "bag-swapped": REFUSED,
    "bag-fetch-unsafe": REFUSED,
    "bag-tag-file-too-large": LIMIT,
    "bag-line-too-long": LIMIT,
    "bag-too-deep": LIMIT,
    "bag-too-many": LIMIT,
    "bag-unreadable": LIMIT,
    "bag-no-bagit-txt": MEND,
    "bag-bagit-txt-malformed": MEND,
    "bag-version-unknown": MEND,
    "bag-encoding-not-allowed": MEND,
    "bag-no-payload-directory": MEND,
    "bag-no-payload-manifest": MEND,
    "bag-tag-file-undecodable": MEND,
    "bag-bom": MEND,
    "bag-manifest-line-malformed": MEND,
    "bag-digest-malformed": MEND,
    "bag-path-outside-payload": MEND,
    "bag-listed-twice": MEND,
    "bag-to-be-fetched": MEND,
    "bag-fetch-line-malformed": MEND,
    "bag-fetch-not-listed": MEND,
    "bag-fetch-length-differs": MEND,
    "bag-bag-info-malformed": MEND,
    "bag-oxum-malformed": MEND,
    "bag-oxum-repeated": MEND,
    "bag-algorithm-unknown": QUERY,
    "bag-payload-empty": QUERY,
    "bag-name-twins": QUERY,
    "bag-name-controls": QUERY,
    "bag-percent-raw": QUERY,
    "bag-manifest-marker": QUERY,
    "bag-encoding-not-utf8": NOTE,
    "bag-line-unended": NOTE,
    "bag-listed-again": NOTE,
    "bag-name-mixed-scripts": NOTE,
    "bag-element-repeated": NOTE,
    "bag-element-malformed": NOTE,
    "bag-digest-upper-case": NOTE,
    "bag-name-form-differs": NOTE,
    "bag-hard-link": NOTE,
    "bag-empty-directory": NOTE,
    "bag-name-undecodable": NOTE,
    "bag-name-not-portable": NOTE,
    "bag-hidden-file": NOTE,
    "bag-fetch-txt": NOTE,
    "bag-archive-escape": REFUSED,
    "bag-archive-link": REFUSED,
    "bag-archive-special": REFUSED,
    "bag-archive-twice": REFUSED,
    "bag-archive-ambiguous": REFUSED,
    "bag-archive-damaged": MEND,
    "bag-archive-method": MEND,
    "bag-archive-overlap": REFUSED,
    "bag-archive-name-encoding": QUERY,
    "bag-archive-base": MEND,
    "bag-archive-beyond-limits": LIMIT,
    "bag-archive-name-differs": QUERY,
    "bag-archive-trailing": QUERY,
}


@pytest.fixture
def observing(
    received: Callable[..., Dossier], package: Callable[..., PackageFacts]
) -> Callable[..., Dossier]:
    def make(*words: str, file: str = "data/x", line: int | None = 3, text: str = "") -> Dossier:
        seen = (Observation(kind=word, file=file, line=line, text=text) for word in words)
        return received(package=package(observations=tuple(seen)))

    return make


def test_the_table_has_every_kind() -> None:
    assert {kind.code for kind in KIND_OF.values()} == set(WEIGHTS)


@pytest.mark.parametrize(("code", "weight"), WEIGHTS.items(), ids=WEIGHTS)
def test_one_observation_has_its_weight_and_its_verdict(
    observing: Callable[..., Dossier], code: str, weight: tuple[Severity, Verdict]
) -> None:
    judgement: Judgement = judge(observing(code.removeprefix("bag-")))
    assert [finding.code for finding in judgement.findings] == [code]
    assert (judgement.findings[0].kind.severity, judgement.verdict) == weight


def test_a_bag_without_observation_yields_nothing(
    run: Run, observing: Callable[..., Dossier]
) -> None:
    assert run(RULE, observing()) == []


def test_the_place_is_the_file_and_line_observed(
    run: Run, observing: Callable[..., Dossier]
) -> None:
    found = run(RULE, observing("bom", "link", file="manifest-sha256.txt", line=1))
    assert found == [("bag-bom", "manifest-sha256.txt:1"), ("bag-link", "manifest-sha256.txt:1")]


def test_what_a_stranger_named_is_safe_to_print(observing: Callable[..., Dossier]) -> None:
    dossier = observing("link", file="data/\x1b[2J", line=None, text="It is \u202e.")
    finding = judge(dossier).findings[0]
    assert (str(finding.place), finding.text) == ("data/\\x1b[2J", "It is \\u202e.")


def test_an_observation_without_words_is_told_by_its_title(
    observing: Callable[..., Dossier],
) -> None:
    finding = judge(observing("link")).findings[0]
    assert finding.text == f"{KIND_OF['link'].title}."


def test_the_most_serious_observation_makes_the_verdict(
    observing: Callable[..., Dossier],
) -> None:
    for words, verdict in (
        (("bom", "link", "too-many"), Verdict.REFUSED),
        (("bom", "too-many", "name-twins"), Verdict.FAIL),
        (("too-many", "name-twins", "hidden-file"), Verdict.NOT_EXAMINED),
        (("name-twins", "hidden-file"), Verdict.OPEN),
        (("hidden-file",), Verdict.PASS),
    ):
        assert judge(observing(*words)).verdict is verdict
