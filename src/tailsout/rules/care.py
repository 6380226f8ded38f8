"""How the machine was cared for, as its form and its logbook tell.

What nobody wrote down of a cleaning is not a finding: unknown is silent.
"""

from collections.abc import Iterator, Mapping
from decimal import Decimal

from tailsout.ground.clock import is_before
from tailsout.ground.findings import Finding, Kind, Severity
from tailsout.ground.units import plain, printable
from tailsout.records.dossier import Dossier
from tailsout.records.machine import CareIntervals
from tailsout.records.transfer import Transfer
from tailsout.records.vocab import CareKind
from tailsout.rules.rule import Rule, transfer_of

CARE_LONG_AGO = Kind(
    code="care-long-ago",
    severity=Severity.NOTE,
    title="The machine had run long since it was last cleaned or demagnetised",
    basis="common practice, no source: clean after 10 hours of contact at the latest, demagnetise "
    "after 20; unless the machine's form says otherwise",
    remedy="Nothing to do afterwards; the machine's own manual decides.",
)
INTERVAL_PASSED = Kind(
    code="care-interval-passed",
    severity=Severity.QUERY,
    title="The machine had run longer since it was cared for than its recipient wants",
    basis="own rule: the interval stands in the recipient's form; guidelines differ",
    remedy="The recipient decides whether the transfer is taken as it is.",
)
COTTON_ON_ROTARY = Kind(
    code="cotton-on-rotary-heads",
    severity=Severity.QUERY,
    title="A machine with rotary heads was cleaned with cotton",
    basis="common practice, no source: rotary heads take chamois or foam, cotton catches on them",
    remedy="The engineer says which heads were cleaned with it, and how they look.",
)
PATH_WET = Kind(
    code="path-not-dry",
    severity=Severity.QUERY,
    title="The path is said to have been wet still when a tape was threaded",
    basis="common practice, no source: what cleans a path is gone before tape touches it",
    remedy="The engineer says whether this reel was threaded then, and what is to be seen of it.",
)
REPAIRED_UNCHECKED = Kind(
    code="repaired-and-not-checked",
    severity=Severity.QUERY,
    title="A machine was repaired, and was played without a calibration since",
    basis="own rule: a repair may move what a calibration set",
    remedy="The engineer says whether the repair touched heads, path or electronics.",
)
_AT_MOST_HOURS: Mapping[CareKind, Decimal] = {
    "cleaned": Decimal(10),
    "demagnetised": Decimal(20),
}


def _care(dossier: Dossier) -> Iterator[Finding]:
    transfer = transfer_of(dossier)
    asked = _hours(transfer.recipient.care_intervals if transfer.recipient is not None else None)
    for m, machine in enumerate(transfer.machines):
        own = _hours(machine.care_intervals)
        for h, one in enumerate(machine.hours_since):
            is_asked = one.since in asked
            most = {**_AT_MOST_HOURS, **own, **asked}.get(one.since)
            if most is None or one.at_least_hours <= most:
                continue
            kind = INTERVAL_PASSED if is_asked else CARE_LONG_AGO
            text = (
                f"machine {printable(machine.id)!r} had run {plain(one.at_least_hours)} hours "
                f"or more since it was {one.since}"
            )
            limit = f"; {plain(most)} are asked for" if is_asked else ""
            if one.since in own and not is_asked:
                limit = f"; its form says {plain(most)}"
            place = dossier.place(f"/machines/{m}/hours_since/{h}")
            yield kind.at(place, f"{text}{limit}.")


def _intervals(dossier: Dossier) -> Iterator[Finding]:
    yield from _care(dossier)
    yield from _months(dossier)


def _hours(intervals: CareIntervals | None) -> Mapping[CareKind, Decimal]:
    """Return the hours that the form of a recipient or a machine states."""
    if intervals is None:
        return {}
    hours: dict[CareKind, Decimal | None] = {
        "cleaned": intervals.clean_hours,
        "demagnetised": intervals.demagnetise_hours,
        "calibrated": intervals.check_hours,
    }
    return {kind: most for kind, most in hours.items() if most is not None}


