"""Texts that a recipient wants in fields of the masters: made of what is known, by template.

A template is written as one of names is, but may hold any letters and need not be read back.
"""

from collections.abc import Iterator, Mapping
from dataclasses import replace

from tailsout.ground.findings import Finding, Kind, Place, Severity
from tailsout.ground.units import printable
from tailsout.mapping.names.fields import Fault
from tailsout.mapping.names.filling import tell
from tailsout.mapping.names.template import pieces_of
from tailsout.mapping.names.values import Known, known_of
from tailsout.records.dossier import FileRecord
from tailsout.records.transfer import Transfer
from tailsout.records.vocab import TextChunk

EMBEDDED_TEXT = Kind(
    code="embedded-text-not-as-asked",
    severity=Severity.QUERY,
    title="A field of a master does not say what the recipient wants there",
    basis="own rule: the recipient's form asks for it in embedded",
    remedy="Fill in what the text is made of and close again, or amend the package; the recipient "
    "decides whether another text will do.",
)
KINDS = (EMBEDDED_TEXT,)

At = tuple[TextChunk, str]
"""Chunk, and the field or id in it."""


def fault_of(text: str) -> str:
    """Return why a text with fields can never be filled; empty if it can."""
    read = pieces_of(text)
    return read.text if isinstance(read, Fault) else ""


def texts_for(transfer: Transfer, file: FileRecord) -> Mapping[At, str | Fault]:
    """Return what the recipient wants in each field of a master, or why it cannot be said."""
    recipient = transfer.recipient
    if recipient is None or not recipient.embedded:
        return {}
    known = known_of(transfer, file)
    return {(one.chunk, one.field): _filled(one.text, known) for one in recipient.embedded}


def left_out(texts: Mapping[At, str | Fault], path: str) -> Iterator[Finding]:
    """Yield every text that cannot be said in the master at a path."""
    for (chunk, name), text in texts.items():
        if isinstance(text, Fault):
            place = Place(file=printable(path), part=f"{chunk}.{name}")
            yield EMBEDDED_TEXT.at(place, f"it is left as it would be without: {text.text}")


def made(texts: Mapping[At, str | Fault]) -> Mapping[At, str]:
    """Return the texts that can be said."""
    return {at: text for at, text in texts.items() if isinstance(text, str)}


def _filled(text: str, known: Known) -> str | Fault:
    told = tell(text, known.values)
    if isinstance(told, Fault) and told.key in known.why_not:
        return replace(told, text=f"{known.why_not[told.key]}.")
    return told
