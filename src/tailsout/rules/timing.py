"""When things happened and how long they took.

A later step is not dated before an earlier one, and a pass is as long as what was captured of it.
"""

from collections.abc import Iterator
from decimal import Decimal
from itertools import pairwise

from tailsout.ground.clock import is_before
from tailsout.ground.findings import Finding, Kind, Severity
from tailsout.ground.units import plain
from tailsout.records.dossier import Dossier
from tailsout.records.transfer import Transfer
from tailsout.rules.rule import Rule, transfer_of

DATES_DISORDER = Kind(
    code="dates-out-of-order",
    severity=Severity.QUERY,
    title="A later step is dated before an earlier one",
    basis="own rule: events are listed in the order in which they happened",
    remedy="The engineer says which date is right; a clock may have been off.",
)
MINUTES_DIFFER = Kind(
    code="pass-minutes-differ",
    severity=Severity.QUERY,
    title="A pass is said to have run for another time than was captured of it",
    basis="common practice, no source: a recorder runs a little longer than the tape, and minutes "
    "are rounded; more than two of them and a tenth of the time is asked about",
    remedy="The engineer says how long the tape ran, and whether the capture is whole.",
)
_MINUTES_APART = 2
_SHARE_APART = Decimal("0.1")


def _steps(transfer: Transfer) -> Iterator[tuple[list[tuple[str, str | None]], str]]:
    """Yield lists of (pointer, date) that run forward in time, and what each list is."""
    reel = transfer.reel
    yield [(f"/reel/events/{i}/on", e.on) for i, e in enumerate(reel.events)], "event"
    yield [(f"/passes/{i}/on", p.on) for i, p in enumerate(transfer.passes)], "pass"
    for m, machine in enumerate(transfer.machines):
        care = [(f"/machines/{m}/care/{i}/on", c.on) for i, c in enumerate(machine.care)]
        yield care, "maintenance"
    begun = {one.id: (f"/passes/{i}/on", one.on) for i, one in enumerate(transfer.passes)}
    for i, capture in enumerate(transfer.captures):
        if capture.pass_id in begun:
            yield [begun[capture.pass_id], (f"/captures/{i}/started", capture.started)], "capture"


def _order(dossier: Dossier) -> Iterator[Finding]:
    for steps, what in _steps(transfer_of(dossier)):
        dated = [(pointer, on) for pointer, on in steps if on is not None]
        for (_, earlier), (pointer, later) in pairwise(dated):
            if is_before(later, earlier):
                text = f"this {what} is dated {later}, the step before it {earlier}."
                yield DATES_DISORDER.at(dossier.place(pointer), text)


def _minutes(dossier: Dossier) -> Iterator[Finding]:
    transfer = transfer_of(dossier)
    for p, run in enumerate(transfer.passes):
        stated = run.programme_minutes
        lengths = [_length(dossier, c.id) for c in transfer.captures if c.pass_id == run.id]
        known = [one for one in lengths if one is not None]
        if stated is None or not known or len(known) < len(lengths):
            continue
        # Several captures of a pass may follow each other or run side by side.
        shortest, longest = max(known), sum(known)
        apart = max(Decimal(_MINUTES_APART), _SHARE_APART * stated)
        is_short = stated > longest + apart
        # While the tape stands still a recorder may run on.
        is_long = stated < shortest - apart and not run.stops
        if is_short or is_long:
            text = (
                f"it is said to have run {plain(stated)} minutes, its captures hold "
                f"{longest if is_short else shortest:.1f}."
            )
            yield MINUTES_DIFFER.at(dossier.place(f"/passes/{p}/programme_minutes"), text)


def _length(dossier: Dossier, capture: str) -> Decimal | None:
    """Return the minutes of a capture; None where its length or rate is not known."""
    frames = dossier.frames_of(capture)
    rate = next((f.pcm.sample_rate_hz for f in dossier.files if f.capture == capture and f.pcm), 0)
    return Decimal(frames) / rate / 60 if frames is not None and rate > 0 else None


RULES = (
    Rule(
        name="order of dates",
        kinds=(DATES_DISORDER,),
        needs=frozenset({"statements"}),
        run=_order,
    ),
    Rule(
        name="minutes of a pass",
        kinds=(MINUTES_DIFFER,),
        needs=frozenset({"statements", "headers"}),
        run=_minutes,
    ),
)
