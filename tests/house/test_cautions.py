"""Where a form asks for an act that can hurt a person or a reel, it cautions at that place."""

import pytest

from tailsout.mapping.forms.blank import blank

CAUTIONS = (
    # form, words that must stand in it (common practice, no source)
    ("job-0.1", ("stop, close the box", "conservator")),
    ("job-0.1", ("Treating a carrier can destroy it", "ask a conservator and the owner first")),
    ("machine-0.1", ("Solvents", "machine maker's manual", "air the room")),
    ("machine-0.1", ("pacemaker or other implant", "maker's manual")),
    ("machine-0.1", ("only somebody qualified opens a machine", "local rules")),
    ("machine-0.1", ("never on rotary ones",)),
    ("session-0.1", ("Turn the monitors down before tones", "tweeters")),
)


@pytest.mark.parametrize(("name", "words"), CAUTIONS, ids=lambda part: str(part)[:24])
def test_the_caution_stands_in_the_form(name: str, words: tuple[str, ...]) -> None:
    told = " ".join(
        line.removeprefix("# ")
        for line in blank(name, {"job_id": "x"} if name == "job-0.1" else {}).split("\n")
    )
    for one in words:
        assert one in told
