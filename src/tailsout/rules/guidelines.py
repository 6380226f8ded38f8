"""What is advised of embedded metadata and not laid down: EBU R 98, and FADGI where asked for."""

import re
from collections.abc import Iterator

from tailsout.ground.findings import Finding, Kind, Place, Severity
from tailsout.ground.units import printable
from tailsout.mapping.embedded import follows_fadgi
from tailsout.records.dossier import Dossier, FileRecord
from tailsout.records.facts import Embedded
from tailsout.rules.rule import Rule, transfer_of

HISTORY_ODD = Kind(
    code="history-not-r98",
    severity=Severity.NOTE,
    title="CodingHistory is not written as the EBU recommends",
    basis="EBU R 98-1999: one line a process, KEY=value with commas between, each ended by CR LF",
    remedy="Nothing to do; it is kept as it is.",
)
FADGI_DEPARTS = Kind(
    code="fadgi-departs",
    severity=Severity.NOTE,
    title="A master departs from the FADGI guideline that its recipient asked for",
    basis="common practice, no source: the FADGI guideline on metadata in Broadcast WAVE (2012), "
    "as others quote it",
    remedy="Fill in what is missing in the job or in the recipient's form, and close again.",
)

_ORIGINATOR = re.compile(r"[A-Z]{2}, .+", re.ASCII)
_DAY = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", re.ASCII)
_HOUR = re.compile(r"[0-9]{2}:[0-9]{2}:[0-9]{2}", re.ASCII)


def _histories(dossier: Dossier) -> Iterator[Finding]:
    for file in dossier.files:
        remarks = file.tags.history_remarks if file.tags else ()
        if remarks:
            more = f" {len(remarks) - 1} more like it." if len(remarks) > 1 else ""
            place = Place(file=printable(file.path), part="bext.CodingHistory")
            yield HISTORY_ODD.at(place, printable(remarks[0]) + more)


def _fadgi(dossier: Dossier) -> Iterator[Finding]:
    # A capture's own header is not what the recipient gets.
    if dossier.origin != "received" or not follows_fadgi(transfer_of(dossier)):
        return
    for file in dossier.files:
        if file.sidecar is None or file.embedded is None:
            continue
        for field, text in _departures(file, file.embedded):
            yield FADGI_DEPARTS.at(Place(file=printable(file.path), part=field), text)


def _departures(file: FileRecord, said: Embedded) -> Iterator[tuple[str, str]]:
    if not _ORIGINATOR.fullmatch(said.originator):
        shown = printable(said.originator, 40)
        yield "bext.Originator", f"it reads {shown!r}, not a country code, a comma and a name."
    if not said.originator_reference.strip():
        yield "bext.OriginatorReference", "it is empty; it should identify the file."
    elif re.search(r"[/\\]", said.originator_reference):
        yield "bext.OriginatorReference", "it holds a path, which it should not."
    if not said.description.strip():
        yield "bext.Description", "it is empty; it should list identifiers."
    if not _DAY.fullmatch(said.origination_date):
        yield "bext.OriginationDate", "it is not written YYYY-MM-DD."
    if said.origination_time and not _HOUR.fullmatch(said.origination_time):
        yield "bext.OriginationTime", "it is not written HH:MM:SS."
    if not any(one.id == "IARL" for one in (file.tags.info if file.tags else ())):
        yield "INFO.IARL", "there is none; it should say where the item is archived."


RULES = (
    Rule(
        name="coding history against EBU R 98",
        kinds=(HISTORY_ODD,),
        needs=frozenset({"headers"}),
        run=_histories,
    ),
    Rule(
        name="guideline of the recipient",
        kinds=(FADGI_DEPARTS,),
        needs=frozenset({"statements", "headers"}),
        run=_fadgi,
    ),
)
