"""Hours of tape contact since a machine was cared for, as its logbook counts them."""

from collections.abc import Iterator, Mapping

from tailsout.ground.findings import Finding, Kind, Severity
from tailsout.ground.units import plain, printable
from tailsout.records.dossier import Dossier
from tailsout.records.vocab import CareKind
from tailsout.rules.rule import Rule, transfer_of

CARE_LONG_AGO = Kind(
    code="care-long-ago",
    severity=Severity.NOTE,
    title="The machine had run long since it was last cleaned or demagnetised",
    basis="common practice, no source: clean after 10 hours of contact at the latest, demagnetise "
    "after 20",
    remedy="Nothing to do afterwards; the machine's own manual decides.",
)
_AT_MOST_HOURS: Mapping[CareKind, int] = {"cleaned": 10, "demagnetised": 20}


def _care(dossier: Dossier) -> Iterator[Finding]:
    for m, machine in enumerate(transfer_of(dossier).machines):
        for h, one in enumerate(machine.hours_since):
            most = _AT_MOST_HOURS.get(one.since)
            if most is not None and one.at_least_hours > most:
                text = (
                    f"machine {printable(machine.id)!r} had run {plain(one.at_least_hours)} hours "
                    f"or more since it was {one.since}."
                )
                yield CARE_LONG_AGO.at(dossier.place(f"/machines/{m}/hours_since/{h}"), text)


RULES = (
    Rule(
        name="hours of contact",
        kinds=(CARE_LONG_AGO,),
        needs=frozenset({"statements"}),
        run=_care,
    ),
)
