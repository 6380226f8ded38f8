"""What is advised: EBU R 98-1999, and the FADGI guideline of 2012 as others quote it."""

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest

from tailsout.records.dossier import Dossier
from tailsout.records.recipient import Recipient
from tailsout.records.tags import InfoEntry, Tags
from tailsout.records.transfer import Transfer
from tailsout.rules import RULES, judge

Run = Callable[[str, Dossier], list[tuple[str, str]]]
R98, FADGI = "coding history against EBU R 98", "guideline of the recipient"
FILE = "data/audio/reel.wav"
ARCHIVED = InfoEntry(id="IARL", text="IE, HARBOUR")
GOOD = {
    "originator": "IE, HARBOUR",
    "originator_reference": "reel",
    "description": "reel; REEL-1",
    "origination_date": "2026-03-14",
    "origination_time": "10:21:07",
}


# history-not-r98


def remarked(dossier: Dossier, *remarks: str) -> Dossier:
    (file,) = dossier.files
    return replace(dossier, files=(replace(file, tags=Tags(history_remarks=remarks)),))


def test_a_history_that_is_not_r_98_is_noted_once(
    run: Run, received: Callable[..., Dossier]
) -> None:
    plain = received()
    assert run(R98, plain) == run(R98, remarked(plain)) == []
    odd = remarked(
        plain, "Line 1: the key a should be a capital.", "Line 2: so too.", "Line 3: too."
    )
    assert run(R98, odd) == [("history-not-r98", f"{FILE}#bext.CodingHistory")]
    (text,) = (one.text for one in judge(odd).findings if one.code == "history-not-r98")
    assert text == "Line 1: the key a should be a capital. 2 more like it."


# fadgi-departs


@pytest.fixture
def asking(
    transfer: Callable[..., Transfer], stating: Callable[[Transfer], Dossier]
) -> Callable[..., Dossier]:
    def make(
        guideline: Any = "FADGI", info: tuple[InfoEntry, ...] = (ARCHIVED,), **said: Any
    ) -> Dossier:
        recipient = Recipient(id="archive", embedding_guideline=guideline)
        dossier = stating(transfer(recipient=recipient))
        (file,) = dossier.files
        assert file.embedded is not None
        embedded = replace(file.embedded, **{**GOOD, **said})
        return replace(dossier, files=(replace(file, embedded=embedded, tags=Tags(info=info)),))

    return make


@pytest.mark.parametrize(
    ("said", "field"),
    [
        ({"originator": "Saltpan Row"}, "bext.Originator"),
        ({"originator": "ie, harbour"}, "bext.Originator"),
        ({"originator_reference": ""}, "bext.OriginatorReference"),
        ({"originator_reference": "C:\\reels\\7"}, "bext.OriginatorReference"),
        ({"description": " "}, "bext.Description"),
        ({"origination_date": "2026:03:14"}, "bext.OriginationDate"),
        ({"origination_date": ""}, "bext.OriginationDate"),
        ({"origination_time": "10-21-07"}, "bext.OriginationTime"),
        ({"info": ()}, "INFO.IARL"),
    ],
)
def test_each_departure_is_noted_where_the_guideline_was_asked_for(
    run: Run, asking: Callable[..., Dossier], said: Any, field: str
) -> None:
    assert run(FADGI, asking(**said)) == [("fadgi-departs", f"{FILE}#{field}")]
    for guideline in ("EBU", None):
        assert run(FADGI, asking(guideline, **said)) == []


def test_a_master_that_follows_the_guideline(run: Run, asking: Callable[..., Dossier]) -> None:
    assert run(FADGI, asking()) == []
    assert run(FADGI, asking(origination_time="")) == []


def test_neither_a_capture_nor_a_strangers_file_is_held_against_it(
    run: Run, asking: Callable[..., Dossier]
) -> None:
    odd = asking(originator="Saltpan Row")
    assert run(FADGI, replace(odd, origin="closing")) == []
    (file,) = odd.files
    assert run(FADGI, replace(odd, files=(replace(file, sidecar=None),))) == []
    assert {rule.decides for rule in RULES if rule.name in {R98, FADGI}} == {False}
