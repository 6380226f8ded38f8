"""File lists of METS and PREMIS, by the schemas of the Library of Congress (from memory)."""

import pytest

from tailsout.mapping.foreign_lists import FileClaim, ForeignList, read

SPACES = {
    "PREMIS 3": "http://www.loc.gov/premis/v3",
    "PREMIS 2": "info:lc/xmlns/premis-v2",
}


def premis(space: str) -> bytes:
    return (
        f'<premis xmlns="{space}"><object><objectIdentifier><objectIdentifierValue>u-1'
        "</objectIdentifierValue></objectIdentifier><objectCharacteristics>"
        "<fixity><messageDigestAlgorithm>SHA-256</messageDigestAlgorithm>"
        "<messageDigest>AB</messageDigest></fixity>"
        "<fixity><messageDigestAlgorithm>MD5</messageDigestAlgorithm>"
        "<messageDigest>cd</messageDigest></fixity></objectCharacteristics>"
        "<originalName>data/a%20b.wav</originalName></object>"
        "<object><originalName>a thing without a digest</originalName></object></premis>"
    ).encode()


@pytest.mark.parametrize("standard", SPACES)
def test_premis(standard: str) -> None:
    told = read(premis(SPACES[standard]), "p.xml")
    claim = FileClaim(names=("u-1", "data/a b.wav"), digests=(("sha256", "ab"), ("md5", "cd")))
    assert told == ForeignList(standard=standard, files=(claim,))


def test_mets_1() -> None:
    told = read(
        b'<m:mets xmlns:m="http://www.loc.gov/METS/" xmlns:x="http://www.w3.org/1999/xlink">'
        b'<m:fileSec><m:fileGrp><m:fileGrp><m:file CHECKSUM="AB" CHECKSUMTYPE="SHA-512">'
        b'<m:FLocat x:href="./data/a.wav"/></m:file><m:file/></m:fileGrp></m:fileGrp></m:fileSec>'
        b"</m:mets>",
        "m.xml",
    )
    claim = FileClaim(names=("data/a.wav",), digests=(("sha512", "ab"),), is_a_path=True)
    assert told == ForeignList(standard="METS 1", files=(claim,))


def test_mets_2() -> None:
    told = read(
        b'<mets xmlns="http://www.loc.gov/METS/v2"><fileSec><fileGrp>'
        b'<file><FLocat LOCREF="a.wav"/></file></fileGrp></fileSec></mets>',
        "m.xml",
    )
    claim = FileClaim(names=("a.wav",), digests=(), is_a_path=True)
    assert told == ForeignList(standard="METS 2", files=(claim,))


def test_pbcore_is_known_by_its_name_alone() -> None:
    space = "http://www.pbcore.org/PBCore/PBCoreNamespace.html"
    content = f'<pbcoreDescriptionDocument xmlns="{space}"/>'.encode()
    assert read(content, "p.xml") == ForeignList(standard="PBCore")


@pytest.mark.parametrize("content", [b"<mets/>", b'<x xmlns="urn:x"/>'])
def test_what_is_none_of_them(content: bytes) -> None:
    assert read(content, "m.xml") == ForeignList(standard="")


@pytest.mark.parametrize("content", [b"", b"<mets", b"<!DOCTYPE a [<!ENTITY b 'c'>]><a>&b;</a>"])
def test_what_cannot_be_read(content: bytes) -> None:
    told = read(content, "m.xml")
    assert told.standard == ""
    assert told.trouble
