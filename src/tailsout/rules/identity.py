"""Which reel it is: identifiers against each other, the package's name, box and list.

A studio may name packages as it likes, so a name is held against an identifier only where the two
are plainly of one series.
"""

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import get_args

from tailsout.ground.findings import Finding, Kind, Severity
from tailsout.ground.units import printable
from tailsout.records.dossier import Dossier
from tailsout.records.reel import Identifier
from tailsout.records.vocab import IdentifierKind
from tailsout.rules.rule import Rule, transfer_of

TWO_OF_A_KIND = Kind(
    code="identifiers-of-one-kind",
    severity=Severity.QUERY,
    title="One body gave a reel two shelf marks, barcodes or accession numbers",
    basis="own rule: of these a thing has one from each body; catalogue numbers may be several",
    remedy="The owner says which of the two holds, or which body gave which.",
)
PACKAGE_OF_ANOTHER = Kind(
    code="package-id-of-another-reel",
    severity=Severity.QUERY,
    title="The package is named in the manner of an identifier, by another number",
    basis="own rule: a name of the same letters and another number is that of another reel",
    remedy="The engineer says which number is right, before the name is given away.",
)
NAMED_OTHERWISE = Kind(
    code="identifier-differs-on-reel",
    severity=Severity.QUERY,
    title="Box, reel or list bears a number that is not among the reel's identifiers",
    basis="own rule: a word of the shape of an identifier is one; `found` says what became of it",
    remedy="Somebody who has the reel at hand says which reel is in which box.",
    needs_reel=True,
)

_ONE_EACH = frozenset[IdentifierKind]({"shelf mark", "barcode", "accession number"})
_LETTERS, _DIGITS = re.compile(r"[^\W\d_]{2,}"), re.compile(r"\d+")
_SHORTEST_BARCODE = 8
_MOST_NAMED = 5


def _kinds(dossier: Dossier) -> Iterator[Finding]:
    seen: dict[tuple[IdentifierKind, str], Identifier] = {}
    for i, one in enumerate(transfer_of(dossier).reel.identifiers):
        if one.kind not in _ONE_EACH:
            continue
        key = (one.kind, _folded(one.assigned_by or ""))
        first = seen.setdefault(key, one)
        if _folded(first.value) != _folded(one.value):
            place = dossier.place(f"/reel/identifiers/{i}")
            shown = f"{printable(first.value, 80)!r} and {printable(one.value, 80)!r}"
            yield TWO_OF_A_KIND.at(place, f"{one.kind} of the same body: {shown}.")


def _package(dossier: Dossier) -> Iterator[Finding]:
    transfer = transfer_of(dossier)
    name = transfer.package_id
    alike = [
        one.value
        for one in transfer.reel.identifiers
        if _words(one.value) & _words(name) and _numbers(one.value)
    ]
    numbers = _numbers(name)
    if not numbers or not alike:
        return
    if not any(_numbers(one) <= numbers or numbers <= _numbers(one) for one in alike):
        text = f"it is {printable(name, 80)!r}, the reel's identifiers are {_listed(alike)}."
        yield PACKAGE_OF_ANOTHER.at(dossier.place("/package_id"), text)


def _inscribed(dossier: Dossier) -> Iterator[Finding]:
    reel = transfer_of(dossier).reel
    known = _Known.of(one.value for one in reel.identifiers)
    for i, one in enumerate(reel.inscriptions):
        if one.found is not None:
            continue
        for word in known.others(one.text.split()):
            text = f"the {one.place} bears {word!r}, the identifiers are {known.listed}."
            yield NAMED_OTHERWISE.at(dossier.place(f"/reel/inscriptions/{i}"), text)
    about = ("identifier", *get_args(IdentifierKind)[:-1])
    for i, told in enumerate(reel.expectations):
        is_name = any(word in _folded(told.about) for word in about)
        if not is_name or told.found is not None or not known.names:
            continue
        if _folded(told.expected) not in known.names:
            said = printable(told.said_by or "somebody", 80)
            expected = printable(told.expected, 80)
            text = f"{said} expects {expected!r}, the identifiers are {known.listed}."
            yield NAMED_OTHERWISE.at(dossier.place(f"/reel/expectations/{i}"), text)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Known:
    """The identifiers of a reel, and what others of their series would look like."""

    names: frozenset[str]
    marks: frozenset[str]
    shapes: frozenset[str]
    series: frozenset[tuple[int, str]]
    listed: str

    @classmethod
    def of(cls, identifiers: Iterable[str]) -> "_Known":
        """Take them as they stand in the form."""
        known = list(identifiers)
        return cls(
            names=frozenset(map(_folded, known)),
            marks=frozenset(map(_mark, known)),
            shapes=frozenset(_shape(one) for one in known if _words(one) and _numbers(one)),
            series=frozenset(_series(one) for one in known if _is_code(one)),
            listed=_listed(known),
        )

    def others(self, words: Iterable[str]) -> Iterator[str]:
        """Yield the words that look like one of them and are none of them."""
        for word in (one.strip(".,;:()[]\"'") for one in words):
            of_a_series = _is_code(word) and _series(word) in self.series
            if _mark(word) not in self.marks and (of_a_series or _shape(word) in self.shapes):
                yield printable(word, 80)


def _is_code(text: str) -> bool:
    return text.isdecimal() and len(text) >= _SHORTEST_BARCODE


def _series(code: str) -> tuple[int, str]:
    """Return what barcodes of one roll have in common: their length and how they begin."""
    return len(code), code[: len(code) // 2 + 1]


def _listed(known: list[str]) -> str:
    more = f" and {len(known) - _MOST_NAMED} more" if len(known) > _MOST_NAMED else ""
    return ", ".join(repr(printable(one, 80)) for one in known[:_MOST_NAMED]) + more


def _folded(text: str) -> str:
    return " ".join(text.casefold().split())


def _shape(text: str) -> str:
    """Return a name with every number in it alike: SKL/8 and SKL/12 are of one shape."""
    return _DIGITS.sub("0", _folded(text))


def _mark(text: str) -> str:
    """Return a name with its numbers as numbers: SKL/08 is SKL/8."""
    return _DIGITS.sub(lambda found: found[0].lstrip("0") or "0", _folded(text))


def _words(text: str) -> frozenset[str]:
    return frozenset(_LETTERS.findall(_folded(text)))


def _numbers(text: str) -> frozenset[str]:
    return frozenset(one.lstrip("0") or "0" for one in _DIGITS.findall(text))


RULES = (
    Rule(
        name="identifiers of one kind",
        kinds=(TWO_OF_A_KIND,),
        needs=frozenset({"statements"}),
        run=_kinds,
    ),
    Rule(
        name="name of the package against identifiers",
        kinds=(PACKAGE_OF_ANOTHER,),
        needs=frozenset({"statements"}),
        run=_package,
    ),
    Rule(
        name="box, reel and list against identifiers",
        kinds=(NAMED_OTHERWISE,),
        needs=frozenset({"statements"}),
        run=_inscribed,
    ),
)
