"""What may be done with the recording, and what is withheld."""

import re
from collections import deque
from collections.abc import Iterator

from tailsout.ground.findings import Finding, Kind, Severity
from tailsout.ground.units import printable
from tailsout.mapping.plain import plain
from tailsout.records.dossier import Dossier
from tailsout.rules.rule import Rule, transfer_of

OPEN_AND_SENSITIVE = Kind(
    code="rights-open-and-sensitive",
    severity=Severity.QUERY,
    title="The recording is stated to be free for all, and to be sensitive or restricted",
    basis="own rule: who takes a licence by its name does not read on",
    remedy="The owner says which of the two holds.",
)
SENSITIVITY_ALONE = Kind(
    code="sensitivity-alone",
    severity=Severity.NOTE,
    title="The recording is stated to be sensitive, and nothing says what may be done with it",
    basis="own rule: a flag asks for a rule",
    remedy="The owner may state a restriction.",
)
WITHHELD_UNEXPLAINED = Kind(
    code="withheld-unexplained",
    severity=Severity.NOTE,
    title="Something is withheld, and nothing says by which rule",
    basis="own rule: who meets a gap wants to know whether to ask",
    remedy="Whoever withheld it may say why in the rights, or in the sensitivity.",
)

_FREE = re.compile(
    r"creativecommons\.org/|/vocab/NoC-US\b|\bCC0\b|\bCC[ -]BY\b|\bpublic domain\b",
    re.IGNORECASE,
)
_NOT_FREE = re.compile(r"\b(not|no longer|never) (in )?(the )?public domain\b", re.IGNORECASE)


def _free(dossier: Dossier) -> Iterator[Finding]:
    recording = transfer_of(dossier).recording
    rights = recording.rights if recording is not None else None
    if recording is None:
        return
    statement = rights.statement if rights is not None else None
    restriction = rights.restriction if rights is not None else None
    if statement is not None and _FREE.search(statement) and not _NOT_FREE.search(statement):
        what = "restricted" if restriction is not None else "sensitive"
        if restriction is not None or recording.sensitivity is not None:
            text = f"it is {printable(statement, 100)!r}, and stated to be {what}."
            yield OPEN_AND_SENSITIVE.at(dossier.place("/recording/rights/statement"), text)
    is_ruled = rights is not None and (
        statement is not None or restriction is not None or rights.note is not None
    )
    if recording.sensitivity is not None and not is_ruled:
        text = "no statement, restriction or note of the rights stands beside it."
        yield SENSITIVITY_ALONE.at(dossier.place("/recording/sensitivity"), text)


def _withheld(dossier: Dossier) -> Iterator[Finding]:
    transfer = transfer_of(dossier)
    recording, amended = transfer.recording, dossier.amendments or ()
    rights = recording.rights if recording is not None else None
    asked = transfer.recipient is not None and bool(transfer.recipient.withheld)
    is_told = (
        asked
        or (recording is not None and recording.sensitivity is not None)
        or (rights is not None and (rights.restriction is not None or rights.note is not None))
        or any(change.change == "withheld" for one in amended for change in one.statements)
    )
    if is_told:
        return
    for pointer in _absences(plain(transfer)):
        text = "it is withheld; no rights, sensitivity, amendment or recipient says why."
        yield WITHHELD_UNEXPLAINED.at(dossier.place(pointer), text)
        return


def _absences(transfer: object) -> Iterator[str]:
    """Yield the pointers of what is withheld, in the order of the statements."""
    waiting: deque[tuple[str, object]] = deque([("", transfer)])
    while waiting:
        at, one = waiting.popleft()
        if isinstance(one, dict):
            for key, word in one.get("absent", {}).items():
                if word == "withheld":
                    yield f"{at}/{key}"
            waiting += [(f"{at}/{key}", inside) for key, inside in one.items() if key != "absent"]
        elif isinstance(one, list):
            waiting += [(f"{at}/{index}", inside) for index, inside in enumerate(one)]


RULES = (
    Rule(
        name="rights against sensitivity",
        kinds=(OPEN_AND_SENSITIVE, SENSITIVITY_ALONE),
        needs=frozenset({"statements"}),
        run=_free,
    ),
    Rule(
        name="what is withheld",
        kinds=(WITHHELD_UNEXPLAINED,),
        needs=frozenset({"statements"}),
        run=_withheld,
    ),
)
