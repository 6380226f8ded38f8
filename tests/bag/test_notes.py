import pytest

from tailsout.bag.notes import MOST_OF_A_KIND, Notes
from tailsout.records.observations import OBSERVATIONS


def test_what_goes_beyond_the_limit_is_counted() -> None:
    notes = Notes()
    for number in range(MOST_OF_A_KIND + 3):
        notes.add("link", f"data/{number}")
    notes.add("bom", "bagit.txt")
    found = notes.observations()
    assert len(found) == MOST_OF_A_KIND + 2
    assert found[-2].kind == "bom"
    assert (found[-1].kind, found[-1].file) == ("link", f"data/{MOST_OF_A_KIND}")
    assert " 2 more " in found[-1].text


def test_a_habit_is_told_once_of_a_file() -> None:
    notes = Notes()
    for file, lines in (("manifest-md5.txt", 3), ("tagmanifest-md5.txt", 1)):
        for line in range(1, lines + 1):
            notes.add("manifest-marker", file, line, "An asterisk stands before the path.")
    first, second = notes.observations()
    assert (first.line, second.line) == (1, 1)
    assert first.text == "An asterisk stands before the path; likewise on 2 more lines."
    assert second.text == "An asterisk stands before the path."


def test_an_undeclared_kind_is_a_bug() -> None:
    with pytest.raises(KeyError):
        Notes().add("no-such-kind", "f")


def test_every_kind_states_its_basis() -> None:
    for kind, basis in OBSERVATIONS.items():
        assert kind == kind.lower()
        assert basis.startswith(
            (
                "RFC 8493 §",
                "Unicode",
                "our limit",
                "own rule",
                "common practice",
                "the environment",
                "POSIX",
                "APPNOTE",
            )
        )
