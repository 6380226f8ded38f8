"""A person's answers to findings that asked for a decision.

Only a query can be answered: what must be mended is mended, and a note asks nothing. An answer is
tied to a code and a place that is the same in a job and in the package made of it.
"""

from collections.abc import Iterable
from dataclasses import replace

from tailsout.ground.findings import Finding, Kind, Severity
from tailsout.ground.units import printable
from tailsout.records.dossier import Dossier
from tailsout.records.statements import Answer

ANSWER_TO_NOTHING = Kind(
    code="answer-to-nothing",
    severity=Severity.QUERY,
    title="An answer answers no finding that can be answered",
    basis="own rule: an answer belongs to a query, at its place",
    remedy="Take the answer out, or correct its code and place; what must be mended is mended.",
)
KINDS = (ANSWER_TO_NOTHING,)


def apply(dossier: Dossier, findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Mark the queries that were answered, and add one for every answer to nothing."""
    answers = dossier.transfer.answers if dossier.transfer else ()
    used: set[int] = set()
    told = []
    for finding in findings:
        if finding.kind.severity is not Severity.QUERY or finding.kind.leads_to is not None:
            told.append(finding)
            continue
        key = key_of(dossier, finding)
        found = next((i for i, a in enumerate(answers) if (a.code, a.place) == key), None)
        if found is not None:
            used.add(found)
        answered = _shown(answers[found]) if found is not None else ""
        told.append(replace(finding, answer_at=key[1], answered=answered))
    told += [
        ANSWER_TO_NOTHING.at(
            dossier.place(f"/answers/{index}"),
            f"there is no open question {printable(answer.code)!r} at {printable(answer.place)!r}.",
        )
        for index, answer in enumerate(answers)
        if index not in used
    ]
    return tuple(told)


def key_of(dossier: Dossier, finding: Finding) -> tuple[str, str]:
    """Return code and place of a finding as an answer names them, whatever file it stands in."""
    place = finding.place
    origin = dossier.places.get("")
    if origin is not None and place.file == origin.file:
        return finding.code, dotted(place.part.removeprefix(origin.part))
    stem = place.file.rpartition("/")[2].rpartition(".")[0] or place.file
    return finding.code, f"{stem} {place.part}".strip()


def dotted(pointer: str) -> str:
    """Write a JSON pointer as `reel.sides[2].id`, counted from 1."""
    shown = ""
    for part in pointer.split("/")[1:]:
        shown += f"[{int(part) + 1}]" if part.isdigit() else f".{part}"
    return printable(shown.removeprefix("."), 200)


def _shown(answer: Answer) -> str:
    text = f"{answer.decision} by {answer.by} on {answer.on}: {answer.reason}"
    return printable(text)
