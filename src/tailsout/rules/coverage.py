"""Calibration settings against what they are said to cover, and against the tape they rest on.

One calibration may serve many transfers: of that speed, that curve, and that spell at the machine.
"""

from collections.abc import Iterator
from datetime import date
from decimal import Decimal

from tailsout.ground.findings import Finding, Kind, Severity
from tailsout.ground.units import plain, printable, speed
from tailsout.records.dossier import Dossier
from tailsout.records.reel import Equalisation, Region
from tailsout.records.session import Session
from tailsout.records.vocab import RegionKind
from tailsout.rules.placed import placed
from tailsout.rules.rule import Rule, transfer_of

SETTING_DIFFERS = Kind(
    code="setting-does-not-cover",
    severity=Severity.QUERY,
    title="A region names a calibration setting of another speed, curve or session",
    basis="own rule: a setting was checked at one speed and one curve, in one session",
    remedy="The engineer says which setting the region was played with.",
)
SETTING_UNNAMED = Kind(
    code="setting-not-named",
    severity=Severity.NOTE,
    title="A region does not say which of its session's calibration settings covers it",
    basis="own rule: readings prove a region only through the setting that it was played with",
    remedy="The engineer names the setting, or says that nobody knows.",
)
SETTING_BY_OTHER_TAPE = Kind(
    code="setting-by-another-tape",
    severity=Severity.QUERY,
    title="A setting was checked with a calibration tape of another speed or curve, without a word",
    basis="common practice, no source: makers of calibration tapes publish tables to convert by",
    remedy="The engineer says in the setting's note how the readings were converted, or that they "
    "were not.",
)
DAY_DIFFERS = Kind(
    code="pass-outside-session",
    severity=Severity.QUERY,
    title="A pass is dated on another day than the session it belongs to",
    basis="own rule: a session is one spell at one machine; a day apart is left to time zones",
    remedy="The engineer says which day is right, or to which session the pass belongs.",
)
_DAYS_APART = 1
_READ_BY_SETTING = frozenset[RegionKind]({"programme", "line-up tone"})
_SpeedAndCurve = tuple[Decimal | None, Equalisation | None]


def _coverage(dossier: Dossier) -> Iterator[Finding]:
    transfer = transfer_of(dossier)
    # What is unsaid of a transfer told afterwards is one note for all of it.
    is_told = transfer.kind != "retrospective"
    for one in placed(transfer):
        name = one.region.setting
        if one.session is None:
            continue
        place = dossier.place(f"{one.pointer}/setting")
        if name is None:
            if is_told and _asks_for_one(one.region, one.session):
                text = (
                    f"region {printable(one.region.id)!r} names none of the "
                    f"{len(one.session.settings)} settings of session "
                    f"{printable(one.session.id)!r}."
                )
                yield SETTING_UNNAMED.at(place, text)
            continue
        told = f"region {printable(one.region.id)!r} names setting {printable(name)!r}"
        setting = next((s for s in one.session.settings if s.id == name), None)
        if setting is None:
            session = printable(one.session.id)
            yield SETTING_DIFFERS.at(place, f"{told}, session {session!r} has none of that name.")
            continue
        for what in _apart(
            (one.region.speed_ips, one.region.equalisation),
            (setting.speed_ips, setting.equalisation),
        ):
            yield SETTING_DIFFERS.at(place, f"{told}: {what}.")


def _asks_for_one(region: Region, session: Session) -> bool:
    is_unsaid = "setting" not in region.absent
    return is_unsaid and region.kind in _READ_BY_SETTING and len(session.settings) > 1


def _by_tapes(dossier: Dossier) -> Iterator[Finding]:
    transfer = transfer_of(dossier)
    tapes = {one.id: one for one in transfer.calibration_tapes}
    for s, session in enumerate(transfer.sessions):
        for i, setting in enumerate(session.settings):
            tape = tapes.get(setting.tape or "")
            # A note on the setting is where a conversion is written down.
            if tape is None or setting.note is not None or "note" in setting.absent:
                continue
            for what in _apart(
                (setting.speed_ips, setting.equalisation), (tape.speed_ips, tape.equalisation)
            ):
                text = f"setting {printable(setting.id)!r}, tape {printable(tape.id)!r}: {what}."
                yield SETTING_BY_OTHER_TAPE.at(
                    dossier.place(f"/sessions/{s}/settings/{i}/tape"), text
                )


def _apart(own: _SpeedAndCurve, other: _SpeedAndCurve) -> Iterator[str]:
    """Yield what differs between two speeds and curves, where both are stated."""
    ips, other_ips = own[0], other[0]
    if ips is not None and other_ips is not None and ips != other_ips:
        yield f"{speed(ips)} against {speed(other_ips)}"
    curve, other_curve = _constants(own[1]), _constants(other[1])
    if curve is not None and other_curve is not None and curve != other_curve:
        yield f"{_told(*curve)} against {_told(*other_curve)}"


def _constants(curve: Equalisation | None) -> tuple[Decimal | None, Decimal] | None:
    # Without the one constant that every curve has, nobody said what it is.
    if curve is None or curve.t2_us is None:
        return None
    is_infinite = curve.absent.get("t1_us", "not applicable") == "not applicable"
    return (curve.t1_us, curve.t2_us) if curve.t1_us is not None or is_infinite else None


def _told(t1_us: Decimal | None, t2_us: Decimal) -> str:
    return f"{'no' if t1_us is None else plain(t1_us)} and {plain(t2_us)} µs"


def _days(dossier: Dossier) -> Iterator[Finding]:
    transfer = transfer_of(dossier)
    sessions = {one.id: one for one in transfer.sessions}
    for p, run in enumerate(transfer.passes):
        session = sessions.get(run.session or "")
        day, other = _day(run.on), _day(session.on if session else None)
        if day is None or other is None or abs((day - other).days) <= _DAYS_APART:
            continue
        text = f"it is dated {day}, its session {other}."
        yield DAY_DIFFERS.at(dossier.place(f"/passes/{p}/on"), text)


def _day(on: str | None) -> date | None:
    """Return the day of a date or an instant; None of a month or a year alone."""
    return date.fromisoformat(on[:10]) if on is not None and len(on) >= len("0000-00-00") else None


RULES = (
    Rule(
        name="settings against regions",
        kinds=(SETTING_DIFFERS, SETTING_UNNAMED),
        needs=frozenset({"statements"}),
        run=_coverage,
    ),
    Rule(
        name="settings against calibration tapes",
        kinds=(SETTING_BY_OTHER_TAPE,),
        needs=frozenset({"statements"}),
        run=_by_tapes,
    ),
    Rule(
        name="passes within their session",
        kinds=(DAY_DIFFERS,),
        needs=frozenset({"statements"}),
        run=_days,
    ),
)
