"""The words of RFC 8493 §3 for a bag: each kind placed, the first that applies taken."""

from collections.abc import Callable
from dataclasses import replace
from typing import get_args

import pytest

from tailsout.records.bag_state import BagState, BagWord, NotVerified, WhyNot
from tailsout.records.dossier import Dossier
from tailsout.records.facts import FoundFile, Manifest, Observation, PackageFacts
from tailsout.rules import completeness, fixity, judge, structure
from tailsout.rules.bag_state import bag_state

AUDIO = "data/audio/reel.wav"

# Items 1 to 4 of §3 make a bag incomplete, item 5 malformed; a checksum or Payload-Oxum, invalid.
STATE_OF: dict[str, BagWord] = {
    **dict.fromkeys(
        (
            "bag-bag-info-malformed",
            "bag-bagit-txt-malformed",
            "bag-bom",
            "bag-digest-malformed",
            "bag-encoding-not-allowed",
            "bag-fetch-length-differs",
            "bag-fetch-line-malformed",
            "bag-fetch-not-listed",
            "bag-link",
            "bag-listed-twice",
            "bag-manifest-line-malformed",
            "bag-manifest-marker",
            "bag-oxum-malformed",
            "bag-oxum-repeated",
            "bag-path-outside-payload",
            "bag-path-unsafe",
            "bag-percent-raw",
            "bag-special-file",
            "bag-tag-file-undecodable",
            "bag-version-unknown",
            "manifest-unlisted",
        ),
        "malformed",
    ),
    **dict.fromkeys(
        (
            "bag-no-bagit-txt",
            "bag-no-payload-directory",
            "bag-no-payload-manifest",
            "bag-to-be-fetched",
            "file-missing",
            "file-not-in-every-manifest",
            "file-unlisted",
        ),
        "incomplete",
    ),
    **dict.fromkeys(("digest-differs", "oxum-differs"), "invalid"),
    **dict.fromkeys(
        (
            "bag-archive-ambiguous",
            "bag-archive-beyond-limits",
            "bag-archive-damaged",
            "bag-archive-escape",
            "bag-archive-link",
            "bag-archive-method",
            "bag-archive-overlap",
            "bag-archive-special",
            "bag-archive-twice",
            "bag-line-too-long",
            "bag-swapped",
            "bag-tag-file-too-large",
            "bag-too-deep",
            "bag-too-many",
            "bag-unreadable",
        ),
        "not examined",
    ),
    # These two never come alone: what they tell is in the list of what was not verified.
    **dict.fromkeys(("file-unreadable", "fixity-not-verifiable"), "valid"),
    **dict.fromkeys(
        (
            "algorithm-weak",
            # What lies in an archive may be valid, whatever is wrong around it.
            "archive-digest-differs",
            "archive-digest-missing",
            "archive-digest-unread",
            "bag-archive-base",
            "bag-archive-name-differs",
            "bag-archive-name-encoding",
            "bag-archive-trailing",
            "bag-algorithm-unknown",
            "bag-digest-upper-case",
            "bag-element-malformed",
            "bag-element-repeated",
            "bag-empty-directory",
            "bag-encoding-not-utf8",
            "bag-fetch-txt",
            "bag-fetch-unsafe",
            "bag-hard-link",
            "bag-hidden-file",
            "bag-line-unended",
            "bag-listed-again",
            "bag-name-controls",
            "bag-name-form-differs",
            "bag-name-mixed-scripts",
            "bag-name-not-portable",
            "bag-name-twins",
            "bag-name-undecodable",
            "bag-payload-empty",
            "receipt-differs",
            "receipt-unread",
            "tag-file-unlisted",
            "tag-manifests-differ",
        ),
        "valid",
    ),
}
KINDS = {
    kind.code: kind
    for rule in (*structure.RULES, *completeness.RULES, *fixity.RULES)
    for kind in rule.kinds
}


def state(dossier: Dossier) -> BagState:
    found = bag_state(dossier, judge(dossier).findings)
    assert found is not None
    return found


def test_every_kind_is_placed() -> None:
    assert set(STATE_OF) == set(KINDS)


