from datetime import UTC, datetime
from typing import Any

import pytest

from tailsout.mapping.baginfo import elements
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
