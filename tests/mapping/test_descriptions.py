"""Descriptions of strangers read: what they name, where they point, which dates they have."""

from pathlib import Path
from typing import Any

import pytest

from tailsout.ground.errors import MaterialError
from tailsout.ground.findings import Finding
from tailsout.mapping import text_formats
from tailsout.mapping.descriptions import official, read
from tailsout.records.description import Departure, DescribedFile, Description, Loose, Moment

METS = '<mets xmlns="http://www.loc.gov/METS/" xmlns:xlink="http://www.w3.org/1999/xlink">{}</mets>'
PREMIS = (
    '<premis xmlns="http://www.loc.gov/premis/v3" '
    'xmlns:xsi="http://www.w3.org/2001/XMLSchema-instance" version="3.0">{}</premis>'
)


def told(document: str, path: str = "metadata/mets.xml") -> Description:
    found, met = read(document.encode(), path)
    assert met == ()
    assert found is not None
    return found


def met(content: bytes) -> tuple[Finding, ...]:
    found, findings = read(content, "metadata/mets.xml")
    assert found is None
    return findings


def file(href: str, more: str = "") -> str:
    return (
        f'<fileSec><fileGrp><file ID="f" {more}><FLocat LOCTYPE="URL" xlink:href="{href}"/>'
        "</file></fileGrp></fileSec>"
    )


def test_a_file_section_is_read() -> None:
    one = told(METS.format(file("../data/a%20b.wav", 'SIZE="5" CHECKSUM="AB" CHECKSUMTYPE="MD5"')))
    assert one.standards == ("METS",)
    assert one.lists_payload
    assert one.files == (
        DescribedFile(path="data/a b.wav", line=1, octets=5, digests=(("MD5", "AB"),)),
    )


@pytest.mark.parametrize(
    ("href", "path"),
    [
        ("../data/x", ["data/x"]),
        ("../data/../data/./x#t=1", ["data/x"]),
        ("x.txt", ["metadata/x.txt"]),
        ("../../elsewhere", []),
        ("/etc/passwd", []),
        ("http://example.org/x", []),
        ("file:///etc/passwd", []),
        ("urn:x:y", []),
    ],
)
def test_an_address_leads_into_the_package_or_nowhere(href: str, path: list[str]) -> None:
    assert [one.path for one in told(METS.format(file(href))).files] == path


@pytest.mark.parametrize(
    ("href", "is_outside"),
    [
        ("../../elsewhere", True),
        ("../%2e%2E/elsewhere", True),
        ("/etc/passwd", True),
        ("//host/share", True),
        ("file:///etc/passwd", True),
        ("FILE:/etc/passwd", True),
        ("file:x", False),
        ("http://example.org/../../x", False),
        ("urn:x:y", False),
        ("../data/../x", False),
        ("", False),
    ],
)
def test_an_address_that_leads_out_is_told(href: str, is_outside: bool) -> None:
    pointer = f'\n<mptr xmlns:xlink="http://www.w3.org/1999/xlink" xlink:href="{href}"/>'
    for document, line, kind in ((file(href), 1, "FLocat"), (pointer, 2, "mptr")):
        expected = (Loose(line=line, kind=kind, to=href),) if is_outside else ()
        assert told(METS.format(document)).outside == expected


def test_an_address_of_mets_2_that_leads_out_is_told() -> None:
    inside = '<fileSec><file><FLocat LOCTYPE="URL" LOCREF="../../x"/></file></fileSec>'
    one = told(f'<mets xmlns="http://www.loc.gov/METS/v2">{inside}</mets>')
    assert one.outside == (Loose(line=1, kind="FLocat", to="../../x"),)


@pytest.mark.parametrize("size", ["", "many", "-1", "1.5", "9" * 30])
def test_what_is_no_size_is_none(size: str) -> None:
    (one,) = told(METS.format(file("../data/x", f'SIZE="{size}"'))).files
    assert one.octets is None


