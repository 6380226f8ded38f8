"""Which calibration tapes of the studio's shelf to fetch for the speeds and curves of a reel."""

from collections.abc import Iterable, Iterator, Mapping
from decimal import Decimal

from tailsout.ground.units import plain, speed
from tailsout.mapping.forms.form import Form
from tailsout.mapping.forms.transfer import calibration_tape_of
from tailsout.mapping.history import equalisation_text
from tailsout.records.machine import CalibrationTape
from tailsout.records.reel import Equalisation
from tailsout.records.session import Session
from tailsout.work.gating.planned import Wanted


def tapes_on(shelf: Mapping[str, Form]) -> tuple[CalibrationTape, ...]:
    """Return the tapes whose forms can be read; what is wrong with the rest is another's work."""
    read = (calibration_tape_of(form)[0] for form in shelf.values())
    return tuple(tape for tape in read if tape is not None)


def curve_text(curve: Equalisation | None) -> str:
    """Write a curve as `NAB 3180+50 µs`; what is not known is said."""
    told = equalisation_text(curve).replace(" us", " µs") if curve is not None else ""
    return told or "curve not stated"


def wanted_text(wanted: Wanted) -> str:
    """Write a speed and its curve."""
    return f"{speed(wanted[0])}, {curve_text(wanted[1])}"


def to_fetch(wanted: Wanted, tapes: Iterable[CalibrationTape]) -> str:
    """Say which tape serves a speed and curve, the fitting one first."""
    ips, curve = wanted
    at_speed = [tape for tape in tapes if tape.speed_ips == ips]
    if curve is None or curve.t2_us is None:
        told = ", ".join(_told(tape) for tape in at_speed)
        return f"curve open; of this speed: {told}" if told else "no tape of this speed"
    fitting = [tape for tape in at_speed if _constants(tape.equalisation) == _constants(curve)]
    if fitting:
        return "; or ".join(_told(tape) for tape in fitting)
    if at_speed:
        others = ", ".join(f"{_told(tape)} ({curve_text(tape.equalisation)})" for tape in at_speed)
        return f"none of this curve; with readings converted and that recorded: {others}"
    return "no tape of this speed"


def checked_in(wanted: Wanted, sessions: Iterable[Session]) -> Iterator[str]:
    """Yield where a speed and curve were checked already."""
    for session in sessions:
        for setting in session.settings:
            same = setting.speed_ips == wanted[0]
            if same and _constants(setting.equalisation) == _constants(wanted[1]):
                outcome = setting.outcome or "outcome not stated"
                yield f"{setting.id} of {session.id}: {outcome}"


def _told(tape: CalibrationTape) -> str:
    flux = tape.reference_fluxivity_nwb_m
    more = f", {plain(flux)} nWb/m" if flux is not None else ""
    return f"{tape.id}{more}"


def _constants(curve: Equalisation | None) -> tuple[Decimal | None, Decimal] | None:
    return (curve.t1_us, curve.t2_us) if curve is not None and curve.t2_us is not None else None
