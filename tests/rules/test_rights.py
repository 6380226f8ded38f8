"""Rights, sensitivity and what is withheld: own rules."""

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest

from tailsout.records.amendment import Amendment, StatementChange
from tailsout.records.dossier import Dossier
from tailsout.records.recipient import Recipient
from tailsout.records.recording import Recording, Rights
from tailsout.records.transfer import Transfer

RunRule = Callable[[str, Dossier], list[tuple[str, str]]]
FREE, WITHHELD = "rights against sensitivity", "what is withheld"
RECORDING = "data/audio/reel.json#/transfer/recording"
IN_COPYRIGHT = "http://rightsstatements.org/vocab/InC/1.0/"


@pytest.fixture
def recorded(
    stating: Callable[[Transfer], Dossier], transfer: Callable[..., Transfer]
) -> Callable[..., Dossier]:
    """Make a recording with these rights."""

    def make(rights: Rights | None = None, **changes: Any) -> Dossier:
        return stating(transfer(recording=Recording(rights=rights, **changes)))

    return make


# rights-open-and-sensitive


@pytest.mark.parametrize(
    ("statement", "is_free"),
    [
        ("https://creativecommons.org/publicdomain/zero/1.0/", True),
        ("https://creativecommons.org/licenses/by/4.0/", True),
        ("http://rightsstatements.org/vocab/NoC-US/1.0/", True),
        ("CC0", True),
        ("CC BY-SA 4.0", True),
        ("in the public domain since 2012", True),
        (IN_COPYRIGHT, False),
        # No copyright, and yet not free to use.
        ("http://rightsstatements.org/vocab/NoC-CR/1.0/", False),
        ("not in the public domain", False),
        ("kept by the trust", False),
    ],
)
def test_what_is_free_is_neither_sensitive_nor_restricted(
    *, run: RunRule, recorded: Callable[..., Dossier], statement: str, is_free: bool
) -> None:
    expected = [("rights-open-and-sensitive", f"{RECORDING}/rights/statement")] * is_free
    assert run(FREE, recorded(Rights(statement=statement))) == []
    assert run(FREE, recorded(Rights(statement=statement, restriction="on site"))) == expected
    assert run(FREE, recorded(Rights(statement=statement), sensitivity="names")) == expected


# sensitivity-alone


@pytest.mark.parametrize(
    ("rights", "sensitivity", "asked"),
    [
        (None, "names of the drowned", True),
        (Rights(holder="Skerrow Light Trust"), "names of the drowned", True),
        (Rights(statement=IN_COPYRIGHT), "names of the drowned", False),
        (Rights(restriction="on site"), "names of the drowned", False),
        (Rights(note="ask the trust"), "names of the drowned", False),
        (None, None, False),
    ],
)
def test_what_is_sensitive_has_a_rule(
    *,
    run: RunRule,
    recorded: Callable[..., Dossier],
    rights: Rights | None,
    sensitivity: str | None,
    asked: bool,
) -> None:
    found = run(FREE, recorded(rights, sensitivity=sensitivity))
    assert found == [("sensitivity-alone", f"{RECORDING}/sensitivity")] * asked


def test_of_no_recording_there_is_nothing_to_say(
    run: RunRule, received: Callable[..., Dossier]
) -> None:
    assert run(FREE, received()) == []


# withheld-unexplained

GONE: dict[str, Any] = {"absent": {"speakers": "withheld", "place": "withheld"}}
AMENDED = Amendment(
    version=2,
    supersedes="REEL-1",
    manifests={},
    by="isolde",
    on="2026-04-01",
    why="asked for by a speaker",
    written="2026-04-01T08:00:00Z",
    software="tailsout test",
    statements=(StatementChange(at="/transfer/recording/speakers", change="withheld"),),
)


def test_one_note_for_all_that_is_withheld(run: RunRule, recorded: Callable[..., Dossier]) -> None:
    assert run(WITHHELD, recorded(**GONE)) == [("withheld-unexplained", f"{RECORDING}/speakers")]


@pytest.mark.parametrize(
    "changes",
    [
        {"sensitivity": "a speaker asked for it", **GONE},
        {"rights": Rights(restriction="closed until 2041"), **GONE},
        {"rights": Rights(note="by the agreement"), **GONE},
        {"absent": {"speakers": "unknown"}},
        {},
    ],
)
def test_what_is_withheld_by_a_rule(
    run: RunRule, recorded: Callable[..., Dossier], changes: dict[str, Any]
) -> None:
    assert run(WITHHELD, recorded(**changes)) == []


def test_an_amendment_or_the_recipient_says_why(
    run: RunRule, recorded: Callable[..., Dossier]
) -> None:
    dossier = recorded(**GONE)
    assert run(WITHHELD, replace(dossier, amendments=(AMENDED,))) == []
    assert dossier.transfer is not None
    asking = replace(
        dossier.transfer, recipient=Recipient(id="archive", withheld=("recording.speakers",))
    )
    assert run(WITHHELD, replace(dossier, transfer=asking)) == []
    silent = replace(AMENDED, statements=())
    assert len(run(WITHHELD, replace(dossier, amendments=(silent,)))) == 1
