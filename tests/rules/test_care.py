"""Hours of contact since care; the limits are common practice, without a source."""

from collections.abc import Callable
from decimal import Decimal

import pytest

from tailsout.ground.findings import Verdict
from tailsout.records.dossier import Dossier
from tailsout.records.machine import HoursSince, Machine
from tailsout.records.transfer import Transfer
from tailsout.records.vocab import CareKind
from tailsout.rules.care import CARE_LONG_AGO


@pytest.mark.parametrize(
    ("kind", "hours", "is_long"),
    [
        ("cleaned", "10.0", False),
        ("cleaned", "10.1", True),
        ("demagnetised", "20.0", False),
        ("demagnetised", "20.1", True),
        ("calibrated", "500", False),
    ],
)
def test_hours_since_care(
    run: Callable[[str, Dossier], list[tuple[str, str]]],
    stating: Callable[[Transfer], Dossier],
    transfer: Callable[..., Transfer],
    kind: CareKind,
    hours: str,
    *,
    is_long: bool,
) -> None:
    since = HoursSince(since=kind, on="2026-03-01", at_least_hours=Decimal(hours))
    dossier = stating(transfer(machines=(Machine(id="left", hours_since=(since,)),)))
    place = "data/audio/reel.json#/transfer/machines/0/hours_since/0"
    assert run("hours of contact", dossier) == ([("care-long-ago", place)] if is_long else [])


def test_long_hours_weigh_nothing_afterwards() -> None:
    assert CARE_LONG_AGO.verdict is Verdict.PASS