def test_references_that_lead_to_nothing_are_told() -> None:
    one = told(METS.format('\n<div ID="a" ADMID="a b" DMDID="c"/>'))
    assert one.loose == (
        Loose(line=2, kind="ADMID", to="b"),
        Loose(line=2, kind="DMDID", to="c"),
    )


def link(name: str, value: str) -> str:
    return f"<{name}IdentifierValue>{value}</{name}IdentifierValue>"


def test_links_of_premis_that_lead_to_nothing_are_told() -> None:
    body = link("object", "o") + link("agent", "g") + link("linkingObject", "o")
    assert told(PREMIS.format(body)).loose == ()
    one = told(PREMIS.format(body + link("linkingAgent", "h")))
    assert one.loose == (Loose(line=1, kind="linkingAgent", to="h"),)


def test_what_is_told_of_in_another_document_is_not_looked_for() -> None:
    assert told(PREMIS.format(link("event", "e") + link("linkingAgent", "h"))).loose == ()


def test_dates_are_read_with_what_they_are_of() -> None:
    body = (
        "<event><eventType>creation</eventType><eventDateTime>1961-12~</eventDateTime></event>"
        "<event><eventType>packaging</eventType><eventDateTime>tuesday</eventDateTime></event>"
    )
    assert told(PREMIS.format(body)).dates == (
        Moment(line=1, of="creation", when="1961-12~", is_edtf=True),
        Moment(line=1, of="packaging", when="tuesday", is_edtf=False),
    )


@pytest.mark.parametrize("name", ["startDate", "endDate", "copyrightStatusDeterminationDate"])
def test_dates_of_rights_are_read_too(name: str) -> None:
    one = told(PREMIS.format(f"<{name}>tuesday</{name}>"))
    assert one.dates == (Moment(line=1, of=name, when="tuesday", is_edtf=False),)


@pytest.mark.parametrize(
    ("when", "is_edtf"),
    [
        ("2026-03-14", True),
        ("2026-03-14T10:20:00Z", True),
        ("XXXX", True),
        ("1961/..", True),
        ("2026-02-30", False),
        ("2026-03-14T10:20", False),
        ("", False),
        ("1" * 1000, False),
        ("195X/1961-11~", True),
        ("2004-XX/2005", True),
        ("/1970", True),
        ("../1970", True),
        ("../10", False),
        ("/..", False),
        ("[1960,1962]/1970", False),
        ("2026-03-14T10:20:00Z/2026-03-15", False),
        ("1960/1961/1962", False),
    ],
)
def test_edtf(when: str, is_edtf: bool, capsys: pytest.CaptureFixture[str]) -> None:
    """Extended Date/Time Format Specification (Library of Congress, 2019), levels 0 to 2."""
    body = f"<event><eventDateTime>{when}</eventDateTime></event>"
    (one,) = told(PREMIS.format(body)).dates
    assert one.is_edtf is is_edtf
    assert capsys.readouterr().out == ""


@pytest.mark.parametrize("text", ["10", "1\u0661", "1961^", "[1961", "{X..}", "^-XX-XX", "197!"])
def test_whatever_stands_for_a_date_breaks_nothing(text: str) -> None:
    assert not text_formats.is_edtf(f"{text}/")
    assert not text_formats.is_edtf(f"../{text}")


def test_a_file_of_premis_is_known_by_its_path() -> None:
    body = (
        f'<object xsi:type="file"><objectIdentifier>{link("object", "data/x")}</objectIdentifier>'
        "<objectCharacteristics><fixity><messageDigestAlgorithm>SHA-256</messageDigestAlgorithm>"
        "<messageDigest> ab </messageDigest></fixity><size>7</size></objectCharacteristics>"
        "</object>"
    )
    one = told(PREMIS.format(body))
    assert one.files == (
        DescribedFile(path="data/x", line=1, octets=7, digests=(("SHA-256", "ab"),)),
    )
    assert not one.lists_payload


def test_a_thousand_digests_of_a_file_are_not_a_million() -> None:
    one = (
        "<messageDigestAlgorithm>SHA-256</messageDigestAlgorithm><messageDigest>ab</messageDigest>"
    )
    body = (
        f"<object><objectIdentifier>{link('object', 'data/x')}</objectIdentifier>"
        f"<objectCharacteristics><fixity>{one * 1000}</fixity></objectCharacteristics></object>"
    )
    (described,) = told(PREMIS.format(body)).files
    assert described.digests == (("SHA-256", "ab"),) * 1000


