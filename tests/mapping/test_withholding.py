"""What does not travel is taken out, and the word says so."""

from typing import Any

from tailsout.mapping.withholding import without

DATA: dict[str, Any] = {
    "commission": {"asked_by": "Orla Quill", "purpose": "a radio play"},
    "machines": [{"id": "a", "serial": "1"}, {"id": "b", "absent": {"serial": "unknown"}}],
    "note": "left alone",
}


def test_a_value_gives_way_to_the_word() -> None:
    left = without(DATA, ("commission.asked_by", "machines[].serial"))
    assert left["commission"] == {"purpose": "a radio play", "absent": {"asked_by": "withheld"}}
    assert left["machines"] == [
        {"id": "a", "absent": {"serial": "withheld"}},
        # There was nothing to withhold; the word that stood there stays true.
        {"id": "b", "absent": {"serial": "unknown"}},
    ]
    assert left["note"] == "left alone"


def test_what_is_taken_out_stays_in_the_forms() -> None:
    before = repr(DATA)
    without(DATA, ("commission", "machines[].serial"))
    assert repr(DATA) == before


def test_a_whole_table() -> None:
    left = without(DATA, ("commission",))
    assert "commission" not in left
    assert left["absent"] == {"commission": "withheld"}


def test_nothing_to_withhold() -> None:
    assert without(DATA, ()) is DATA
    assert without(DATA, ("recording.what", "reel.hub")) == DATA
