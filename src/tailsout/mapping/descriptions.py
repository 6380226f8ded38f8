"""Descriptions in XML as records: METS 1 and 2, PREMIS 3, PBCore 2, Dublin Core; anybody's.

A document of other namespaces is somebody else's, and none of our business. What no schema can
hold a document to is gathered: where references lead, what files are named and how, which dates
there are.
"""

from collections.abc import Iterator, Mapping
from functools import lru_cache
from itertools import islice

from tailsout.ground.findings import Finding, Place
from tailsout.ground.units import printable
from tailsout.mapping import text_formats, xml
from tailsout.mapping.addresses import leads_out, path_at
from tailsout.mapping.xml import Element, Official
from tailsout.mapping.xml_texts import texts_of
from tailsout.records.description import Departure, DescribedFile, Description, Loose, Moment

NAMESPACES = {
    "http://www.loc.gov/METS/": "METS",
    "http://www.loc.gov/METS/v2": "METS",
    "http://www.loc.gov/premis/v3": "PREMIS",
    "http://www.pbcore.org/PBCore/PBCoreNamespace.html": "PBCore",
    "http://purl.org/dc/elements/1.1/": "Dublin Core",
}
_REFERENCES = ("ADMID", "DMDID", "FILEID", "MDID", "STRUCTID")
_HREF = "{http://www.w3.org/1999/xlink}href"
_ENTITIES = ("object", "event", "agent", "rightsStatement")
_LINKS = {
    "linkingObject": "object",
    "relatedObject": "object",
    "linkingEnvironment": "object",
    "linkingEvent": "event",
    "relatedEvent": "event",
    "linkingAgent": "agent",
    "linkingRightsStatement": "rightsStatement",
}
_DATES = (
    "eventDateTime",
    "dateCreatedByApplication",
    "copyrightStatusDeterminationDate",
    "endDate",
    "preservationLevelDateAssigned",
    "startDate",
    "statuteInformationDeterminationDate",
)
"""Everything that PREMIS 3.0 has as `edtfSimpleType`."""
_MOST = 100_000
"""Most files, references and dates that are looked at in one document."""


def official(documents: Mapping[str, bytes]) -> Official:
    """Make one of the official schemas of a folder. Raises MaterialError as `Official`."""
    return Official(documents, NAMESPACES)


def read(
    content: bytes, path: str, schemas_at_hand: Official | None = None
) -> tuple[Description | None, tuple[Finding, ...]]:
    """Read a document: the record, or none, and what was met.

    A document that names none of the namespaces is none of these.
    """
    if not any(one.encode() in content for one in NAMESPACES):
        return None, ()
    root, found = xml.read(content, Place(file=printable(path)), most_octets=xml.MAX_OCTETS)
    if root is None:
        return None, found
    every = tuple(root.iter())
    met: dict[str, list[Element]] = {}
    for one in every:
        if (standard := NAMESPACES.get(_namespace(one))) is not None:
            met.setdefault(standard, []).append(one)
    if not met:
        return None, ()
    mets, premis = met.get("METS", []), met.get("PREMIS", [])
    files = (*_mets_files(mets, path), *_premis_files(premis))
    return (
        Description(
            path=path,
            standards=tuple(met),
            files=files[:_MOST],
            loose=(*_loose_in_mets(mets, _ids(every)), *_loose_in_premis(premis))[:_MOST],
            outside=tuple(_outside(mets, path))[:_MOST],
            dates=tuple(_dates(premis))[:_MOST],
            departures=_departures(root, schemas_at_hand),
            all_text=texts_of(every),
            lists_payload=any(_local(one) == "fileSec" for one in every),
        ),
        found,
    )


def _departures(root: Element, at_hand: Official | None) -> tuple[Departure, ...] | None:
    if at_hand is None or _namespace(root) not in at_hand.namespaces:
        return None
    found = (Departure(line=line, text=text) for line, text in at_hand.faults(root))
    return tuple(islice(found, _MOST))


@lru_cache(maxsize=1000)
def _parted(tag: str) -> tuple[str, str]:
    """Return namespace and local name; a document has thousands of elements of a few names."""
    head, _, local = tag.rpartition("}")
    return head.removeprefix("{"), local


def _namespace(one: Element) -> str:
    return _parted(one.tag)[0]