def _months(dossier: Dossier) -> Iterator[Finding]:
    """Tell of a last calibration that lay longer before the first pass than is asked for."""
    transfer = transfer_of(dossier)
    intervals = transfer.recipient.care_intervals if transfer.recipient is not None else None
    most = intervals.full_check_months if intervals is not None else None
    if most is None:
        return
    played, checked = _played(transfer), _checked(transfer)
    for m, machine in enumerate(transfer.machines):
        first = min(played.get(machine.id, ()), default=None)
        if first is None:
            continue
        before = [on for on in checked.get(machine.id, ()) if not is_before(first, on)]
        last = max(before, default=first)
        if _months_between(last, first) > most:
            text = (
                f"machine {printable(machine.id)!r} was calibrated on {last}, played first on "
                f"{first}; {most} months are asked for."
            )
            yield INTERVAL_PASSED.at(dossier.place(f"/machines/{m}/care"), text)


def _months_between(one: str, other: str) -> int:
    """Return how many months lie between two dates, a day more counting as the next one."""
    if len(one) < len("0000-00-00") or len(other) < len("0000-00-00"):
        return 0
    months = (int(other[:4]) - int(one[:4])) * 12 + int(other[5:7]) - int(one[5:7])
    return months + (other[8:10] > one[8:10])


def _checked(transfer: Transfer) -> Mapping[str, list[str]]:
    """Return the days on which each machine was held against a calibration tape."""
    found: dict[str, list[str]] = {}
    for machine in transfer.machines:
        days = [one.on for one in machine.care if one.kind == "calibrated"]
        found.setdefault(machine.id, []).extend(on for on in days if on is not None)
    for one in transfer.sessions:
        if one.machine is not None and one.settings and one.on is not None:
            found.setdefault(one.machine, []).append(one.on)
    return found


def _played(transfer: Transfer) -> Mapping[str, list[str]]:
    """Return the days on which each machine ran; a pass that names none ran on the only one."""
    only = transfer.machines[0].id if len(transfer.machines) == 1 else None
    sessions = {one.id: one.machine for one in transfer.sessions}
    found: dict[str, list[str]] = {}
    for run in transfer.passes:
        machine = run.machine or sessions.get(run.session or "") or only
        if machine is not None and run.on is not None:
            found.setdefault(machine, []).append(run.on)
    return found


def _cleaning(dossier: Dossier) -> Iterator[Finding]:
    for m, machine in enumerate(transfer_of(dossier).machines):
        is_rotary = any(head.kind == "rotary" for head in machine.heads)
        for c, one in enumerate(machine.care):
            place = dossier.place(f"/machines/{m}/care/{c}")
            when = f" on {one.on}" if one.on else ""
            told = f"machine {printable(machine.id)!r}, cleaned{when}"
            if one.kind == "cleaned" and one.swab == "cotton" and is_rotary:
                yield COTTON_ON_ROTARY.at(place, f"{told} with cotton.")
            if one.kind == "cleaned" and one.dry_before_threading is False:
                yield PATH_WET.at(place, f"{told}: not dry before threading.")


def _repairs(dossier: Dossier) -> Iterator[Finding]:
    transfer = transfer_of(dossier)
    played, checked = _played(transfer), _checked(transfer)
    for m, machine in enumerate(transfer.machines):
        repairs = [(c, one.on) for c, one in enumerate(machine.care) if one.kind == "repaired"]
        for c, repaired in repairs[-1:]:
            if repaired is None:
                continue
            since = any(not is_before(on, repaired) for on in checked.get(machine.id, ()))
            if not since and any(is_before(repaired, on) for on in played.get(machine.id, ())):
                text = f"machine {printable(machine.id)!r} was repaired on {repaired}."
                yield REPAIRED_UNCHECKED.at(dossier.place(f"/machines/{m}/care/{c}"), text)


RULES = (
    Rule(
        name="hours of contact",
        kinds=(CARE_LONG_AGO, INTERVAL_PASSED),
        needs=frozenset({"statements"}),
        run=_intervals,
    ),
    Rule(
        name="how the machine was cleaned",
        kinds=(COTTON_ON_ROTARY, PATH_WET),
        needs=frozenset({"statements"}),
        run=_cleaning,
    ),
    Rule(
        name="repairs and calibration",
        kinds=(REPAIRED_UNCHECKED,),
        needs=frozenset({"statements"}),
        run=_repairs,
    ),
)
