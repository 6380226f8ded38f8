"""The order of what happened: a later step is not dated before an earlier one."""

from collections.abc import Iterator
from itertools import pairwise

from tailsout.ground.clock import is_before
from tailsout.ground.findings import Finding, Kind, Severity
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


RULES = (
    Rule(
        name="order of dates",
        kinds=(DATES_DISORDER,),
        needs=frozenset({"statements"}),
        run=_order,
    ),
)
