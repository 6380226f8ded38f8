"""A package as part of a work on several reels: bag-info.txt and what people state of it."""

import re
from collections.abc import Iterator

from tailsout.ground.findings import Finding, Kind, Place, Severity
from tailsout.ground.units import printable
from tailsout.records.dossier import Dossier
from tailsout.records.facts import InfoLine
from tailsout.rules.rule import Rule, package_of, transfer_of

PART_BEYOND = Kind(
    code="work-part-beyond",
    severity=Severity.QUERY,
    title="A package is numbered beyond the number of parts",
    basis="own rule: no part has a number above the number of parts",
    remedy="Say in work.part and work.parts which package of how many this is.",
)
COUNT_ODD = Kind(
    code="bag-count-odd",
    severity=Severity.QUERY,
    title="Bag-Count is not `N of T`, or N is beyond T",
    basis="RFC 8493 §2.2.2: Bag-Count, two numbers, the second may be a question mark",
    remedy="Ask the sender which bag of how many this is.",
)
COUNT_ALONE = Kind(
    code="bag-count-alone",
    severity=Severity.NOTE,
    title="Bag-Count stands without Bag-Group-Identifier",
    basis="RFC 8493 §2.2.2: where Bag-Count is used, Bag-Group-Identifier should be too",
    remedy="Nothing to do; look elsewhere for which bags belong together.",
)
GROUP_DIFFERS = Kind(
    code="bag-group-differs",
    severity=Severity.QUERY,
    title="bag-info.txt and the side-car name another work or another part of it",
    basis="own rule: what is stated twice is stated alike",
    remedy="Ask the sender which of the two holds.",
)

_COUNT = re.compile(r"([0-9]{1,9}) of ([0-9]{1,9}|\?)", re.ASCII)


def _stated(dossier: Dossier) -> Iterator[Finding]:
    work = transfer_of(dossier).work
    if work is None or work.part is None or work.parts is None or work.part <= work.parts:
        return
    text = f"it is stated to be part {work.part} of {work.parts}."
    yield PART_BEYOND.at(dossier.place("/work/part"), text)


def _lines(dossier: Dossier, label: str) -> list[InfoLine]:
    info = package_of(dossier).bag_info
    return [line for line in info if line.label.casefold() == label.casefold()]


def _counted(dossier: Dossier) -> Iterator[Finding]:
    counts = _lines(dossier, "Bag-Count")
    for line in counts:
        place = Place(file=line.file, line=line.line)
        said = _COUNT.fullmatch(line.value)
        beyond = said and said[2] != "?" and not 1 <= int(said[1]) <= int(said[2])
        if not said or beyond:
            yield COUNT_ODD.at(
                place, f"it reads {printable(line.value, 100)!r}, and not as `2 of 5` does."
            )
    if counts and not _lines(dossier, "Bag-Group-Identifier"):
        place = Place(file=counts[0].file, line=counts[0].line)
        yield COUNT_ALONE.at(place, "no line says which bags it counts.")


def _agrees(dossier: Dossier) -> Iterator[Finding]:
    work = transfer_of(dossier).work
    if work is None:
        return
    stated = " ".join(work.id.split())
    for line in _lines(dossier, "Bag-Group-Identifier"):
        if line.value != stated:
            place = Place(file=line.file, line=line.line)
            shown = printable(line.value, 100)
            yield GROUP_DIFFERS.at(place, f"it reads {shown!r}, the side-car {stated!r}.")
    for line in _lines(dossier, "Bag-Count"):
        said = _COUNT.fullmatch(line.value)
        if said and work.part is not None and int(said[1]) != work.part:
            place = Place(file=line.file, line=line.line)
            yield GROUP_DIFFERS.at(
                place, f"it reads {line.value!r}, the side-car part {work.part}."
            )


RULES = (
    Rule(
        name="parts of a work as stated",
        kinds=(PART_BEYOND,),
        needs=frozenset({"statements"}),
        run=_stated,
    ),
    Rule(
        name="parts of a work as counted in bag-info.txt",
        kinds=(COUNT_ODD, COUNT_ALONE),
        needs=frozenset({"structure"}),
        run=_counted,
    ),
    Rule(
        name="bag-info.txt against what is stated of the work",
        kinds=(GROUP_DIFFERS,),
        needs=frozenset({"structure", "statements"}),
        run=_agrees,
    ),
)