def _local(one: Element) -> str:
    return _parted(one.tag)[1]


def _inside(one: Element, name: str) -> Iterator[Element]:
    """Yield the elements of a name that stand directly in another one.

    What lies deeper is not sought: elements within elements would be walked once for each of them.
    """
    return (inner for inner in one if _local(inner) == name)


def _texts(one: Element, name: str) -> Iterator[str]:
    return (inner.text.strip() for inner in _inside(one, name) if inner.text)


def _mets_files(mets: list[Element], path: str) -> Iterator[DescribedFile]:
    folder = path.rpartition("/")[0]
    for one in mets:
        if _local(one) != "file":
            continue
        places = (inner for inner in one if _local(inner) == "FLocat")
        addresses = map(_address, places)
        where = next((found for a in addresses if a and (found := path_at(a, folder))), None)
        if where is None:
            continue
        size, digest = one.attrib.get("SIZE"), one.attrib.get("CHECKSUM")
        algorithm = one.attrib.get("CHECKSUMTYPE")
        yield DescribedFile(
            path=where,
            line=one.sourceline or 0,
            octets=_whole(size),
            digests=((algorithm, digest.strip()),) if algorithm and digest else (),
        )


def _address(one: Element) -> str | None:
    return one.attrib.get(_HREF) or one.attrib.get("LOCREF")


def _outside(mets: list[Element], path: str) -> Iterator[Loose]:
    folder = path.rpartition("/")[0]
    for one in mets:
        to = _address(one)
        if to and leads_out(to, folder):
            yield Loose(line=one.sourceline or 0, kind=_local(one), to=to)


def _premis_files(premis: list[Element]) -> Iterator[DescribedFile]:
    for one in premis:
        if _local(one) != "object":
            continue
        names = (
            name
            for identifier in _inside(one, "objectIdentifier")
            for name in _texts(identifier, "objectIdentifierValue")
        )
        where = next((name for name in names if name.startswith("data/")), None)
        if where is None:
            continue
        characteristics = [*_inside(one, "objectCharacteristics")]
        yield DescribedFile(
            path=where,
            line=one.sourceline or 0,
            octets=next(
                (_whole(s) for of_it in characteristics for s in _texts(of_it, "size")), None
            ),
            digests=tuple(
                pair
                for of_it in characteristics
                for fixity in _inside(of_it, "fixity")
                # PREMIS has one of each in it; a thousand of each are not a million of pairs.
                for pair in zip(
                    _texts(fixity, "messageDigestAlgorithm"),
                    _texts(fixity, "messageDigest"),
                    strict=False,
                )
            ),
        )


def _whole(text: str | None) -> int | None:
    shown = (text or "").strip()
    return int(shown) if shown.isascii() and shown.isdecimal() and len(shown) < 20 else None


def _ids(every: tuple[Element, ...]) -> set[str]:
    return {one.attrib["ID"] for one in every if "ID" in one.attrib}


def _loose_in_mets(mets: list[Element], known: set[str]) -> Iterator[Loose]:
    for one in mets:
        for name in _REFERENCES:
            for key in one.attrib.get(name, "").split():
                if key not in known:
                    yield Loose(line=one.sourceline or 0, kind=name, to=key)


def _loose_in_premis(premis: list[Element]) -> Iterator[Loose]:
    known = {sort: set[str]() for sort in _ENTITIES}
    for one in premis:
        sort = _local(one).removesuffix("IdentifierValue")
        if sort in known and one.text:
            known[sort].add(one.text.strip())
    for one in premis:
        link = _local(one).removesuffix("IdentifierValue")
        if link not in _LINKS or not one.text:
            continue
        there = known[_LINKS[link]]
        # Where none of a sort is told of, they are told of in another document.
        if there and one.text.strip() not in there:
            yield Loose(line=one.sourceline or 0, kind=link, to=one.text.strip())


def _dates(premis: list[Element]) -> Iterator[Moment]:
    of = ""
    for one in premis:
        if _local(one) == "eventType":
            of = (one.text or "").strip()
        if _local(one) in _DATES:
            when = (one.text or "").strip()
            what = of if _local(one) == "eventDateTime" else _local(one)
            known = text_formats.is_edtf(when)
            yield Moment(line=one.sourceline or 0, of=what, when=when, is_edtf=known)
