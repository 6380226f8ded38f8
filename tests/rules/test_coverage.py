"""Calibration settings against regions, tapes and days: own rules."""

from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal
from typing import Any

import pytest

from tailsout.records.dossier import Dossier
from tailsout.records.machine import CalibrationTape
from tailsout.records.playing import Pass
from tailsout.records.reel import Equalisation
from tailsout.records.session import CalibrationSetting, Session
from tailsout.records.transfer import Transfer
from tailsout.records.vocab import JobKind

RunRule = Callable[[str, Dossier], list[tuple[str, str]]]
REGIONS, TAPES = "settings against regions", "settings against calibration tapes"
DAYS = "passes within their session"
TRANSFER = "data/audio/reel.json#/transfer"


def curve(t1: int | None, t2: int | None, **absent: str) -> Equalisation:
    return Equalisation(
        t1_us=None if t1 is None else Decimal(t1),
        t2_us=None if t2 is None else Decimal(t2),
        absent=absent,  # type: ignore[arg-type]
    )


NAB, IEC = curve(3180, 50), curve(None, 70)


@pytest.fixture
def covered(
    stating: Callable[[Transfer], Dossier], transfer: Callable[..., Transfer]
) -> Callable[..., Dossier]:
    """Make a region at 7½ ips under NAB that names a setting of its session."""

    def make(
        setting: CalibrationSetting,
        *,
        names: str | None = "7-nab",
        own: Equalisation | None = NAB,
        session: str | None = "spell",
        tape: CalibrationTape | None = None,
        days: tuple[str, str] = ("2026-03-14T10:20:00Z", "2026-03-14"),
    ) -> Dossier:
        made = transfer(
            passes=(Pass(id="p1", machine="left", session=session, on=days[0]),),
            sessions=(Session(id="spell", machine="left", on=days[1], settings=(setting,)),),
            calibration_tapes=(tape,) if tape else (),
        )
        (side,) = made.reel.sides
        (region,) = side.regions
        region = replace(region, setting=names, equalisation=own)
        sides = (replace(side, regions=(region,)),)
        return stating(replace(made, reel=replace(made.reel, sides=sides)))

    return make


def setting(ips: str | None = "7.5", eq: Equalisation | None = NAB) -> CalibrationSetting:
    return CalibrationSetting(
        id="7-nab", speed_ips=Decimal(ips) if ips else None, equalisation=eq, tape="ct"
    )


# setting-does-not-cover


@pytest.mark.parametrize(
    ("of", "changes", "faults"),
    [
        (setting(), {}, 0),
        (setting("15"), {}, 1),
        (setting(eq=IEC), {}, 1),
        (setting("15", IEC), {}, 2),
        (setting(eq=curve(None, 50)), {}, 1),
        (setting(), {"names": "7-iec"}, 1),
        (setting("15"), {"names": None}, 0),
        (setting("15"), {"session": None}, 0),
        # What is not said differs from nothing.
        (setting(None, None), {}, 0),
        (setting(eq=curve(3180, None)), {}, 0),
        (setting(eq=curve(None, 50, t1_us="unknown")), {}, 0),
        (setting(eq=curve(None, 50, t1_us="not applicable")), {}, 1),
        (setting(), {"own": None}, 0),
    ],
)
def test_a_setting_that_covers_its_region(
    run: RunRule,
    covered: Callable[..., Dossier],
    of: CalibrationSetting,
    changes: dict[str, str | None],
    faults: int,
) -> None:
    place = f"{TRANSFER}/reel/sides/0/regions/0/setting"
    expected = [("setting-does-not-cover", place)] * faults
    assert run(REGIONS, covered(of, **changes)) == expected


# setting-not-named