@pytest.mark.parametrize(("code", "word"), STATE_OF.items(), ids=STATE_OF)
def test_what_one_finding_makes_of_a_bag(
    received: Callable[..., Dossier], code: str, word: BagWord
) -> None:
    finding = KINDS[code].at(received().place(""), "x.")
    assert bag_state(received(), [finding]) == BagState(word=word)


def test_the_words_are_those_of_the_record() -> None:
    assert set(STATE_OF.values()) | {"complete, not verified"} == set(get_args(BagWord))


def test_of_several_the_first_that_applies(received: Callable[..., Dossier]) -> None:
    codes = ["digest-differs", "file-missing", "bag-bom", "bag-too-many"]
    findings = [KINDS[code].at(received().place(""), "x.") for code in codes]
    words = []
    for gone in ("bag-bom", "file-missing", "digest-differs", "bag-too-many"):
        words.append(bag_state(received(), findings))
        findings = [one for one in findings if one.code != gone]
    assert [one.word for one in words if one] == [
        "malformed",
        "incomplete",
        "invalid",
        "not examined",
    ]


def test_a_job_is_no_bag(received: Callable[..., Dossier]) -> None:
    assert bag_state(received(package=None), []) is None
    assert bag_state(received(examined=frozenset({"headers"})), []) is None


def test_a_bag_nobody_read_through_is_not_called_valid(received: Callable[..., Dossier]) -> None:
    looked = received()
    dossier = replace(looked, examined=looked.examined - {"fixity"})
    assert state(dossier) == BagState(
        word="complete, not verified", not_verified=(NotVerified(why="no file read", count=6),)
    )


def test_everything_that_was_not_verified_is_listed(
    received: Callable[..., Dossier], package: Callable[..., PackageFacts]
) -> None:
    facts = package()
    odd = Manifest(name="manifest-crc.txt", algorithm="crc", is_tag=False, lines=())
    files = tuple(replace(f, trouble="It is." if f.path == AUDIO else "") for f in facts.files)
    facts = replace(
        facts,
        manifests=(*facts.manifests, odd),
        files=(*files, FoundFile(path="extra.txt", octets=1)),
        unseen=("", "data/deep"),
        holes=("data/z",),
    )
    found = state(received(package=facts))
    assert [(one.why, one.count, one.paths) for one in found.not_verified] == [
        ("algorithm unknown", 1, ("manifest-crc.txt",)),
        ("file not read", 1, (AUDIO,)),
        ("not looked at", 2, (".", "data/deep")),
        ("left to be fetched", 1, ("data/z",)),
        ("in no tag manifest", 1, ("extra.txt",)),
    ]
    whys = {one.why for one in found.not_verified} | {"no file read"}
    assert whys == set(get_args(WhyNot))


@pytest.mark.parametrize("why", ["algorithm unknown", "file not read"])
def test_one_checksum_left_keeps_a_bag_from_being_valid(
    received: Callable[..., Dossier], package: Callable[..., PackageFacts], why: str
) -> None:
    facts = package()
    if why == "file not read":
        files = tuple(replace(f, trouble="It is." if f.path == AUDIO else "") for f in facts.files)
        facts = replace(facts, files=files)
    else:
        last = facts.manifests[-1]
        facts = replace(facts, manifests=(*facts.manifests[:-1], replace(last, algorithm="crc")))
    found = bag_state(received(package=facts), [])
    assert found is not None
    assert (found.word, found.not_verified[0].why) == ("complete, not verified", why)


def test_a_hundred_paths_are_listed_and_all_are_counted(
    received: Callable[..., Dossier], package: Callable[..., PackageFacts]
) -> None:
    facts = package(holes=tuple(f"data/{n:03}" for n in range(103)))
    seen = Observation(kind="to-be-fetched", file="data/000")
    [left] = state(received(package=replace(facts, observations=(seen,)))).not_verified
    assert (left.count, len(left.paths), left.paths[-1]) == (103, 100, "data/099")


def test_without_tag_manifests_no_tag_file_is_verified(
    received: Callable[..., Dossier], package: Callable[..., PackageFacts]
) -> None:
    facts = package(manifests=tuple(m for m in package().manifests if not m.is_tag))
    found = state(received(package=facts))
    assert (found.word, found.not_verified[0].count) == ("valid", 4)
