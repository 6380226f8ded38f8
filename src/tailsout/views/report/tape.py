"""Where regions lie on the tape itself, reckoned from the captures: seconds × speed.

Between two regions the tape is taken to run on at the speed of the one before.
"""

import re
from dataclasses import dataclass
from decimal import Decimal

from tailsout.ground.units import CM_PER_INCH
from tailsout.records.dossier import Dossier
from tailsout.records.reel import Region, Side
from tailsout.records.transfer import Transfer
from tailsout.views.report.wording import Times, pass_of, times

_AT = re.compile(r"(?:([0-9]{1,2}):)?([0-9]{1,3}):([0-9]{2}(?:\.[0-9]{1,3})?)", re.ASCII)


@dataclass(frozen=True, slots=True, kw_only=True)
class Lying:
    """A region, and where it lies on its side."""

    number: int
    """Counted from 1 over all sides."""
    side: str
    region: Region
    start: Decimal
    """From where the side begins: metres, or seconds where no speed is known."""
    end: Decimal


@dataclass(frozen=True, slots=True, kw_only=True)
class Strip:
    """One side as it lies on the tape."""

    side: str
    regions: tuple[Lying, ...]
    runs: str
    """`head to tail`, `tail to head`, or empty where it is not stated."""
    splices: tuple[Decimal, ...]
    """Where splices lie of which a time on this side is stated, likewise."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Reel:
    """All sides, to one scale."""

    unit: str
    """`m`, or `s` where some speed is not known."""
    strips: tuple[Strip, ...]

    @property
    def longest(self) -> Decimal:
        """Where the longest side ends."""
        ends = [one.end for strip in self.strips for one in strip.regions]
        return max(ends, default=Decimal(0))


def laid_out(dossier: Dossier, transfer: Transfer) -> Reel | None:
    """Return where everything lies; None where no region has a known length."""
    at = times(dossier)
    spans = [_spans(side, transfer, at) for side in transfer.reel.sides]
    if not any(spans):
        return None
    known = all(one.speed is not None for side in spans for one in side)
    number = 0
    strips = []
    for side, found in zip(transfer.reel.sides, spans, strict=True):
        regions: list[Lying] = []
        runner = _Runner(in_metres=known)
        for one in found:
            start, end = runner.span(one)
            number += 1
            regions.append(
                Lying(number=number, side=side.id, region=one.region, start=start, end=end)
            )
        ran = {getattr(pass_of(transfer, one.region.capture), "tape_ran", None) for one in found}
        runs = ran.pop() if len(ran) == 1 else None
        strips.append(
            Strip(
                side=side.id,
                regions=tuple(regions),
                runs=runs or "",
                splices=_splices(side, transfer, found, regions),
            )
        )
    return Reel(unit="m" if known else "s", strips=tuple(strips))


@dataclass(frozen=True, slots=True, kw_only=True)
class _Span:
    """A region in seconds of its capture."""

    region: Region
    start: Decimal
    end: Decimal
    speed: Decimal | None
    """Metres a second."""


def _spans(side: Side, transfer: Transfer, at: Times) -> list[_Span]:
    found = []
    last: Decimal | None = None
    for region in side.regions:
        seconds, rate = at.seconds(region), at.rates.get(region.capture)
        if seconds is None or not rate:
            continue
        used = pass_of(transfer, region.capture)
        set_to = used.set_up.speed_ips if used is not None and used.set_up is not None else None
        last = region.speed_ips or last or set_to
        start = Decimal(region.start) / rate
        speed = last * CM_PER_INCH / 100 if last else None
        found.append(_Span(region=region, start=start, end=start + seconds, speed=speed))
    return found


class _Runner:
    """Follows the tape through a side's regions in the order in which they stand."""

    def __init__(self, *, in_metres: bool) -> None:
        self._in_metres = in_metres
        self._place = Decimal(0)
        self._before: _Span | None = None

    def span(self, one: _Span) -> tuple[Decimal, Decimal]:
        """Return where a region begins and ends on the tape."""
        before = self._before
        # Another capture begins wherever the one before it ended.
        goes_on = before is not None and before.region.capture == one.region.capture
        since = before.end if before is not None and goes_on else one.start
        lead = max(Decimal(0), one.start - since) * self._pace(before or one)
        start = self._place + lead
        self._place = start + (one.end - one.start) * self._pace(one)
        self._before = one
        return start, self._place

    def _pace(self, one: _Span) -> Decimal:
        return one.speed if self._in_metres and one.speed is not None else Decimal(1)


def _splices(
    side: Side, transfer: Transfer, spans: list[_Span], lying: list[Lying]
) -> tuple[Decimal, ...]:
    """Find splices whose place is written as a side and a time: `side A, 0:22`."""
    found = []
    for splice in transfer.reel.splices:
        where = splice.at or ""
        time = _AT.search(where)
        if time is None or not re.search(rf"\bside {re.escape(side.id)}\b", where, re.IGNORECASE):
            continue
        hours, minutes, seconds = time.groups()
        at = Decimal(int(hours or 0) * 3600 + int(minutes) * 60) + Decimal(seconds)
        for span, one in zip(spans, lying, strict=True):
            if span.start <= at <= span.end:
                part = (at - span.start) / (span.end - span.start)
                found.append(one.start + part * (one.end - one.start))
                break
    return tuple(found)
