"""What is put right in an access copy: speed and curve, where a region says it was recorded so."""

from dataclasses import replace
from fractions import Fraction

from tailsout.ground.errors import MaterialError
from tailsout.ground.units import printable
from tailsout.mapping.history import speed_of
from tailsout.records.access import CopyRecipe
from tailsout.records.playing import Pass
from tailsout.records.recipient import CopyAsked
from tailsout.records.reel import Equalisation, Region
from tailsout.records.transfer import Transfer
from tailsout.tape.equalisation import effective_constants


def corrected(
    transfer: Transfer, asked: CopyAsked, region: Region, recipe: CopyRecipe
) -> CopyRecipe:
    """Add what is to be put right. Raises MaterialError where only one of two values is said."""
    run = _pass_of(transfer, region)
    ratio = _ratio(region, run)
    recorded = replayed = None
    if "equalisation" in asked.corrections and region.recorded_equalisation is not None:
        set_up = run.set_up.equalisation if run is not None and run.set_up is not None else None
        recorded = _constants(region.recorded_equalisation)
        played = _constants(region.equalisation or set_up)
        if recorded is None or played is None:
            raise _unsaid(region, "by another curve", "time constants of both")
        replayed = effective_constants(played, float(ratio))
    if recorded == replayed:
        recorded = replayed = None
    return replace(
        recipe,
        speed_ratio=ratio if "speed" in asked.corrections else Fraction(1),
        recorded=recorded,
        replayed=replayed,
        curve_ratio=ratio,
    )


def _ratio(region: Region, run: Pass | None) -> Fraction:
    """Return speed of the replay ÷ that of the recording; 1 where nothing else is said."""
    if region.recorded_speed_ips is None:
        return Fraction(1)
    played = speed_of(region, run)
    if played is None:
        raise _unsaid(region, "at another speed", "speed at which it was played")
    return Fraction(played) / Fraction(region.recorded_speed_ips)


def _unsaid(region: Region, how: str, lacks: str) -> MaterialError:
    return MaterialError(
        f"Region {printable(region.id)!r} was recorded {how}; the {lacks} must be said to put it "
        "right in an access copy.",
        "Say so in the job, or leave the correction out of the recipient's form.",
    )


def _pass_of(transfer: Transfer, region: Region) -> Pass | None:
    name = next((one.pass_id for one in transfer.captures if one.id == region.capture), None)
    return next((one for one in transfer.passes if one.id == name), None)


def _constants(curve: Equalisation | None) -> tuple[float | None, float] | None:
    if curve is None or curve.t2_us is None:
        return None
    return None if curve.t1_us is None else float(curve.t1_us), float(curve.t2_us)
