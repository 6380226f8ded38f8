"""What the bag's reader observed, weighed: refused, to mend, to ask, or only to note.

One kind a word of `records.observations`; the code is that word with `bag-` before it.
"""

from collections.abc import Iterator

from tailsout.ground.findings import Finding, Kind, Place, Severity, Verdict
from tailsout.ground.units import printable
from tailsout.records.dossier import Dossier
from tailsout.records.observations import OBSERVATIONS
from tailsout.rules import archives, receipts
from tailsout.rules.rule import SEAL_ANEW, Rule, package_of

_ASK = "Ask the sender for the package again."
_UNSAFE = "Do not open, copy or unpack it with other tools; ask the sender what it is."
_LIMIT = "What lies beyond the limit was not judged; nothing is said about it either way."
_SENDER = "Ask the sender whether this is intended."
_NOTHING = "Nothing to do."


def _kinds(
    severity: Severity, remedy: str, titles: dict[str, str], leads_to: Verdict | None = None
) -> dict[str, Kind]:
    return {
        word: Kind(
            code=f"bag-{word}",
            severity=severity,
            title=title,
            basis=OBSERVATIONS[word],
            remedy=remedy,
            leads_to=leads_to,
        )
        for word, title in titles.items()
    }


_TAG_FILES = {
    **_kinds(
        Severity.MEND,
        SEAL_ANEW,
        {
            "bagit-txt-malformed": "bagit.txt is not as it should be",
            "version-unknown": "The bag is of a version that is not known",
            "encoding-not-allowed": "The tag files are declared in an encoding that is not read",
            "tag-file-undecodable": "A tag file is not in the encoding it declares",
            "bom": "A tag file begins with a byte-order mark",
            "manifest-line-malformed": "A manifest line is not a digest and path",
            "digest-malformed": "A digest has the wrong length or letters",
            "path-outside-payload": "A manifest lists a path that it may not",
            "listed-twice": "A manifest lists a file twice",
            "fetch-line-malformed": "A line of fetch.txt cannot be read",
            "fetch-not-listed": "A file to be fetched is in no manifest",
            "bag-info-malformed": "A line of bag-info.txt cannot be read",
            "oxum-malformed": "Payload-Oxum is not two numbers",
            "oxum-repeated": "Payload-Oxum stands more than once",
        },
    ),
    **_kinds(
        Severity.QUERY,
        _SENDER,
        {
            "algorithm-unknown": "A manifest uses an algorithm that cannot be verified here",
            "manifest-marker": "A path is marked as checksum tools do, which others may not read",
            "percent-raw": "A name with a percent sign is not written as this version asks",
        },
    ),
}
OF_TAG_FILES = frozenset(_TAG_FILES.values())
"""What is wrong in how the bag's own files are written; the payload may be as it was sent."""

KIND_OF: dict[str, Kind] = {
    **_TAG_FILES,
    **_kinds(
        Severity.MEND,
        _UNSAFE,
        {
            "path-unsafe": "A listed path could lead out of the bag",
            "link": "There is a symbolic link in the bag",
            "special-file": "There is a pipe, socket or device in the bag",
            "swapped": "A file was put in another's place while the bag was read",
            "fetch-unsafe": "fetch.txt names an address that is not to be followed",
            "archive-escape": "A path in the archive leads out of it",
            "archive-link": "There is a link in the archive",
            "archive-special": "There is a device, a sparse file or the like in the archive",
            "archive-twice": "Two members of the archive get in each other's way",
            "archive-overlap": "Two members of the archive share octets",
            "archive-ambiguous": "Two programs may find different things in the archive",
        },
        Verdict.REFUSED,
    ),
    **_kinds(
        Severity.QUERY,
        _LIMIT,
        {
            "tag-file-too-large": "A tag file is larger than this program reads",
            "line-too-long": "A line is longer than this program reads",
            "too-deep": "Folders nest deeper than this program follows",
            "too-many": "There are more files than this program looks at",
            "unreadable": "A folder or file could not be read",
            "archive-beyond-limits": "The archive holds more than this program unpacks",
        },
        Verdict.NOT_EXAMINED,
    ),
    **_kinds(
        Severity.MEND,
        _ASK,
        {
            "no-payload-directory": "There is no data folder",
            "no-payload-manifest": "There is no payload manifest",
            "to-be-fetched": "A file was left to be fetched from elsewhere",
            "fetch-length-differs": "A file is not as long as fetch.txt says",
            "archive-damaged": "The archive is damaged",
            "archive-method": "A member of the archive is encrypted or packed in an unusual way",
            "archive-base": "The archive does not hold one package and nothing else",
        },
    ),
    **_kinds(
        Severity.MEND,
        "See whether the right folder was named; if so, ask the sender for the package again.",
        {"no-bagit-txt": "There is no bagit.txt: this is not a bag"},
    ),
    **_kinds(
        Severity.QUERY,
        _SENDER,
        {
            "payload-empty": "The bag has no payload",
            "name-twins": "Two names differ only in case or in Unicode form",
            "name-controls": "A name holds control or direction characters",
            "archive-name-differs": "Archive and package are not named alike",
            "archive-name-encoding": "A name in the archive is of no stated encoding",
            "archive-trailing": "Something stands after the end of the archive",
        },
    ),
    **_kinds(
        Severity.NOTE,
        _NOTHING,
        {
            "encoding-not-utf8": "The tag files are not in UTF-8",
            "line-unended": "The last line of a tag file has no end",
            "listed-again": "A manifest lists a file twice, with one digest",
            "name-mixed-scripts": "A name mixes letters of scripts that look alike",
            "element-repeated": "An element of bag-info.txt stands more than once",
            "element-malformed": "An element of bag-info.txt is not of its form",
            "digest-upper-case": "A digest is written in upper case",
            "name-form-differs": "List and disk spell a name in different Unicode forms",
            "hard-link": "A file has more than one name on its disk",
            "empty-directory": "A folder is empty; bags do not record folders",
            "name-undecodable": "A name is not UTF-8",
            "name-not-portable": "A name cannot be held by some systems",
            "hidden-file": "A hidden file lies in the bag",
            "fetch-txt": "The bag has a fetch.txt; nothing is ever fetched",
        },
    ),
}


def _structure(dossier: Dossier) -> Iterator[Finding]:
    for seen in package_of(dossier).observations:
        place = Place(file=printable(seen.file), line=seen.line)
        kind = KIND_OF[seen.kind]
        yield kind.at(place, printable(seen.text) or f"{kind.title}.")
    yield from archives.beside(dossier)
    yield from receipts.beside(package_of(dossier))


RULES = (
    Rule(
        name="structure of the bag",
        kinds=(*KIND_OF.values(), *archives.KINDS, *receipts.KINDS),
        needs=frozenset({"structure"}),
        run=_structure,
        decides=True,
    ),
)
