"""What the tape is made of against what was done to it, and what was seen of its state.

It is asked before the reel is threaded. Once it was played it is history, and a note at most.
"""

import re
from collections.abc import Iterator
from datetime import date
from itertools import islice

from tailsout.ground.findings import Finding, Kind, Severity
from tailsout.ground.units import plain, printable
from tailsout.records.carrier import Condition
from tailsout.records.dossier import Dossier
from tailsout.records.reel import Event, StockSection
from tailsout.records.transfer import Transfer
from tailsout.records.vocab import Base
from tailsout.rules.rule import Rule, transfer_of

HEAT_AND_BASE = Kind(
    code="heat-and-base-in-question",
    severity=Severity.QUERY,
    title="Heat is written down for a tape with a section that is not surely of polyester",
    basis="common practice, no source: acetate and paper are not heated; a base taken from a label "
    "has been wrong",
    remedy="Somebody who has the reel at hand looks at the base of each section; its owner decides "
    "before it is threaded.",
    needs_reel=True,
)
HEATED = Kind(
    code="heated-base-in-question",
    severity=Severity.NOTE,
    title="The tape was heated, and a section of it is not surely of polyester",
    basis="common practice, no source: acetate and paper are not heated; the reel was played since",
    remedy="Nothing to do afterwards; whoever hears the transfer knows what the tape went through.",
)
HEATED_LONG_BEFORE = Kind(
    code="heated-long-before",
    severity=Severity.NOTE,
    title="The tape was heated more than a month before it was played",
    basis="common practice, no source: what heat does to a sticky tape lasts about a month",
    remedy="Nothing to do afterwards; the listener is told how the tape ran.",
)
HEATED_MORE = Kind(
    code="heated-above-usual",
    severity=Severity.NOTE,
    title="The tape was heated more than is usual",
    basis="common practice, no source: published practice lies between 49 and 57 °C",
    remedy="Nothing to do afterwards; the figure may be a slip of the pen.",
)
STATE_UNSAID = Kind(
    code="carrier-state-unanswered",
    severity=Severity.QUERY,
    title="Mould, vinegar or shedding was noticed, and nothing says what follows from it",
    basis="common practice, no source: an inspection stops where mould is found (ISO 18933, from "
    "memory)",
    remedy="Its owner decides before it is threaded; what was decided stands in the note of the "
    "condition.",
    needs_reel=True,
)
STATE_PLAYED = Kind(
    code="carrier-state-played",
    severity=Severity.NOTE,
    title="Mould, vinegar or shedding was noticed, and the reel was played without a word on it",
    basis="common practice, no source: who comes next wants to know how it was handled",
    remedy="Nothing to do afterwards; a word on it in the form tells who comes next.",
)
LIGHT_TEST_DOUBTFUL = Kind(
    code="base-by-light-doubtful",
    severity=Severity.NOTE,
    title="The base was judged by light through the pack of a tape that has a back coat",
    basis="common practice, no source: a back coat keeps the light from any base",
    remedy="Somebody who has the reel at hand determines the base by another sign.",
)

ASKED_BEFORE = frozenset({HEAT_AND_BASE.code, STATE_UNSAID.code})
"""Codes of what is asked of a reel that is still to be threaded, and of none later."""

_NOT_TO_BE_HEATED = frozenset[Base]({"cellulose acetate", "paper"})
_MOST_NAMED = 5
_HEAT_FROM_C = 35
_USUAL_MOST_C = 57
_LASTS_DAYS = 31
_HEAT = re.compile(r"\b(bak(e|ed|ing)|oven|incubat\w+|dehydrat\w+)\b", re.IGNORECASE)


def was_played(transfer: Transfer) -> bool:
    """Tell whether the tape has run over the heads; a pass may be written down before it runs."""
    return bool(transfer.captures) or any(
        one.kept is not None or one.programme_minutes is not None for one in transfer.passes
    )


