"""Hours of work and of programme, reel by reel and in all, as a table."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from decimal import ROUND_HALF_EVEN, Decimal

from tailsout.ground.units import counted
from tailsout.mapping import csv_rows
from tailsout.mapping.logbook import minutes_of, seconds_of
from tailsout.records.dossier import Dossier
from tailsout.records.transfer import Transfer

COLUMNS = (
    "package",
    "identifier",
    "title",
    "passes",
    "hands-on minutes",
    "programme minutes",
    "hours of work an hour of programme",
)
ALL = "all"


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """What one reel took."""

    package: str
    identifier: str
    title: str
    passes: int
    hands_on_minutes: Decimal | None
    """None where one of its passes does not say."""
    programme_minutes: Decimal
    """How long tape ran for it."""


def entry_of(transfer: Transfer, dossier: Dossier) -> Entry:
    """Return what the passes of a transfer say; the programme as long as its captures if unsaid."""
    seconds = seconds_of(dossier)
    told = [one.hands_on_minutes for one in transfer.passes]
    known = [minutes for minutes in told if minutes is not None]
    return Entry(
        package=transfer.package_id,
        identifier=next((one.value for one in transfer.reel.identifiers), ""),
        title=transfer.reel.title or "",
        passes=len(transfer.passes),
        hands_on_minutes=_sum(known) if told and len(known) == len(told) else None,
        programme_minutes=_sum(minutes_of(one, transfer, seconds) for one in transfer.passes),
    )


def write(entries: Sequence[Entry]) -> bytes:
    """Return the ledger as CSV, the sums in its last row."""
    return csv_rows.write(COLUMNS, _rows(entries))


def _rows(entries: Sequence[Entry]) -> Iterator[Sequence[object]]:
    for one in entries:
        yield _row(
            (one.package, one.identifier, one.title),
            one.passes,
            one.hands_on_minutes,
            one.programme_minutes,
            one.programme_minutes,
        )
    told = [one for one in entries if one.hands_on_minutes is not None]
    silent = len(entries) - len(told)
    note = counted(len(entries), "package")
    note += f", hands-on of {silent} not told" if silent else ""
    yield _row(
        (ALL, "", note),
        sum(one.passes for one in entries),
        _sum(one.hands_on_minutes or Decimal(0) for one in told) if told else None,
        _sum(one.programme_minutes for one in entries),
        # Only of reels of which both are told: else the ratio would be too good.
        _sum(one.programme_minutes for one in told),
    )


def _row(
    names: Sequence[str],
    passes: int,
    hands_on: Decimal | None,
    programme: Decimal,
    compared: Decimal,
) -> Sequence[object]:
    ratio = hands_on / compared if hands_on is not None and compared > 0 else None
    return (
        *names,
        passes,
        _shown(hands_on, "0.1"),
        _shown(programme, "0.1"),
        _shown(ratio, "0.01"),
    )


def _shown(value: Decimal | None, step: str) -> str | None:
    return None if value is None else f"{value.quantize(Decimal(step), ROUND_HALF_EVEN):f}"


def _sum(values: Iterable[Decimal]) -> Decimal:
    return sum(values, Decimal(0))
