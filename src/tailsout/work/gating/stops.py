"""Stop signs and cautions before a reel is threaded: they say who decides, never what to do."""

from collections.abc import Iterator
from dataclasses import replace

from tailsout.ground.findings import Finding
from tailsout.ground.units import printable
from tailsout.records.dossier import Dossier
from tailsout.records.reel import Event, StockSection
from tailsout.records.transfer import Transfer
from tailsout.rules import answers, carrier
from tailsout.work.gating.kinds import BASE_UNSETTLED

_STOPS = frozenset({carrier.HEAT_AND_BASE, carrier.STATE_UNSAID, BASE_UNSETTLED})
_AHEAD = frozenset({"proposed", "approved"})
_MONITORS = "Monitors down before tones and winding; see the monitor maker's manual."
_SOLVENTS = "Cleaning: the machine maker's manual decides; air the room; path dry before threading."
_DEMAGNETISER = (
    "Demagnetiser: machine off, tapes and cards in another room, nobody near who has a pacemaker "
    "or other implant; see its maker's manual."
)


def stops(dossier: Dossier, transfer: Transfer) -> Iterator[Finding]:
    """Yield what stands against threading, unless a person has answered it.

    Each section is looked at: one of another base may be spliced in anywhere.
    """
    ahead = _as_not_played(dossier, transfer)
    found = [one for rule in carrier.RULES for one in rule.run(ahead) if one.kind in _STOPS]
    if carrier.HEAT_AND_BASE not in {one.kind for one in found}:
        found += _bases(dossier, transfer)
    told = answers.apply(ahead, found)
    yield from (one for one in told if one.kind in _STOPS and not one.answered)


def _as_not_played(dossier: Dossier, transfer: Transfer) -> Dossier:
    """Look at a reel as it is before a run over the heads, be it the second: passes are plans."""
    passes = tuple(replace(p, kept=None, programme_minutes=None) for p in transfer.passes)
    planned = replace(transfer, captures=(), passes=passes)
    return replace(dossier, transfer=planned)


def _bases(dossier: Dossier, transfer: Transfer) -> Iterator[Finding]:
    """Ask of a treatment ahead of which nobody said that it is no heat."""
    ahead = [e for e in transfer.reel.events if e.kind == "treatment" and e.state in _AHEAD]
    if not ahead:
        return
    told = _treatment(ahead[0])
    if not transfer.reel.stock:
        text = f"{told}, and no section of the tape is described."
        yield BASE_UNSETTLED.at(dossier.place("/reel/stock"), text)
    for index, section in enumerate(transfer.reel.stock):
        why = _unsettled(section)
        if why:
            text = f"{told}; section {printable(section.id)!r}: {why}."
            yield BASE_UNSETTLED.at(dossier.place(f"/reel/stock/{index}/base"), text)


def _treatment(event: Event) -> str:
    by = f" by {printable(event.approved_by, 60)}" if event.approved_by is not None else ""
    return f"a treatment is {event.state}{by}"


def _unsettled(section: StockSection) -> str:
    if section.base is None:
        return f"its base is {section.absent.get('base', 'not stated')}"
    if section.base in {"cellulose acetate", "paper", "other"}:
        return f"its base is {section.base}"
    return f"that it is {section.base} is uncertain" if section.confidence == "uncertain" else ""


def cautions(transfer: Transfer, *, needs_tones: bool) -> Iterator[str]:
    """Yield what hands and ears are to be careful of."""
    for section in transfer.reel.stock:
        if section.base is None:
            yield f"Base of section {printable(section.id)} not known: take it for the weakest."
        elif section.base in {"cellulose acetate", "paper"}:
            yield f"Section {printable(section.id)} is {section.base}: it breaks or tears easily."
    for one in transfer.reel.condition:
        if one.mould is not None:
            yield f"Mould was seen ({one.moment}): protect hands and lungs; a conservator decides."
        if one.odour == "vinegar":
            yield f"It smelt of vinegar ({one.moment}): keep it apart from other reels."
        if one.shedding is not None:
            yield f"The tape sheds ({one.shedding}, {one.moment}): stop if it squeals or sticks."
    if needs_tones:
        yield _MONITORS
    yield _SOLVENTS
    yield _DEMAGNETISER
