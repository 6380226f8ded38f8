"""Personal data that slipped into free text: addresses, telephone numbers, home folders.

Only what nobody declared is told: a studio's address for questions is meant to travel. Shelf
marks, dates, durations and order numbers are numbers too, so a telephone number is taken for one
only behind `+` or behind a word for telephone. What was found is not repeated: reports travel.
"""

import re
from collections.abc import Iterator

from tailsout.ground.findings import Finding, Kind, Place, Severity
from tailsout.ground.units import printable
from tailsout.mapping.plain import plain
from tailsout.records.dossier import Dossier, FileRecord
from tailsout.rules.rule import Rule, bounded

PERSONAL = Kind(
    code="personal-data",
    severity=Severity.NOTE,
    title="A text holds an e-mail address, a telephone number or somebody's home folder",
    basis="common practice, no source: what travels with a recording is read by many",
    remedy="Whoever wrote it decides whether it may travel; the studio's contact stands in its "
    "form.",
)

_MAIL = re.compile(r"[\w.+-]{1,64}@(?:[\w-]{1,63}\.)+[^\W\d_]{2,24}\b")
_PHONE = re.compile(
    r"(?<![\w+.])\+[1-9](?:[ ()\-]{0,3}\d|/(?=\d)){7,14}(?![\w.])"
    r"|\b(?:tel|telephone|phone|mobile|mob|telefon|fon|fax)\b[.:]{0,2} ?"
    r"\(?\d(?:[ ()/\-]{0,3}\d){5,14}",
    re.IGNORECASE,
)
_HOME = re.compile(
    r"\b[a-z]:[\\/]+(?:users|documents and settings)[\\/]+"
    r"(?!public\b|default\b|all users\b)[^\\/\s]+"
    r"|(?<![\w.])/(?:home|Users)/(?!Shared\b)[^/\s]+",
    re.IGNORECASE,
)
_SIGNS = re.compile(r"[@+]|:[\\/]|tel|phone|mob|fon|fax|/(?:home|users)/")
"""One of these stands in every match of the three, without regard to case."""
_A_HOME = "the path of somebody's home folder"
_LONGEST = 100_000
"""Characters of one text that are looked at."""
_CONTACTS = frozenset({"contact-name", "contact-phone", "contact-email"})
"""Elements of bag-info.txt that are there for it (RFC 8493 §2.2.2)."""


def _personal(dossier: Dossier) -> Iterator[Finding]:
    declared = _declared(dossier)
    yield from bounded(_stated(dossier, declared))
    # Documents repeat what is stated: of these the statement alone is told.
    known = declared | _of_statements(dossier)
    for place, text, allowed in (
        *_of_files(dossier, declared, known),
        *((Place(file=printable(one.path)), one.all_text, known) for one in dossier.descriptions),
        *((Place(file=printable(path)), text, known) for path, text in dossier.papers.items()),
    ):
        for what in _found(text, allowed):
            yield PERSONAL.at(place, f"it holds {what}.")


def _of_files(
    dossier: Dossier, declared: frozenset[str], known: frozenset[str]
) -> Iterator[tuple[Place, str, frozenset[str]]]:
    """Yield what the chunks of each file say, where, and what may stand in it."""
    for file in dossier.files:
        for part, text in _embedded(file):
            yield Place(file=printable(file.path), part=part), text, declared
        for document in file.tags.documents if file.tags is not None else ():
            part = printable(document.chunk, 8)
            yield Place(file=printable(file.path), part=part), document.all_text, known


def _of_statements(dossier: Dossier) -> frozenset[str]:
    """Return what is told of the statements, as it is compared."""
    stated = plain(dossier.transfer) if dossier.transfer is not None else None
    texts = (text[:_LONGEST] for _, text in _texts(stated))
    return frozenset(bare for text in texts for bare, _ in _every(text))


def _stated(dossier: Dossier, declared: frozenset[str]) -> Iterator[Finding]:
    if dossier.transfer is None:
        return
    for pointer, text in _texts(plain(dossier.transfer)):
        for what in _found(text, declared):
            yield PERSONAL.at(dossier.place(pointer), f"it holds {what}.")


def _declared(dossier: Dossier) -> frozenset[str]:
    """Return what is meant to travel, in lower case and without what parts a number."""
    package, transfer = dossier.package, dossier.transfer
    lines = package.bag_info if package is not None else ()
    texts = [one.value for one in lines if one.label.casefold() in _CONTACTS]
    texts += [transfer.studio.contact_email or ""] if transfer is not None else []
    return frozenset(bare for text in texts for bare, what in _every(text) if what != _A_HOME)


def _every(text: str) -> Iterator[tuple[str, str]]:
    """Yield what is somebody's own, as it is compared, and what it is.

    An address is compared without regard to case, of a telephone number its digits.
    """
    # The patterns try every letter, and no match goes beyond a line: few are worth trying.
    lines = [one for one in dict.fromkeys(text.split("\n")) if _SIGNS.search(one.casefold())]
    for found in _matches(_MAIL, lines):
        yield found[0].casefold(), "an e-mail address"
    for found in _matches(_PHONE, lines):
        yield "".join(re.findall(r"\d", found[0])), "a telephone number"
    for found in _matches(_HOME, lines):
        yield found[0].casefold(), _A_HOME


def _matches(pattern: re.Pattern[str], lines: list[str]) -> Iterator[re.Match[str]]:
    for line in lines:
        yield from pattern.finditer(line)


def _found(text: str, allowed: frozenset[str]) -> Iterator[str]:
    every = _every(text[:_LONGEST])
    yield from dict.fromkeys(what for bare, what in every if bare not in allowed)


def _texts(transfer: object) -> Iterator[tuple[str, str]]:
    """Yield every text that is stated, with its pointer."""
    waiting: list[tuple[str, object]] = [("", transfer)]
    while waiting:
        at, one = waiting.pop()
        if isinstance(one, dict):
            waiting += [(f"{at}/{key}", inside) for key, inside in one.items() if key != "absent"]
        elif isinstance(one, list):
            waiting += [(f"{at}/{index}", inside) for index, inside in enumerate(one)]
        elif isinstance(one, str):
            yield at, one


def _embedded(file: FileRecord) -> Iterator[tuple[str, str]]:
    """Yield what a file says of itself, with the chunk and field that says it."""
    said, tags = file.embedded, file.tags
    if said is not None:
        yield "bext.Description", said.description
        yield "bext.Originator", said.originator
        yield "bext.OriginatorReference", said.originator_reference
        for line in said.coding_history:
            yield "bext.CodingHistory", ",".join(value for _, value in line.parameters)
    if tags is None:
        return
    for one in tags.info:
        yield f"INFO.{printable(one.id, 8)}", one.text
    for mark in tags.marks:
        yield "cue", f"{mark.label} {mark.note} {mark.text}"
    for field, text in tags.cart.texts.items() if tags.cart is not None else ():
        yield f"cart.{printable(field, 40)}", text


RULES = (
    Rule(
        name="personal data",
        kinds=(PERSONAL,),
        needs=frozenset({"headers"}),
        run=_personal,
    ),
)
