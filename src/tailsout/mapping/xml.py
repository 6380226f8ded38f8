"""XML from strangers and XML of ours: the one door (W3C XML 1.0, Namespaces in XML 1.0).

A stranger's document is read without a document type, so it has no entities but the five that XML
itself has, and nothing is fetched, included or transformed. Sizes, depth and counts are bounded
before the parser sees them; comments and processing instructions are left out. UTF-8, UTF-16 with
a byte-order mark, US-ASCII and ISO-8859-1 are read.
"""

import copy
import re
from collections.abc import Collection, Iterable, Iterator, Mapping
from typing import Protocol

from lxml import etree

from tailsout.ground.errors import MaterialError
from tailsout.ground.findings import Finding, Kind, Place, Severity
from tailsout.ground.units import printable
from tailsout.wave import xmlchunks

MAX_OCTETS = 64 << 20
"""Most octets of any document; a chunk's are bounded by `xmlchunks.MAX_OCTETS`."""
MAX_DEPTH = 100
MAX_MARKS = 250_000
"""Most `<` and most `=`: there are no more elements and attributes than those."""

XML_UNSAFE = Kind(
    code="xml-unsafe",
    severity=Severity.MEND,
    title="An XML document brings a document type of its own, so it is not read",
    basis="own rule: a document type can make XML grow without bound, or reach for other files",
    remedy="Ask the sender for XML that stands on its own.",
)
XML_MALFORMED = Kind(
    code="xml-malformed",
    severity=Severity.QUERY,
    title="An XML document is not well-formed, so what it says is not known",
    basis="XML 1.0 §2.1; §4.3.3 for encodings",
    remedy="Whoever wrote it can say what was meant; it is kept as it is.",
)
XML_TOO_LARGE = Kind(
    code="xml-too-large",
    severity=Severity.NOTE,
    title="An XML document is larger than this program reads",
    basis="our limit: what describes a recording is small, and has few levels",
    remedy="What it says was not examined; a program made for such documents can read it.",
)
KINDS = (XML_UNSAFE, XML_MALFORMED, XML_TOO_LARGE)

_BOMS = ((b"\xef\xbb\xbf", "utf-8"), (b"\xff\xfe", "utf-16-le"), (b"\xfe\xff", "utf-16-be"))
_CODECS = {"utf-8": "utf-8", "us-ascii": "ascii", "iso-8859-1": "latin-1"}
"""Encodings that need no byte-order mark."""

