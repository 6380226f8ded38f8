"""Dates, codes, rights and canonical JSON against the published standards.

EDTF: examples of ISO 8601-2:2019 as the Library of Congress publishes them (Extended Date/Time
Format Specification, levels 0 to 2). Languages: ISO 639-3. Countries: ISO 3166-1. Rights: the
twelve statements of rightsstatements.org, version 1.0. Canonical JSON: RFC 8785 §3.2.3.
"""

import json
from decimal import Decimal

import pytest

from tailsout.mapping import schemas
from tailsout.mapping.plain import canonical

EDTF_EXAMPLES = (
    # level 0
    "1985-04-12",
    "1985-04",
    "1985",
    "1985-04-12T23:20:30",
    "1985-04-12T23:20:30Z",
    "1985-04-12T23:20:30+04:30",
    "1964/2008",
    "2004-06/2006-08",
    "2004-02-01/2005-02-08",
    # level 1
    "Y170000002",
    "2001-21",
    "1984?",
    "2004-06~",
    "2004-06-11%",
    "201X",
    "20XX",
    "2004-XX",
    "1985-04-XX",
    "1985-XX-XX",
    "1985-04-12/..",
    "../1985-04-12",
    "1985/",
    "-1985",
    # level 2
    "2001-34",
    "[1667,1668,1670..1672]",
    "[..1760-12-03]",
    "{1667,1668,1670..1672}",
    "2004-06-11%",
    "?2004-06-~11",
    "156X-12-25",
    "2004-06-~01/2004-06-~20",
)
NO_DATES = ("late sixties", "1985-13", "1985-04-31", "12.4.1985", "tuesday", "1985-4", "20-04-1985")


def _refused(key: str, value: object, definition: str = "recording") -> bool:
    return bool(schemas.faults({key: value}, "sidecar-0.1", definition))


@pytest.mark.parametrize("date", EDTF_EXAMPLES)
def test_published_dates_are_taken(date: str) -> None:
    assert not _refused("when", date)


@pytest.mark.parametrize("date", NO_DATES)
def test_other_dates_are_refused(date: str) -> None:
    assert _refused("when", date)


@pytest.mark.parametrize("code", ["eng", "deu", "gle", "cym", "und", "zxx", "mul"])
def test_languages_of_iso_639_3_are_taken(code: str) -> None:
    assert not _refused("languages", [code])


@pytest.mark.parametrize("code", ["en", "ger", "xyz", "ENG", "english"])
def test_other_languages_are_refused(code: str) -> None:
    """`ger` is the bibliographic code of ISO 639-2, not one of ISO 639-3."""
    assert _refused("languages", [code])


@pytest.mark.parametrize(
    ("code", "refused"), [("IE", False), ("GB", False), ("UK", True), ("ie", True)]
)
def test_countries_of_iso_3166_1(code: str, refused: bool) -> None:
    assert _refused("country", code) is refused


RIGHTS = (
    "InC", "InC-OW-EU", "InC-EDU", "InC-NC", "InC-RUU", "NoC-CR",
    "NoC-NC", "NoC-OKLR", "NoC-US", "CNE", "UND", "NKC",
)  # fmt: skip


@pytest.mark.parametrize("code", RIGHTS)
def test_rights_statements_are_taken_as_published(code: str) -> None:
    uri = f"http://rightsstatements.org/vocab/{code}/1.0/"
    assert not _refused("statement", uri, "rights")
    assert _refused("statement", uri.replace("http:", "https:"), "rights")
    assert _refused("statement", uri.removesuffix("/"), "rights")
    assert _refused("statement", uri.replace("1.0", "2.0"), "rights")


@pytest.mark.parametrize(
    ("uri", "refused"),
    [
        ("https://creativecommons.org/licenses/by/4.0/", False),
        ("urn:uuid:5f0c7a52-3f5e-4c0e-9a53-6d1f5f3b2c07", False),
        ("all rights reserved", True),
        ("//example.org/x", True),
    ],
)
def test_other_rights_are_uris(uri: str, refused: bool) -> None:
    """RFC 3986 §3: a URI has a scheme."""
    assert _refused("statement", uri, "rights") is refused


def test_canonical_json_of_rfc_8785() -> None:
    """The example of §3.2.2 comes out as §3.2.3 shows it, octet for octet."""
    given = json.loads(
        r"""{
          "numbers": [333333333.33333329, 1E30, 4.50, 2e-3, 0.000000000000000000000000001],
          "string": "\u20ac$\u000F\u000aA'\u0042\u0022\u005c\\\"\/",
          "literals": [null, true, false]
        }""",
        parse_float=Decimal,
    )
    expected = bytes.fromhex(
        "7b226c69746572616c73223a5b6e756c6c2c747275652c66616c73655d2c226e"
        "756d62657273223a5b3333333333333333332e333333333333332c31652b3330"
        "2c342e352c302e3030322c31652d32375d2c22737472696e67223a22e282ac24"
        "5c75303030665c6e4127425c225c5c5c5c5c222f227d"
    )
    assert canonical(given) == expected


def test_equal_values_differently_typed_are_one_in_canonical_form() -> None:
    assert canonical({"speed": Decimal("7.50")}) == canonical({"speed": Decimal("7.5")})
    assert canonical({"speed": Decimal("7.5")}) != canonical({"speed": Decimal("7.51")})
