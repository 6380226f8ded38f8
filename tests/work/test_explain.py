"""Every finding can be looked up by its code."""

import pytest

from tailsout.ground.errors import UsageError
from tailsout.rules import GROUPS, RULES
from tailsout.work import explain
from tailsout.work.explain import by_group, explained, kind_of, kinds
from tailsout.work.gating import kinds as gating

BY_READERS = tuple(explain._READERS.values())


def test_all_kinds_are_there_in_order_of_their_codes() -> None:
    every = kinds()
    assert list(every) == sorted(every)
    for origin in (*BY_READERS, *(r.kinds for r in RULES)):
        for kind in origin:
            assert every[kind.code] is kind


def test_no_two_kinds_share_a_code() -> None:
    each = {kind for origin in (*BY_READERS, *(r.kinds for r in RULES)) for kind in origin}
    assert len(each) == len(kinds())


def test_one_kind_by_its_code() -> None:
    kind = kind_of("digest-differs")
    assert kind.basis.startswith("RFC 8493 §3")


@pytest.mark.parametrize(
    "code",
    [
        "answer-to-nothing",
        "jotting-unread",
        "jotting-unfiled",
        "not-played-unexplained",
        "told-afterwards",
        "hidden-file-left-out",
    ],
)
def test_what_the_record_brought_is_listed(code: str) -> None:
    assert kind_of(code).code == code


def test_a_code_that_is_none() -> None:
    with pytest.raises(UsageError, match="There is no finding 'digest'"):
        kind_of("digest")


# By what they are about


def test_every_kind_stands_in_one_group() -> None:
    groups = by_group()
    assert sorted(kind.code for listed in groups.values() for kind in listed) == list(kinds())
    assert all(groups.values())


def test_every_rule_stands_in_one_group() -> None:
    assert sorted(rule.name for rules in GROUPS.values() for rule in rules) == sorted(
        {rule.name for rule in RULES}
    )


def test_where_a_kind_comes_from() -> None:
    ruled = explained("region-overlap")
    assert (ruled.group, [rule.name for rule in ruled.rules]) == (
        "regions",
        ["regions inside the audio"],
    )
    assert ruled.is_answerable
    read = explained("form-value")
    assert (read.group, read.rules, read.is_answerable) == ("forms", (), False)


def test_what_a_gate_asks_takes_no_answer() -> None:
    """No package carries the question, so an answer in a job would answer nothing there."""
    assert not any(explained(kind.code).is_answerable for kind in gating.KINDS)
    assert explained("end-out-contradicts").is_answerable