_BLANK = r"[ \t\r\n]"
_DECLARATION = re.compile(
    rf"<\?xml{_BLANK}++version{_BLANK}*+={_BLANK}*+(?:'1\.[0-9]++'|\"1\.[0-9]++\")"
    rf"(?:{_BLANK}++encoding{_BLANK}*+={_BLANK}*+(?:'(?P<one>[\w.-]++)'|\"(?P<two>[\w.-]++)\"))?"
    rf"(?:{_BLANK}++standalone{_BLANK}*+={_BLANK}*+(?:'(?:yes|no)'|\"(?:yes|no)\"))?"
    rf"{_BLANK}*+\?>",
    re.ASCII,
)
_BEFORE_ROOT = re.compile(rf"(?:{_BLANK}++|<!--.*?-->|<\?.*?\?>)*+", re.DOTALL)
_XSD = "http://www.w3.org/2001/XMLSchema"
_NO_XML = re.compile("[^\t\n\r -\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
"""What no XML document can hold (XML 1.0 §2.2)."""


class Element(Protocol):
    """One element of a tree: as much of the library's as is used."""

    @property
    def tag(self) -> str:
        """The name, as `{namespace}local` or `local`."""

    @property
    def text(self) -> str | None:
        """What stands before the first child."""

    @property
    def tail(self) -> str | None:
        """What stands between its end and what follows it."""

    @property
    def sourceline(self) -> int | None:
        """The line of the document where it begins, from 1."""

    @property
    def attrib(self) -> Mapping[str, str]:
        """The attributes by name."""

    def find(self, path: str, /) -> "Element | None":
        """Return the first element at a path of names."""

    def findall(self, path: str, /) -> "list[Element]":
        """Return every element at a path of names."""

    def iter(self) -> "Iterator[Element]":
        """Yield it and every element within it, in the order of the document."""

    def __iter__(self) -> "Iterator[Element]": ...


def read(
    content: bytes, place: Place, *, most_octets: int = xmlchunks.MAX_OCTETS
) -> tuple[Element | None, tuple[Finding, ...]]:
    """Read a document of at most `most_octets`, never of more than 64 MiB: its root, or why not."""
    most_octets = min(most_octets, MAX_OCTETS)
    if len(content) > most_octets:
        text = f"it holds {len(content)} octets, up to {most_octets} are read."
        return None, (XML_TOO_LARGE.at(place, text),)
    document, fault = _decoded(content)
    if fault:
        return None, (XML_MALFORMED.at(place, fault),)
    before_root = _BEFORE_ROOT.match(document)
    if before_root and document.startswith("<!DOCTYPE", before_root.end()):
        return None, (XML_UNSAFE.at(place, "it begins with a DOCTYPE."),)
    if max(document.count("<"), document.count("=")) > MAX_MARKS:
        text = f"it holds more than {MAX_MARKS} elements or attributes."
        return None, (XML_TOO_LARGE.at(place, text),)
    return _parsed(document, place)


def element(
    tag: str,
    content: str | Iterable[Element] = "",
    *,
    attributes: Mapping[str, str] | None = None,
    prefixes: Mapping[str | None, str] | None = None,
) -> Element:
    """Make an element with text or children; `prefixes` name the namespaces in a root.

    Raises MaterialError for text that holds characters that no XML document can.
    """
    made = etree.Element(tag, nsmap=prefixes)
    for name, value in (attributes or {}).items():
        made.set(name, _allowed(value))
    if isinstance(content, str):
        made.text = _allowed(content) or None
    else:
        made.extend(content)
    return made  # type: ignore[no-any-return]  # the library has no types


def holdable(text: str) -> str:
    """Return a text with what no XML document can hold replaced by U+FFFD."""
    return _NO_XML.sub("\ufffd", text)


def write(root: Element) -> bytes:
    """Return the document of a tree: UTF-8, declared, indented, ended by LF."""
    tree = copy.deepcopy(root)
    etree.indent(tree)
    body: bytes = etree.tostring(tree, encoding="UTF-8", xml_declaration=False)
    return b'<?xml version="1.0" encoding="UTF-8"?>\n' + body + b"\n"


class Official:
    """Official schemas (W3C XML Schema 1.0) of a folder as one, so that what is wrapped counts too.

    Only what is in the folder is read; nothing is fetched.
    """

    def __init__(self, documents: Mapping[str, bytes], namespaces: Collection[str]) -> None:
        """`documents` are the schemas by file name, `namespaces` those of which one is wanted.

        Raises MaterialError if they cannot be used together.
        """
        parser = etree.XMLParser(resolve_entities=False, no_network=True, load_dtd=False)
        folder = _Folder(documents)
        parser.resolvers.add(folder)
        found: dict[str, str] = {}
        for name in sorted(documents):
            try:
                target = etree.fromstring(documents[name], parser).get("targetNamespace")
            except etree.XMLSyntaxError as error:
                raise MaterialError(f"{printable(name)} is not a schema.") from error
            if target in namespaces:
                found.setdefault(target, name)
        self.namespaces = frozenset(found)
        driver = etree.Element(f"{{{_XSD}}}schema")
        for target, name in found.items():
            etree.SubElement(driver, f"{{{_XSD}}}import", namespace=target, schemaLocation=name)
        whole = etree.fromstring(etree.tostring(driver), parser)
        try:
            self._schema = etree.XMLSchema(whole)
        except etree.XMLSchemaParseError as error:
            why = f"{folder.missing[0]} is not there." if folder.missing else str(error)
            raise MaterialError(
                f"The official schemas do not fit together: {printable(why, 300)}",
                "Put every schema that they import into the same folder.",
            ) from error

    def faults(self, root: Element) -> Iterator[tuple[int, str]]:
        """Yield line and text of every place where a document departs from them."""
        if not self._schema.validate(root):
            for one in self._schema.error_log:
                yield one.line, printable(" ".join(one.message.split()), 300)


class _Folder(etree.Resolver):  # type: ignore[misc]  # the library has no types
    """Finds what a schema imports by the last part of its address."""

    def __init__(self, documents: Mapping[str, bytes]) -> None:
        super().__init__()
        self._documents = documents
        self.missing: list[str] = []

    def resolve(self, url: str, public_id: object, context: object) -> object:
        del public_id
        name = url.rpartition("/")[2]
        # The schema of METS imports a flavour of XLink that others have under another name.
        content = self._documents.get(name) or self._documents.get(name.replace(".", "-loc."))
        if content is None:
            self.missing.append(url)
            # Danger: with no answer, or an empty one, the library looks for the file on this disk.
            return self.resolve_string(b" ", context)
        return self.resolve_string(content, context, base_url=name)


def _decoded(content: bytes) -> tuple[str, str]:
    """Return the text without its byte-order mark, or what is wrong with its encoding."""
    mark, marked = next(((m, c) for m, c in _BOMS if content.startswith(m)), (b"", ""))
    body = content[len(mark) :]
    # ASCII is alike in all of them but UTF-16, so that the declaration can be read before.
    start = body.decode(marked if marked.startswith("utf-16") else "latin-1", "replace")
    declaration = _DECLARATION.match(start)
    if start.startswith("<?xml") and start[5:6] in set(" \t\r\n?") and declaration is None:
        return "", "it begins with a declaration that is not one of XML 1.0."
    stated = (declaration["one"] or declaration["two"] or "") if declaration else ""
    named = stated.lower()
    if named not in {"", "utf-16", *_CODECS}:
        return "", f"it is in the encoding {printable(stated, 40)}, which is not read."
    if (marked and named and not marked.startswith(named)) or (named == "utf-16" and not marked):
        return "", f"it says that it is {stated}, and its first octets do not."
    codec = marked or _CODECS[named or "utf-8"]
    try:
        text = body.decode(codec)
    except UnicodeDecodeError as error:
        return "", f"it is not {stated or 'UTF-8'} at octet {len(mark) + error.start}."
    # Danger: a parser may take NUL for the end, or skip a second mark and see what we did not.
    if "\0" in text or text.startswith("\ufeff"):
        return "", "it holds NUL, or a second byte-order mark."
    return text, ""


def _parsed(document: str, place: Place) -> tuple[Element | None, tuple[Finding, ...]]:
    parser = etree.XMLParser(
        encoding="utf-8",  # whatever the declaration says: that has been seen to
        resolve_entities=False,
        no_network=True,
        load_dtd=False,
        dtd_validation=False,
        attribute_defaults=False,
        huge_tree=False,
        collect_ids=False,
        remove_comments=True,
        remove_pis=True,
    )
    try:
        root = etree.fromstring(document.encode("utf-8"), parser)
    except etree.XMLSyntaxError as error:
        what = printable(" ".join(str(error.msg).split()), 300)
        if error.code in {etree.ErrorTypes.ERR_RESOURCE_LIMIT, etree.ErrorTypes.ERR_NAME_TOO_LONG}:
            return None, (XML_TOO_LARGE.at(place, f"{what}."),)
        return None, (XML_MALFORMED.at(place, f"{what}."),)
    if root.getroottree().docinfo.internalDTD is not None:
        return None, (XML_UNSAFE.at(place, "it has a DOCTYPE."),)
    depth = 0
    for event, _ in etree.iterwalk(root, events=("start", "end")):
        depth += 1 if event == "start" else -1
        if depth > MAX_DEPTH:
            text = f"its elements stand deeper than {MAX_DEPTH} levels in each other."
            return None, (XML_TOO_LARGE.at(place, text),)
    return root, ()


def _allowed(text: str) -> str:
    found = _NO_XML.search(text)
    if found is not None:
        raise MaterialError(
            f"{printable(text, 60)!r} holds U+{ord(found[0]):04X}, which XML cannot hold.",
            "Take the character out.",
        )
    return text