def _heat(dossier: Dossier) -> Iterator[Finding]:
    transfer = transfer_of(dossier)
    played = was_played(transfer)
    runs = [_day(run.on) for run in transfer.passes]
    first = min((run for run in runs if run is not None), default=None)
    doubts = list(islice(_doubts(transfer), _MOST_NAMED + 1))
    for e, event in enumerate(transfer.reel.events):
        if not _is_heat(event) or event.state == "declined":
            continue
        # What was proposed and never done is not history.
        if played and event.state in {"proposed", "approved"}:
            continue
        place = dossier.place(f"/reel/events/{e}")
        if doubts:
            kind = HEATED if played else HEAT_AND_BASE
            more = "; and more" if len(doubts) > _MOST_NAMED else ""
            yield kind.at(place, f"{_told(event)}: {'; '.join(doubts[:_MOST_NAMED])}{more}.")
        heat = event.temperature_c
        if event.state != "proposed" and heat is not None and heat > _USUAL_MOST_C:
            yield HEATED_MORE.at(place, f"{_told(event)}: at {plain(heat)} °C.")
        days = _days_before(event.on, first)
        if days > _LASTS_DAYS:
            text = f"heated on {event.on}, played first on {first}: {days} days."
            yield HEATED_LONG_BEFORE.at(dossier.place(f"/reel/events/{e}/on"), text)


def _is_heat(event: Event) -> bool:
    if event.kind != "treatment":
        return False
    if event.temperature_c is not None:
        return event.temperature_c >= _HEAT_FROM_C
    return any(_HEAT.search(text) for text in (event.why, event.outcome, event.note) if text)


def _told(event: Event) -> str:
    return f"heat ({event.state or 'done'}{f', {event.on}' if event.on else ''})"


def _doubts(transfer: Transfer) -> Iterator[str]:
    """Say of every section what keeps one from taking it for polyester."""
    if not transfer.reel.stock:
        yield "no section of the tape says what its base is"
    for one in transfer.reel.stock:
        name = f"section {printable(one.id)!r}"
        if one.base is None:
            yield f"the base of {name} is {one.absent.get('base', 'not told')}"
        elif one.base in _NOT_TO_BE_HEATED or one.base == "other":
            yield f"{name} is of {'another base' if one.base == 'other' else one.base}"
        elif _is_unsure(one):
            yield f"that {name} is of {one.base} is uncertain, or taken from a label"


def _is_unsure(one: StockSection) -> bool:
    return one.confidence == "uncertain" or one.base_told_by == ("label",)


def _days_before(on: str | None, first: date | None) -> int:
    heated = _day(on)
    return (first - heated).days if heated is not None and first is not None else 0


def _day(on: str | None) -> date | None:
    return date.fromisoformat(on[:10]) if on is not None and len(on) >= len("0000-00-00") else None


def _state(dossier: Dossier) -> Iterator[Finding]:
    transfer = transfer_of(dossier)
    done = [one for one in transfer.reel.events if one.state in {None, "done"}]
    handled = [one for one in done if one.kind in {"treatment", "cleaning"}]
    # Heat is for a tape that sheds, and answers neither mould nor vinegar.
    is_cleaned = any(not _is_heat(one) for one in handled)
    for i, one in enumerate(transfer.reel.condition):
        seen = [*(() if is_cleaned else _spreading(one)), *(() if handled else _shedding(one))]
        if seen and one.note is None:
            kind = STATE_PLAYED if was_played(transfer) else STATE_UNSAID
            text = f"{one.moment}: {', '.join(seen)}."
            yield kind.at(dossier.place(f"/reel/condition/{i}"), text)


def _spreading(one: Condition) -> Iterator[str]:
    if one.mould is not None:
        yield f"{one.mould} mould"
    if one.odour == "vinegar":
        yield "a smell of vinegar"


def _shedding(one: Condition) -> Iterator[str]:
    if one.shedding in {"moderate", "severe"}:
        yield f"{one.shedding} shedding"


def _bases(dossier: Dossier) -> Iterator[Finding]:
    for s, one in enumerate(transfer_of(dossier).reel.stock):
        if one.back_coat and one.base_told_by == ("light through the pack",):
            place = dossier.place(f"/reel/stock/{s}/base_told_by")
            yield LIGHT_TEST_DOUBTFUL.at(
                place, f"section {printable(one.id)!r} has a back coat, and no other sign is named."
            )


RULES = (
    Rule(
        name="heat against the base",
        kinds=(HEAT_AND_BASE, HEATED, HEATED_LONG_BEFORE, HEATED_MORE),
        needs=frozenset({"statements"}),
        run=_heat,
    ),
    Rule(
        name="state of the reel and what followed",
        kinds=(STATE_UNSAID, STATE_PLAYED),
        needs=frozenset({"statements"}),
        run=_state,
    ),
    Rule(
        name="how the base was told",
        kinds=(LIGHT_TEST_DOUBTFUL,),
        needs=frozenset({"statements"}),
        run=_bases,
    ),
)
