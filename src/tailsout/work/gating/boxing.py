"""Before a reel goes into its box: the free end, the marks, the ends, photographs, the way back."""

from collections.abc import Iterator

from tailsout.ground.findings import Finding
from tailsout.ground.units import printable
from tailsout.records.dossier import Dossier
from tailsout.records.gate import Entry, Part
from tailsout.records.reel import Event, Reel
from tailsout.records.transfer import Transfer
from tailsout.records.vocab import EventKind
from tailsout.work.gating.kinds import (
    END_OUT,
    FREE_END,
    OPENING,
    PHOTOGRAPHS,
    REEL_PAIR,
    REMARKING,
    RETURN,
)

_MOST_SAID = 200


def unsaid(dossier: Dossier, transfer: Transfer) -> Iterator[Finding]:
    """Yield what nobody has said yet; a word for why it is not known counts as said."""
    reel = transfer.reel
    events, custody = dossier.place("/reel/events"), dossier.place("/reel/custody")
    held = _of(reel, "free end held down")
    if not held:
        yield FREE_END.at(events, "is the free end held, and with what?")
    elif not any(one.opens_how or "opens_how" in one.absent for one in held):
        yield OPENING.at(events, "how does what holds the free end open?")
    if not _of(reel, "re-marking"):
        yield REMARKING.at(events, "were box and reel marked anew?")
    if not _says(reel, "end_out_on_leaving"):
        yield END_OUT.at(dossier.place("/reel/end_out_on_leaving"), "which end is out?")
    if not (_says(reel, "images") or any(e.images for e in _of(reel, "photography"))):
        yield PHOTOGRAPHS.at(dossier.place("/reel/images"), "which photographs are there?")
    if not _says(reel, "original_reel"):
        text = "does the tape lie on the reel it came on?"
        yield REEL_PAIR.at(dossier.place("/reel/original_reel"), text)
    if not any(_is_ahead(one.holder, one.to_date) for one in reel.custody):
        yield RETURN.at(custody, _to_whom(transfer))


def told(transfer: Transfer) -> Part:
    """Return what has been said, with blanks for what has not."""
    reel = transfer.reel
    held = _of(reel, "free end held down")
    marked = _of(reel, "re-marking")
    images = [one for e in _of(reel, "photography") for one in e.images]
    count = len(reel.images) + len(images)
    ahead = [one for one in reel.custody if _is_ahead(one.holder, one.to_date)]
    entries = (
        Entry(label="free end held by", says=_words(*(e.held_with for e in held))),
        Entry(label="it opens", says=_words(*(e.opens_how for e in held))),
        Entry(label="marked anew", says=_words(*(e.new_text or e.outcome for e in marked))),
        Entry(label="END OUT", says=_value(reel, "end_out_on_leaving")),
        Entry(label="last motion", says=_value(reel, "last_motion")),
        Entry(label="photographs", says=f"{count} named" if count else reel.absent.get("images")),
        Entry(label="on which reel", says=_value(reel, "original_reel")),
        Entry(label="goes to", says=_words(*(one.holder for one in ahead))),
    )
    return Part(title="THE REEL AS IT LEAVES", entries=entries)


def _to_whom(transfer: Transfer) -> str:
    asked = transfer.commission.asked_by if transfer.commission is not None else None
    hint = f" ({printable(asked, 80)} asked for the transfer)" if asked else ""
    return f"to whom and where does the reel go{hint}?"


def _is_ahead(holder: str | None, to_date: str | None) -> bool:
    """Tell whether an entry of custody is the one that has not ended."""
    return holder is not None and to_date is None


def _of(reel: Reel, kind: EventKind) -> list[Event]:
    return [event for event in reel.events if event.kind == kind]


def _says(reel: Reel, key: str) -> bool:
    return bool(getattr(reel, key)) or key in reel.absent


def _value(reel: Reel, key: str) -> str | None:
    value: str | None = getattr(reel, key)
    return value if value is not None else reel.absent.get(key)


def _words(*parts: str | None) -> str | None:
    return printable(", ".join(part for part in parts if part), _MOST_SAID) or None
