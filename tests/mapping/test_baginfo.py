from dataclasses import replace
from datetime import UTC, datetime
from typing import Any

import pytest

from tailsout.mapping.baginfo import elements
from tailsout.records.recording import Work
from tailsout.records.reel import Identifier
from tailsout.records.transfer import Studio

INSTANT = datetime(2026, 3, 15, 23, 59, tzinfo=UTC)


def test_everything_that_is_known_in_order(make: Any) -> None:
    studio = Studio(
        name="Saltpan Row",
        place="Saltpan Row 4, Skerrow Haven",
        contact_name="Isolde Varga-Finch",
        contact_email="desk@saltpan-row.example",
    )
    transfer = make.transfer(
        studio=studio, title="Log of the keeper", identifiers=("HA/SKL/7", "0000418207")
    )
    # RFC 8493 §2.2.2: labels and what they mean; only Payload-Oxum may not be repeated.
    assert elements(transfer, INSTANT) == (
        ("Source-Organization", "Saltpan Row"),
        ("Organization-Address", "Saltpan Row 4, Skerrow Haven"),
        ("Contact-Name", "Isolde Varga-Finch"),
        ("Contact-Email", "desk@saltpan-row.example"),
        ("External-Description", "Log of the keeper"),
        ("Bagging-Date", "2026-03-15"),
        ("External-Identifier", "HA/SKL/7"),
        ("External-Identifier", "0000418207"),
        ("Internal-Sender-Identifier", "SKL-0007"),
    )


def test_without_identifiers_the_package_names_itself(make: Any) -> None:
    assert elements(make.transfer(studio=Studio()), INSTANT) == (
        ("Bagging-Date", "2026-03-15"),
        ("External-Identifier", "SKL-0007"),
        ("Internal-Sender-Identifier", "SKL-0007"),
    )


@pytest.mark.parametrize(
    ("title", "value"),
    [
        ("two\nlines", "two lines"),
        ("a\r\nForged-Label: x", "a Forged-Label: x"),
        (" \t a  b ", "a b"),
        ("a\u2028b\x0bc\x85d", "a b c d"),
        ("7½ – ä", "7½ – ä"),
    ],
)
def test_a_value_is_one_line(make: Any, title: str, value: str) -> None:
    found = dict(elements(make.transfer(title=title), INSTANT))
    assert found["External-Description"] == value


def test_a_value_of_blanks_is_no_value(make: Any) -> None:
    transfer = make.transfer(studio=Studio(name=" \n "), title="\u00a0")
    assert {"Source-Organization", "External-Description"}.isdisjoint(
        dict(elements(transfer, INSTANT))
    )


@pytest.mark.parametrize(
    ("part", "parts", "count"),
    [(2, 5, "2 of 5"), (1, 1, "1 of 1"), (2, None, "2 of ?"), (None, 5, None), (None, None, None)],
)
def test_a_work_on_several_reels(
    make: Any, part: int | None, parts: int | None, count: str | None
) -> None:
    """RFC 8493 §2.2.2: Bag-Count is `N of T`, T may be `?`; with it goes Bag-Group-Identifier."""
    transfer = replace(make.transfer(), work=Work(id="HA/SKL", part=part, parts=parts))
    found = dict(elements(transfer, INSTANT))
    assert found["Bag-Group-Identifier"] == "HA/SKL"
    assert found.get("Bag-Count") == count


def test_what_the_studio_calls_the_reel_is_the_senders_identifier(make: Any) -> None:
    """RFC 8493 §2.2.2: External-Identifier is the sender's for the bag; Internal-… is in-house."""
    transfer = make.transfer(studio=Studio(name="Saltpan Row"))
    identifiers = (
        Identifier(value="HA/SKL/7", assigned_by="Harbour Archive"),
        Identifier(value="R 112", assigned_by="Saltpan Row"),
        Identifier(value="loose label"),
    )
    transfer = replace(transfer, reel=replace(transfer.reel, identifiers=identifiers))
    found = elements(transfer, INSTANT)
    assert [value for label, value in found if label == "External-Identifier"] == [
        "HA/SKL/7",
        "loose label",
    ]
    assert [value for label, value in found if label == "Internal-Sender-Identifier"] == [
        "R 112",
        "SKL-0007",
    ]