@pytest.mark.parametrize(
    ("settings", "changes", "kind", "faults"),
    [
        (2, {}, None, 1),
        (2, {"kind": "line-up tone"}, None, 1),
        (2, {"kind": "leader"}, None, 0),
        (2, {"setting": "7-nab"}, None, 0),
        # Nobody knows, and that is said.
        (2, {"absent": {"setting": "unknown"}}, None, 0),
        # Of one setting there is nothing to choose.
        (1, {}, None, 0),
        (0, {}, None, 0),
        (2, {}, "retrospective", 0),
    ],
)
def test_a_region_that_names_no_setting(
    run: RunRule,
    covered: Callable[..., Dossier],
    stating: Callable[[Transfer], Dossier],
    settings: int,
    changes: dict[str, Any],
    *,
    kind: JobKind | None,
    faults: int,
) -> None:
    made = covered(setting(), names=None).transfer
    assert made is not None
    several = (setting(), replace(setting("15"), id="15-nab"))[:settings]
    (side,) = made.reel.sides
    region = replace(side.regions[0], **changes)
    changed = replace(
        made,
        kind=kind,
        sessions=(replace(made.sessions[0], settings=several),),
        reel=replace(made.reel, sides=(replace(side, regions=(region,)),)),
    )
    place = f"{TRANSFER}/reel/sides/0/regions/0/setting"
    expected = [("setting-not-named", place)] * faults
    assert run(REGIONS, stating(changed)) == expected


# setting-by-another-tape


@pytest.mark.parametrize(
    ("tape", "faults"),
    [
        (CalibrationTape(id="ct", speed_ips=Decimal("7.5"), equalisation=NAB), 0),
        (CalibrationTape(id="ct", speed_ips=Decimal("7.5"), equalisation=IEC), 1),
        (CalibrationTape(id="ct", speed_ips=Decimal(15), equalisation=NAB), 1),
        (CalibrationTape(id="ct"), 0),
        (CalibrationTape(id="another", speed_ips=Decimal(15)), 0),
        (None, 0),
    ],
)
def test_a_setting_and_the_tape_it_was_checked_with(
    run: RunRule, covered: Callable[..., Dossier], tape: CalibrationTape | None, faults: int
) -> None:
    expected = [("setting-by-another-tape", f"{TRANSFER}/sessions/0/settings/0/tape")] * faults
    assert run(TAPES, covered(setting(), tape=tape)) == expected


def test_a_setting_that_says_nothing_is_at_odds_with_no_tape(
    run: RunRule, covered: Callable[..., Dossier]
) -> None:
    tape = CalibrationTape(id="ct", speed_ips=Decimal(15), equalisation=NAB)
    silent = replace(setting(), speed_ips=None, equalisation=None)
    assert run(TAPES, covered(silent, tape=tape)) == []
    assert run(TAPES, covered(replace(silent, equalisation=IEC), tape=tape)) != []
    assert run(TAPES, covered(setting(), tape=replace(tape, speed_ips=None))) == []


def test_a_conversion_that_was_written_down_is_fine(
    run: RunRule, covered: Callable[..., Dossier]
) -> None:
    tape = CalibrationTape(id="ct", speed_ips=Decimal(15), equalisation=NAB)
    converted = replace(setting(), note="read by the tape maker's table for 7½ ips")
    assert run(TAPES, covered(converted, tape=tape)) == []
    unsaid = replace(setting(), absent={"note": "unknown"})
    assert run(TAPES, covered(unsaid, tape=tape)) == []


# pass-outside-session


@pytest.mark.parametrize(
    ("days", "session", "is_outside"),
    [
        (("2026-03-14T10:20:00Z", "2026-03-14"), "spell", False),
        # A day apart may be a time zone.
        (("2026-03-15T01:00:00Z", "2026-03-14"), "spell", False),
        (("2026-03-16", "2026-03-14"), "spell", True),
        (("2026-03-12", "2026-03-14"), "spell", True),
        (("2026-03-16", "2026-03-14"), None, False),
    ],
)
def test_a_pass_on_another_day(
    run: RunRule,
    covered: Callable[..., Dossier],
    days: tuple[str, str],
    session: str | None,
    *,
    is_outside: bool,
) -> None:
    found = run(DAYS, covered(setting(), days=days, session=session))
    assert found == ([("pass-outside-session", f"{TRANSFER}/passes/0/on")] if is_outside else [])
