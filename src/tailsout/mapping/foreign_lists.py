"""What documents of other standards say of the files they describe: METS 1 and 2, PREMIS 2 and 3.

Only lists of files and their digests are read here. PBCore is known by its name; it has no place of
its own for digests.
"""

import re
from collections.abc import Iterator
from dataclasses import dataclass

from tailsout.ground.findings import Place
from tailsout.mapping import xml
from tailsout.mapping.xml import Element

MAX_OCTETS = xml.MAX_OCTETS
_METS = {"{http://www.loc.gov/METS/}": "METS 1", "{http://www.loc.gov/METS/v2}": "METS 2"}
_PREMIS = {"{http://www.loc.gov/premis/v3}": "PREMIS 3", "{info:lc/xmlns/premis-v2}": "PREMIS 2"}
_PBCORE = "{http://www.pbcore.org/PBCore/PBCoreNamespace.html}"
_HREF = "{http://www.w3.org/1999/xlink}href"


@dataclass(frozen=True, slots=True, kw_only=True)
class FileClaim:
    """One file as a document describes it."""

    names: tuple[str, ...]
    """What it is called: paths or mere names, percent codes taken away."""
    digests: tuple[tuple[str, str], ...]
    """Algorithm as BagIt spells it, and lower-case hex."""
    is_a_path: bool = False
    """A name says where the file lies now; else it may be one that it had before."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ForeignList:
    """What one document is, and the files it lists."""

    standard: str
    """Empty if it is none of those that are known here."""
    files: tuple[FileClaim, ...] = ()
    trouble: str = ""
    """Why it could not be read."""


def read(content: bytes, name: str) -> ForeignList:
    """Read a document from the file called `name`."""
    root, findings = xml.read(content, Place(file=name), most_octets=MAX_OCTETS)
    if root is None:
        return ForeignList(standard="", trouble=findings[0].text)
    space = root.tag[: root.tag.find("}") + 1]
    if space in _METS:
        return ForeignList(standard=_METS[space], files=tuple(_mets(root, space)))
    if space in _PREMIS:
        return ForeignList(standard=_PREMIS[space], files=tuple(_premis(root, space)))
    return ForeignList(standard="PBCore" if space == _PBCORE else "")


def _mets(root: Element, space: str) -> Iterator[FileClaim]:
    for one in root.findall(f".//{space}file"):
        place = one.find(f"{space}FLocat")
        href = ""
        if place is not None:
            href = place.attrib.get(_HREF) or place.attrib.get("LOCREF") or ""
        digest = (one.attrib.get("CHECKSUMTYPE") or "", one.attrib.get("CHECKSUM") or "")
        if href:
            digests = tuple(_digests([digest]))
            yield FileClaim(names=(_path(href),), digests=digests, is_a_path=True)


def _premis(root: Element, space: str) -> Iterator[FileClaim]:
    for one in root.findall(f".//{space}object"):
        named = (
            *one.findall(f"{space}storage/{space}contentLocation/{space}contentLocationValue"),
            *one.findall(f"{space}objectIdentifier/{space}objectIdentifierValue"),
            *one.findall(f"{space}originalName"),
        )
        names = tuple(_path(_text(name)) for name in named if _text(name))
        told = [
            (
                _text(fixity.find(f"{space}messageDigestAlgorithm")),
                _text(fixity.find(f"{space}messageDigest")),
            )
            for fixity in one.findall(f"{space}objectCharacteristics/{space}fixity")
        ]
        if names and told:
            yield FileClaim(names=names, digests=tuple(_digests(told)))


def _digests(told: list[tuple[str, str]]) -> Iterator[tuple[str, str]]:
    for algorithm, digest in told:
        if digest:
            yield algorithm.strip().lower().replace("-", ""), digest.strip().lower()


def _text(one: Element | None) -> str:
    return (one.text or "").strip() if one is not None else ""


def _path(href: str) -> str:
    """Return a path without what makes an address of it."""
    bare = href.removeprefix("file://").removeprefix("./").encode("utf-8", "surrogateescape")
    octets = re.sub(rb"%([0-9A-Fa-f]{2})", lambda code: bytes.fromhex(code[1].decode()), bare)
    return octets.decode("utf-8", "surrogateescape")
