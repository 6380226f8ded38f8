"""RFC 8493 §2.2.2: the elements of bag-info.txt that have a form, or stand once."""

import pytest

from tailsout.bag.elements import note_elements
from tailsout.bag.notes import Notes
from tailsout.records.facts import InfoLine

GROUP = ("Bag-Group-Identifier", "SKL-0007")


def noted(*pairs: tuple[str, str]) -> list[tuple[str, int | None]]:
    notes = Notes()
    lines = (InfoLine(label=a, value=b, line=n) for n, (a, b) in enumerate(pairs, start=1))
    note_elements(tuple(lines), notes)
    return [(one.kind, one.line) for one in notes.observations()]


@pytest.mark.parametrize("value", ["2026-03-14", "2024-02-29"])
def test_a_date(value: str) -> None:
    assert noted(("bagging-date", value)) == []


@pytest.mark.parametrize(
    "value", ["2008.04.15", "20260314", "2026-W11-6", "2026-02-29", "٢026-01-01"]
)
def test_what_is_no_date(value: str) -> None:
    assert noted(("Bagging-Date", value)) == [("element-malformed", 1)]


@pytest.mark.parametrize(
    "pair", [("Bagging-Date", "2026-03-14"), ("Bag-Size", "1 GB"), GROUP, ("Bag-Count", "1 of 2")]
)
def test_what_should_stand_once(pair: tuple[str, str]) -> None:
    again = (pair[0].upper(), pair[1])
    assert noted(GROUP, pair, again)[-1] == ("element-repeated", 3)


def test_what_may_be_repeated() -> None:
    assert noted(("Contact-Name", "a"), ("Contact-Name", "b"), ("Own", "c"), ("Own", "c")) == []


def test_an_oxum_stands_once_and_has_its_form() -> None:
    assert noted(("Payload-Oxum", "1.1"), ("payload-oxum", "1e5.x")) == [
        ("oxum-malformed", 2),
        ("oxum-repeated", 2),
    ]
