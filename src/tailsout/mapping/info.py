"""Between a LIST INFO chunk (RIFF 1991 chapter 2) and our records: what a recipient wants in it."""

from collections.abc import Mapping, Sequence

from tailsout.ground.findings import Finding, Kind, Place, Severity
from tailsout.ground.units import printable
from tailsout.mapping.embedded import follows_fadgi, identifiers_of
from tailsout.mapping.history import ascii_reduced, machine_name
from tailsout.records.capture import Capture
from tailsout.records.playing import Pass
from tailsout.records.transfer import Transfer
from tailsout.records.vocab import InfoSource
from tailsout.wave.bext import Bext
from tailsout.wave.info import Entry

INFO_REDUCED = Kind(
    code="info-text-reduced",
    severity=Severity.NOTE,
    title="Text was reduced to ASCII to fit a LIST INFO chunk",
    basis="RIFF 1991 ch. 2: without a CSET chunk it is ISO 8859-1, which many readers do not take",
    remedy="Nothing to do: the full text stands in the side-car, or as it was captured beside it.",
)
KINDS = (INFO_REDUCED,)


def entries_for(
    transfer: Transfer,
    capture: Capture,
    *,
    made: Bext,
    software: str,
    asked: Mapping[str, str],
    own: Sequence[Entry],
    place: Place,
) -> tuple[tuple[Entry, ...], tuple[Finding, ...]]:
    """Return what the INFO of a master says: what is wanted, and what the capture's own said.

    `asked` are texts that were made for this master, by id; `own` are the entries of the capture,
    which give way where the recipient wants another text; `made` is the master's `bext`. Nothing
    is returned where neither has anything to say.
    """
    said: dict[str, list[str]] = {}
    for entry in own:
        texts = said.setdefault(entry.id, [])
        if entry.text and entry.text not in texts:
            texts.append(entry.text)
    for one_id, text in {**_wanted(transfer, capture, made, software), **asked}.items():
        said[one_id] = [text]
    findings = []
    entries = []
    for one_id, texts in said.items():
        # RIFF 1991 joins several texts of one id in this way.
        text = "; ".join(texts)
        reduced = ascii_reduced(text)
        if reduced != text:
            shown = f"{one_id} reads '{reduced}' for '{printable(text, 200)}'."
            findings.append(INFO_REDUCED.at(place, shown))
        if reduced:
            entries.append(Entry(id=one_id, text=reduced))
    return tuple(entries), tuple(findings)


def _wanted(transfer: Transfer, capture: Capture, made: Bext, software: str) -> dict[str, str]:
    """Return the texts that the recipient wants and that are known, by id."""
    wanted: dict[str, str] = {}
    if follows_fadgi(transfer):
        # The guideline recommends the archive's location, which repeats Originator (FADGI 2012,
        # as quoted by others).
        wanted["IARL"] = made.originator
    known = _known(transfer, capture, made, software)
    for entry in transfer.recipient.info if transfer.recipient else ():
        text = entry.text or (known[entry.says] if entry.says else None)
        if text:
            wanted[entry.id] = text
    return wanted


def _known(
    transfer: Transfer, capture: Capture, made: Bext, software: str
) -> Mapping[InfoSource, str | None]:
    one_pass = next((p for p in transfer.passes if p.id == capture.pass_id), None)
    return {
        "studio": transfer.studio.name,
        "recipient": transfer.recipient.name if transfer.recipient else None,
        "title": transfer.reel.title,
        "identifiers": "; ".join(identifiers_of(transfer)),
        "recorded": transfer.recording.when if transfer.recording else None,
        "rights": _rights(transfer),
        "operator": _operator(transfer, one_pass),
        "machine": _machine(transfer, one_pass),
        "stock": _stock(transfer),
        "software": software,
        "made on": made.origination_date,
        "note": transfer.note,
    }


def _rights(transfer: Transfer) -> str:
    rights = transfer.recording.rights if transfer.recording else None
    parts = (rights.statement, rights.holder, rights.restriction) if rights else ()
    return "; ".join(part for part in parts if part)


def _operator(transfer: Transfer, one_pass: Pass | None) -> str:
    by = one_pass.by if one_pass else None
    return next((p.name for p in transfer.people if p.id == by and p.name), by or "")


def _machine(transfer: Transfer, one_pass: Pass | None) -> str:
    used = one_pass.machine if one_pass else None
    return next((machine_name(m) for m in transfer.machines if m.id == used), "")


def _stock(transfer: Transfer) -> str:
    named = (" ".join(part for part in (s.maker, s.number) if part) for s in transfer.reel.stock)
    return "; ".join(dict.fromkeys(name for name in named if name))
