"""Where a form asks for an act that can hurt a person or a reel, it cautions at that place."""

import pytest

from tailsout.mapping import schemas
from tailsout.mapping.forms.blank import blank

CAUTIONS = (
    # form, words that must stand in it (common practice, no source)
    ("job-0.1", ("stop, close the box", "conservator")),
    ("job-0.1", ("Treating a carrier can destroy it", "ask a conservator and the owner first")),
    ("machine-0.1", ("Solvents", "machine maker's manual", "air the room")),
    ("machine-0.1", ("pacemaker or other implant", "maker's manual")),
    ("machine-0.1", ("only somebody qualified opens a machine", "local rules")),
    ("machine-0.1", ("never on rotary ones",)),
    ("machine-0.1", ("machine off, tapes and cards in another room",)),
    ("job-0.1", ("protect hands and lungs",)),
    ("job-0.1", ("Never without knowing the base of every section",)),
    ("job-0.1", ("Turn the monitors down first", "tweeters", "monitor maker's manual")),
    ("session-0.1", ("Turn the monitors down before tones", "tweeters", "maker's manual")),
)
PLACES = {
    # definition and key that ask for the act: whom the caution defers to
    ("condition", "mould"): "conservator",
    ("event", "state"): "conservator",
    ("event", "temperature_c"): "conservator",
    ("event", "speed"): "maker's manual",
    ("care_event", "kind"): "maker's manual",
    ("care_event", "agent"): "maker's manual",
    ("calibration_setting", "tape"): "maker's manual",
}


@pytest.mark.parametrize(("name", "words"), CAUTIONS, ids=lambda part: str(part)[:24])
def test_the_caution_stands_in_the_form(name: str, words: tuple[str, ...]) -> None:
    told = " ".join(
        line.removeprefix("# ")
        for line in blank(name, {"job_id": "x"} if name == "job-0.1" else {}).split("\n")
    )
    for one in words:
        assert one in told


@pytest.mark.parametrize("place", PLACES, ids=".".join)
def test_the_caution_stands_at_the_key_and_defers_to_those_who_know(
    place: tuple[str, str],
) -> None:
    definition, key = place
    node = schemas.schema("sidecar-0.1")["$defs"][definition]["properties"][key]
    what, _, caution = node["description"].partition(". ")
    assert what
    assert PLACES[place] in caution


def test_no_caution_advises_a_treatment() -> None:
    """Degrees and hours are examples of what was done, never of what to do."""
    for definition, key in PLACES:
        node = schemas.schema("sidecar-0.1")["$defs"][definition]["properties"][key]
        assert not set("0123456789") & set(node["description"])
