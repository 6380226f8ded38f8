"""When things happened and how long they took.

A later step is not dated before an earlier one, and a pass is as long as what was captured of it.
"""

import re
from collections.abc import Iterator
from datetime import date, datetime, timedelta
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
    title="The stated minutes of a pass do not fit what was captured of it",
    basis="common practice, no source: a recorder runs a little longer than the tape, and minutes "
    "are rounded; more than two of them and a tenth of the time is asked about",
    remedy="The engineer says how long the tape ran, and whether the capture is whole.",
)
CLOCKS_APART = Kind(
    code="clocks-apart",
    severity=Severity.QUERY,
    title="The recorder's clock and the form give a capture two times of one day",
    basis="own rule: a quarter of an hour is asked about; whole hours are another finding",
    remedy="The engineer says which of the two holds; a clock may have been off.",
)
HOUR_OFF = Kind(
    code="clock-an-hour-off",
    severity=Severity.NOTE,
    title="The recorder's clock and the form are whole hours apart",
    basis="common practice, no source: a bext chunk names no time zone; summer time is forgotten",
    remedy="Nothing to do; both times are kept as they are.",
)
_MINUTES_APART = 2
_SHARE_APART = Decimal("0.1")
_CLOCKS_APART = timedelta(minutes=15)
_NEAR_AN_HOUR = timedelta(minutes=2)
_KEEPING = "end of keeping"
_DAY = timedelta(days=1)
_WIDEST_ZONE = timedelta(hours=14)
_DATE = re.compile(r"[0-9]{4}(-[0-9]{2}){0,2}", re.ASCII)
_TIME = re.compile(r"([0-9]{2})[^0-9]([0-9]{2})[^0-9]([0-9]{2})", re.ASCII)


def _steps(transfer: Transfer) -> Iterator[tuple[list[tuple[str, str | None]], str]]:
    """Yield lists of (pointer, date) that run forward in time, and what each list is."""
    reel = transfer.reel
    yield [(f"/reel/events/{i}/on", e.on) for i, e in enumerate(reel.events)], "event"
    yield [(f"/passes/{i}/on", p.on) for i, p in enumerate(transfer.passes)], "pass"
    for m, machine in enumerate(transfer.machines):
        care = [(f"/machines/{m}/care/{i}/on", c.on) for i, c in enumerate(machine.care)]
        yield care, "maintenance"
    for i, kept in enumerate(reel.custody):
        both = {"from_date": kept.from_date, "to_date": kept.to_date}
        # About when, or one of several years, is not a date to go by.
        known = {key: on for key, on in both.items() if on and _DATE.fullmatch(on)}
        yield [(f"/reel/custody/{i}/{key}", on) for key, on in known.items()], _KEEPING
    yield from _of_captures(transfer)


def _of_captures(transfer: Transfer) -> Iterator[tuple[list[tuple[str, str | None]], str]]:
    begun = {one.id: (f"/passes/{i}/on", one.on) for i, one in enumerate(transfer.passes)}
    for i, capture in enumerate(transfer.captures):
        if capture.pass_id in begun:
            yield [begun[capture.pass_id], (f"/captures/{i}/started", capture.started)], "capture"
    started = {
        one.id: (f"/captures/{i}/started", one.started) for i, one in enumerate(transfer.captures)
    }
    for i, heard in enumerate(transfer.listening):
        if heard.capture in started:
            yield [started[heard.capture], (f"/listening/{i}/on", heard.on)], "listening"


def _order(dossier: Dossier) -> Iterator[Finding]:
    for steps, what in _steps(transfer_of(dossier)):
        dated = [(pointer, on) for pointer, on in steps if on is not None]
        for (_, earlier), (pointer, later) in pairwise(dated):
            if is_before(later, earlier):
                text = f"this {what} is dated {later}, the step before it {earlier}."
                yield DATES_DISORDER.at(dossier.place(pointer), text)
    yield from _still_to_come(dossier)


def _still_to_come(dossier: Dossier) -> Iterator[Finding]:
    """Tell what is dated after the day on which it was packed, or is looked at."""
    transfer, packed = transfer_of(dossier), _packed_on(dossier)
    if packed is None:
        return
    # It may be tomorrow already where the clock of the form is; after year 9999 nothing is dated.
    last = (min(packed, date.max - _DAY) + _DAY).isoformat()
    what = "is packed" if dossier.package is None else "was packed"
    days = [(f"/sessions/{i}/on", one.on) for i, one in enumerate(transfer.sessions)]
    of_steps = (step for steps, of in _steps(transfer) if of != _KEEPING for step in steps)
    for pointer, on in dict.fromkeys((*days, *of_steps)):
        if on is not None and on[: len(last)] > last:
            text = f"it is dated {on}, and {what} on {packed.isoformat()}."
            yield DATES_DISORDER.at(dossier.place(pointer), text)


def _packed_on(dossier: Dossier) -> date | None:
    info = dossier.package.bag_info if dossier.package is not None else ()
    days = [dossier.as_of, *(one.value for one in info if one.label == "Bagging-Date")]
    for day in days:
        try:
            return date.fromisoformat(day or "")
        except ValueError:
            continue
    return None


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


def _clocks(dossier: Dossier) -> Iterator[Finding]:
    transfer = transfer_of(dossier)
    stated = {one.id: (c, one.started) for c, one in enumerate(transfer.captures)}
    for file in dossier.files:
        index, started = stated.get(file.capture or "", (0, None))
        # Of several files of a capture only the first began when it did.
        if file.embedded is None or file.starts_at or started is None or "T" not in started:
            continue
        said = _recorded(file.embedded.origination_date, file.embedded.origination_time)
        if said is None:
            continue
        apart = abs(datetime.fromisoformat(started).replace(tzinfo=None) - said)
        hours = round(apart / timedelta(hours=1))
        place = dossier.place(f"/captures/{index}/started")
        text = f"it says {started}, the file {said.isoformat()}."
        if hours and apart <= _WIDEST_ZONE and abs(apart - timedelta(hours=hours)) <= _NEAR_AN_HOUR:
            yield HOUR_OFF.at(place, text)
        elif _CLOCKS_APART < apart < timedelta(days=1):
            # Another day is told by itself.
            yield CLOCKS_APART.at(place, text)


def _recorded(day: str, hour: str) -> datetime | None:
    """Return when a bext chunk says that a file began; None where it leaves it open."""
    found = _TIME.fullmatch(hour)
    if found is None or len(day) != len("2026-03-14"):
        return None
    try:
        return datetime.fromisoformat(
            f"{day[:4]}-{day[5:7]}-{day[8:]}T{found[1]}:{found[2]}:{found[3]}"
        )
    except ValueError:
        return None


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
    Rule(
        name="clocks of form and recorder",
        kinds=(CLOCKS_APART, HOUR_OFF),
        needs=frozenset({"statements", "headers"}),
        run=_clocks,
    ),
)
