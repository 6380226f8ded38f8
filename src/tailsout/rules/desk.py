"""What is still on the desk: jottings not filed, reels not played, transfers told afterwards."""

from collections.abc import Iterator

from tailsout.ground.findings import Finding, Kind, Severity
from tailsout.ground.units import printable
from tailsout.records.dossier import Dossier
from tailsout.rules.rule import Rule, transfer_of

JOTTING_UNFILED = Kind(
    code="jotting-unfiled",
    severity=Severity.NOTE,
    title="A jotting is not filed into an event",
    basis="own rule: what was jotted down at the machine is not lost",
    remedy="Give an event its time, or the stop of a pass its words; or leave it: it is packed as "
    "it stands.",
)
NOT_PLAYED = Kind(
    code="not-played-unexplained",
    severity=Severity.QUERY,
    title="A reel was not played, and nothing says why",
    basis="own rule: who comes next wants to know why there is no audio",
    remedy="Say why in not_played_because, or that nobody knows.",
)
RETROSPECTIVE = Kind(
    code="told-afterwards",
    severity=Severity.NOTE,
    title="The transfer was made before its record: what is unsaid was not recorded",
    basis="own rule: one note instead of one for every field",
    remedy="Nothing to do.",
)


def _jottings(dossier: Dossier) -> Iterator[Finding]:
    transfer = transfer_of(dossier)
    filed = {event.jotting for event in transfer.reel.events}
    reasons = [stop.reason for one in transfer.passes for stop in one.stops]
    for index, jotting in enumerate(transfer.jottings):
        if jotting.at not in filed and not any(jotting.text in reason for reason in reasons):
            text = printable(f"{jotting.at} {jotting.text}")
            yield JOTTING_UNFILED.at(dossier.place(f"/jottings/{index}"), text)


def _kind_of_job(dossier: Dossier) -> Iterator[Finding]:
    transfer = transfer_of(dossier)
    if transfer.kind == "retrospective":
        yield RETROSPECTIVE.at(dossier.place("/kind"), "what is unsaid here was not recorded.")
    is_unsaid = transfer.not_played_because is None and "not_played_because" not in transfer.absent
    if transfer.kind == "record only" and is_unsaid:
        yield NOT_PLAYED.at(dossier.place("/kind"), "the job is record only and gives no reason.")


RULES = (
    Rule(
        name="kind of job",
        kinds=(RETROSPECTIVE, NOT_PLAYED),
        needs=frozenset({"statements"}),
        run=_kind_of_job,
    ),
    Rule(
        name="jottings",
        kinds=(JOTTING_UNFILED,),
        needs=frozenset({"statements"}),
        run=_jottings,
    ),
)
