"""Statements changed at the place a person names; nothing moves, and nothing else changes."""

from contextlib import suppress
from copy import deepcopy
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tailsout.ground.errors import MaterialError
from tailsout.mapping import amending, schemas
from tailsout.mapping.amending import Wish
from tailsout.records.vocab import StatementAct

TRANSFER: dict[str, Any] = {
    "job_id": "0b4e3c1e-6a0e-4e0b-9a53-6d1f5f3b2c07",
    "package_id": "TT-1",
    "studio": {"name": "Saltpan Row"},
    "reel": {
        "title": "Reel 1",
        "inscriptions": [{"place": "box", "text": "Nov. 1961"}, {"place": "spine", "text": "7"}],
        "absent": {"diameter_in": "not recorded"},
    },
    "commission": {"asked_by": "Harbour Archive"},
}


def changed(at: str, change: StatementAct, now: Any = None) -> tuple[dict[str, Any], Any, Any]:
    data = deepcopy(TRANSFER)
    told, texts = amending.change(data, Wish(at=at, change=change, now=now))
    return data, told, texts


def test_the_sample_is_what_the_schema_allows() -> None:
    assert schemas.faults(TRANSFER, "sidecar-0.1", "transfer") == ()


@pytest.mark.parametrize(
    ("at", "pointer"),
    [
        ("reel.title", "/reel/title"),
        ("reel.sides[1].regions[12].id", "/reel/sides/0/regions/11/id"),
        ("/transfer/reel/title", "/reel/title"),
    ],
)
def test_a_key_is_a_pointer_counted_from_one(at: str, pointer: str) -> None:
    assert amending.pointer_of(at) == pointer


@pytest.mark.parametrize("at", ["", "/", "/transfer", "/reel/title", "a[0]", "a.", "a b", "a[x]"])
def test_what_is_no_place(at: str) -> None:
    with pytest.raises(MaterialError):
        amending.pointer_of(at)


def test_a_table_is_told_as_json() -> None:
    data, told, _ = changed("reel.inscriptions[1]", "corrected", {"place": "reel", "text": "x"})
    assert data["reel"]["inscriptions"][0] == {"place": "reel", "text": "x"}
    assert told.was == '{"place":"box","text":"Nov. 1961"}'


def test_a_value_takes_the_place_of_the_word_that_it_was_absent() -> None:
    data, told, _ = changed("reel.diameter_in", "added", 7)
    assert data["reel"]["diameter_in"] == 7
    assert "absent" not in data["reel"]
    assert (told.was, told.now) == ("not recorded", "7")


def test_a_word_to_the_letter_stays_a_text() -> None:
    # A box may read "unknown": of a verbatim key that is not an absence word.
    data, _, _ = changed("reel.inscriptions[1].text", "corrected", "unknown")
    assert data["reel"]["inscriptions"][0] == {"place": "box", "text": "unknown"}


def test_the_first_entry_of_a_list_makes_it() -> None:
    data, _, _ = changed("jottings[1]", "added", {"at": "x", "text": "y"})
    assert data["jottings"] == [{"at": "x", "text": "y"}]


def test_an_entry_that_is_not_there_is_refused_and_makes_no_list() -> None:
    data = deepcopy(TRANSFER)
    with pytest.raises(MaterialError):
        amending.change(data, Wish(at="jottings[1]", change="corrected", now={"text": "x"}))
    assert data == TRANSFER


@pytest.mark.parametrize(
    ("at", "now", "put"),
    [
        ("signal_notes[1].start", "0:01.5", 72_000),
        ("signal_notes[1].start", 7, 7),
        ("signal_notes[1].heard", "0:01.5", "0:01.5"),
        # Of another entry, and of a capture that is not there, nobody knows the rate.
        ("signal_notes[2].start", "0:01.5", "0:01.5"),
        ("signal_notes[3].start", "0:01.5", "0:01.5"),
        ("signal_notes[1].end", "a while", "a while"),
        ("signal_notes[3]", {"capture": "a", "start": "0:02"}, {"capture": "a", "start": 96_000}),
    ],
)
def test_a_time_becomes_a_position_in_its_capture(at: str, now: Any, put: Any) -> None:
    notes = {"signal_notes": [{"capture": "a", "start": 5}, {"capture": "b", "start": 5}]}
    wish = Wish(at=at, change="corrected", now=now)
    assert amending.at_rate(wish, notes, {"a": 48_000}).now == put


def test_what_is_withheld_leaves_the_word_and_gives_its_texts() -> None:
    data, told, texts = changed("commission", "withheld")
    assert "commission" not in data
    assert data["absent"] == {"commission": "withheld"}
    assert (told.was, told.now) == (None, None)
    assert texts == ("Harbour Archive",)


def test_what_must_stand_there_becomes_the_word() -> None:
    data, _, texts = changed("reel.inscriptions[1].text", "withheld")
    assert data["reel"]["inscriptions"][0] == {"place": "box", "text": "withheld"}
    assert texts == ("Nov. 1961",)


def test_what_a_side_car_leaves_out_is_left_out_of_what_is_told() -> None:
    now = {"place": "reel", "text": "x", "absent": {}, "basis": []}
    data, told, _ = changed("reel.inscriptions[1]", "corrected", now)
    assert data["reel"]["inscriptions"][0] == {"place": "reel", "text": "x"}
    assert told.now == '{"place":"reel","text":"x"}'
    with pytest.raises(MaterialError, match="absence word"):
        changed("reel.inscriptions", "corrected", [])


def test_a_value_too_long_to_be_told_is_not_changed_as_a_whole() -> None:
    with pytest.raises(MaterialError, match="name a part"):
        changed("reel.title", "corrected", "x" * (amending.MOST_TEXT + 1))


@given(
    at=st.text(st.sampled_from("aelrt.[]/0123456789~"), max_size=24),
    act=st.sampled_from(["corrected", "added", "withheld"]),
    now=st.one_of(st.none(), st.text(max_size=5), st.integers(), st.lists(st.text(max_size=2))),
)
def test_any_place_is_changed_or_refused(at: str, act: StatementAct, now: Any) -> None:
    data = deepcopy(TRANSFER)
    # Anything else that is raised would be a fault of ours.
    with suppress(MaterialError):
        amending.change(data, Wish(at=at, change=act, now=now))
    assert data["package_id"] == "TT-1"
