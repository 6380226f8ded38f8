"""What stands in the masters' own fields against the texts that the recipient wants there."""

from collections.abc import Iterator

from tailsout.ground.findings import Finding, Place
from tailsout.ground.units import printable
from tailsout.mapping.embedded import DESCRIPTION_LENGTH, ORIGINATOR_LENGTH
from tailsout.mapping.embedded_texts import EMBEDDED_TEXT, left_out, made, texts_for
from tailsout.mapping.history import ascii_reduced
from tailsout.records.dossier import Dossier, FileRecord
from tailsout.records.facts import Embedded
from tailsout.rules.rule import Rule, transfer_of


def _texts(dossier: Dossier) -> Iterator[Finding]:
    # A capture's own header is not what the recipient gets.
    for file in dossier.files if dossier.origin == "received" else ():
        if file.sidecar is None:
            continue
        texts = texts_for(transfer_of(dossier), file)
        yield from left_out(texts, file.path)
        for (chunk, name), text in made(texts).items():
            wanted = ascii_reduced(text)
            if chunk == "bext" and file.embedded is not None:
                found, most = _field(file.embedded, name)
                wanted = wanted[:most].rstrip()
                said = [found]
            else:
                said = _entries(file, name) if chunk == "INFO" else [""]
            if wanted and wanted not in said:
                shown = f"{printable(said[0], 100)!r}" if said and said[0] else "nothing"
                place = Place(file=printable(file.path), part=f"{chunk}.{name}")
                told = f"it says {shown}; wanted is {printable(wanted, 260)!r}."
                yield EMBEDDED_TEXT.at(place, told)


def _field(said: Embedded, name: str) -> tuple[str, int]:
    """Return what stands in a field of bext, and how long it may be (EBU Tech 3285 v2 §2.3)."""
    return {
        "Description": (said.description, DESCRIPTION_LENGTH),
        "Originator": (said.originator, ORIGINATOR_LENGTH),
        "OriginatorReference": (said.originator_reference, ORIGINATOR_LENGTH),
    }.get(name, ("", 0))


def _entries(file: FileRecord, name: str) -> list[str]:
    return [one.text for one in (file.tags.info if file.tags else ()) if one.id == name]


RULES = (
    Rule(
        name="texts that the recipient wants in the masters",
        kinds=(EMBEDDED_TEXT,),
        needs=frozenset({"statements", "headers"}),
        run=_texts,
    ),
)
