"""A person's answers to findings that asked for a decision.

Only a query can be answered: what must be mended is mended, and a note asks nothing. An answer is
tied to a code and a place that is the same in a job and in the package made of it.
"""

from collections.abc import Collection, Iterable
from dataclasses import replace

from tailsout.ground.findings import Finding, Kind, Place, Severity
from tailsout.ground.units import printable
from tailsout.mapping import naming
from tailsout.records.dossier import Dossier
from tailsout.records.statements import Answer

ANSWER_TO_NOTHING = Kind(
    code="answer-to-nothing",
    severity=Severity.QUERY,
    title="An answer belongs to no finding that can be answered",
    basis="own rule: an answer belongs to a query, at its place",
    remedy="Take the answer out, or correct its code and place; what must be mended is mended.",
)
KINDS = (ANSWER_TO_NOTHING,)


def is_answerable(kind: Kind) -> bool:
    """Tell whether findings of a kind ask for a decision that a person can give."""
    return kind.severity is Severity.QUERY and kind.leads_to is None


def apply(
    dossier: Dossier, findings: Iterable[Finding], elsewhere: Collection[str] = ()
) -> tuple[Finding, ...]:
    """Mark the queries that were answered, and add one for every answer to nothing.

    `elsewhere` holds the codes of questions that may have been asked of what this run did not look
    at; an answer to one of them is never an answer to nothing.
    """
    answers = dossier.transfer.answers if dossier.transfer else ()
    used: set[int] = set()
    told = []
    for finding in findings:
        if not is_answerable(finding.kind):
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
        if index not in used and answer.code not in elsewhere
    ]
    return tuple(told)


def key_of(dossier: Dossier, finding: Finding) -> tuple[str, str]:
    """Return code and place of a finding as an answer names them, whatever file it stands in."""
    place = finding.place
    pointer = _pointer(dossier, place)
    if pointer is not None:
        return finding.code, dotted(pointer)
    return finding.code, f"{_stem(dossier, place.file)} {place.part}".strip()


def _stem(dossier: Dossier, path: str) -> str:
    """Return by what a file is known in a job and in the package: the recorder's own name for it.

    A master may have another one, by its recipient's template.
    """
    for file in dossier.files if dossier.transfer is not None else ():
        names = (printable(file.path), printable(naming.sidecar_path(file.path)))
        if path in names and file.sources:
            return printable(naming.master_stem(file.sources[0].file))
    return path.rpartition("/")[2].rpartition(".")[0] or path


def _pointer(dossier: Dossier, place: Place) -> str | None:
    """Return where in the transfer a place lies, whichever form it was written in."""
    inside = [
        pointer + place.part.removeprefix(origin.part)
        for pointer, origin in dossier.places.items()
        if place.file == origin.file and place.part.startswith(origin.part)
    ]
    return max(inside, key=len, default=None)


def dotted(pointer: str) -> str:
    """Write a JSON pointer as `reel.sides[2].id`, counted from 1."""
    shown = ""
    for part in pointer.split("/")[1:]:
        shown += f"[{int(part) + 1}]" if part.isdecimal() else f".{part}"
    return printable(shown.removeprefix("."), 200)


def _shown(answer: Answer) -> str:
    text = f"{answer.decision} by {answer.by} on {answer.on}: {answer.reason}"
    return printable(text)