@pytest.mark.parametrize(
    "content",
    [
        b"",
        b"<html/>",
        b"<!DOCTYPE html><html>",
        b"<a>http://www.loc.gov/METS/</a>",
        b"\xff\xfe<\x00",
    ],
)
def test_what_is_no_description_is_no_business_of_ours(content: bytes) -> None:
    assert read(content, "data/x.xml") == (None, ())


@pytest.mark.parametrize(
    ("content", "code"),
    [
        ("<!DOCTYPE mets><mets xmlns='http://www.loc.gov/METS/'/>", "xml-unsafe"),
        ("<mets xmlns='http://www.loc.gov/METS/'>", "xml-malformed"),
        (f"<m xmlns='http://www.loc.gov/METS/'>{'<a>' * 200}{'</a>' * 200}</m>", "xml-too-large"),
    ],
)
def test_a_description_that_cannot_be_read_is_told(content: Any, code: str) -> None:
    assert [one.code for one in met(content.encode())] == [code]


XSD = """<xs:schema xmlns:xs="http://www.w3.org/2001/XMLSchema"
  targetNamespace="http://www.loc.gov/METS/" elementFormDefault="qualified">{}</xs:schema>"""
ONE_ELEMENT = XSD.format('<xs:element name="mets"><xs:complexType/></xs:element>').encode()


def test_a_document_is_held_to_a_schema_that_is_at_hand() -> None:
    at_hand = official({"m.xsd": ONE_ELEMENT})
    good, _ = read(METS.format("").encode(), "m.xml", at_hand)
    assert good is not None
    assert good.departures == ()
    bad, _ = read(METS.format("\n<div/>").encode(), "m.xml", at_hand)
    assert bad is not None
    assert isinstance(bad.departures, tuple)
    departure, *_ = bad.departures
    assert departure.line in {1, 2}
    assert "element" in departure.text.lower()
    assert isinstance(departure, Departure)
    other, _ = read(PREMIS.format("").encode(), "p.xml", at_hand)
    assert other is not None
    assert other.departures is None


def test_what_a_schema_imports_is_taken_from_the_same_folder() -> None:
    importing = XSD.format(
        '<xs:import namespace="urn:x" schemaLocation="http://www.loc.gov/standards/x/xlink.xsd"/>'
        '<xs:element name="mets" xmlns:x="urn:x" type="x:none"/>'
    ).encode()
    imported = (
        b'<xs:schema xmlns:xs="http://www.w3.org/2001/XMLSchema" targetNamespace="urn:x">'
        b'<xs:complexType name="none"/></xs:schema>'
    )
    for name in ("xlink.xsd", "xlink-loc.xsd"):
        at_hand = official({"m.xsd": importing, name: imported})
        found, _ = read(METS.format("").encode(), "m.xml", at_hand)
        assert found is not None
        assert found.departures == ()
    with pytest.raises(MaterialError, match=r"do not fit together: .*/x/xlink\.xsd is not there\."):
        official({"m.xsd": importing})


@pytest.mark.parametrize(
    "how", ['include schemaLocation="', 'import namespace="x" schemaLocation="']
)
def test_no_schema_is_taken_from_elsewhere_on_the_disk(how: str, tmp_path: Path) -> None:
    elsewhere = tmp_path / "elsewhere.xsd"
    elsewhere.write_text(XSD.format(""), "utf-8")
    naming_it = XSD.format(f'<xs:{how}{elsewhere}"/><xs:element name="mets"/>').encode()
    with pytest.raises(MaterialError, match=r"elsewhere\.xsd is not there"):
        official({"m.xsd": naming_it})


def test_what_is_no_schema_stops_the_work() -> None:
    with pytest.raises(MaterialError, match=r"broken\.xsd is not a schema"):
        official({"broken.xsd": b"<xs:schema"})
