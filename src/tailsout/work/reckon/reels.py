"""Sums about time, length and the pack on a reel."""

from collections.abc import Iterator
from decimal import Decimal

from tailsout.tape import geometry, printing, speed
from tailsout.work.reckon.answer import COMMON, DERIVED, Answer, refusing, rounded, shown

_FOOT = Decimal("0.3048")
_RING = "the spiral taken as a ring, derived"
_HUBS = (
    f"hubs and thicknesses vary by maker: ±{shown(geometry.RADIUS_SPREAD_MM)} mm in each radius"
    f" and ±{shown(geometry.THICKNESS_SPREAD_MM * 1000)} µm reckoned in"
)


def time(feet: Decimal, speed_ips: Decimal) -> tuple[Answer, ...]:
    """Return how long a length of tape plays in one pass. Raises UsageError."""
    with refusing():
        seconds = speed.playing_seconds(feet, speed_ips)
    return (
        Answer(
            what="playing time of one pass",
            value=(seconds / 60).quantize(Decimal("0.01")),
            unit="min",
            formula=f"{shown(round(feet, 2))} ft × 12 ÷ {shown(speed_ips)} ips ÷ 60",
            source=DERIVED,
        ),
    )


def length(seconds: Decimal, speed_ips: Decimal) -> tuple[Answer, ...]:
    """Return how much tape passes in a time, and what reel holds so much. Raises UsageError."""
    with refusing():
        feet = speed.tape_feet(seconds, speed_ips)
        stock = geometry.nearest_stock_ft(float(feet))
    sum_ = f"{shown(seconds)} s × {shown(speed_ips)} ips ÷ 12"
    remark = f"fits a reel sold as {stock} ft" if stock else "more than any reel that was sold held"
    return (
        Answer(
            what="length of tape",
            value=feet.quantize(Decimal("0.1")),
            unit="ft",
            formula=sum_,
            source=DERIVED,
            remark=f"{remark}, some overfill reckoned in ({COMMON})",
        ),
        Answer(
            what="the same",
            value=(feet * _FOOT).quantize(Decimal("0.1")),
            unit="m",
            formula=f"{sum_} × 0.3048",
            source=DERIVED,
        ),
    )


def reel(
    outer_mm: float, hub_mm: float, thickness_um: float, speed_ips: Decimal
) -> tuple[Answer, ...]:
    """Return what a pack holds and how its turns run. Raises UsageError."""
    with refusing():
        return (
            *_held(outer_mm, hub_mm, thickness_um, speed_ips),
            *_turns(outer_mm, hub_mm, thickness_um, speed_ips),
        )


def _held(
    outer_mm: float, hub_mm: float, thickness_um: float, speed_ips: Decimal
) -> Iterator[Answer]:
    mm = geometry.length_mm(outer_mm, hub_mm, thickness_um)
    spread = geometry.length_spread_mm(outer_mm, hub_mm, thickness_um)
    mm_s = geometry.speed_mm_s(float(speed_ips))
    ring = f"π × ({shown(outer_mm)}² - {shown(hub_mm)}²) mm² ÷ {shown(thickness_um)} µm"
    yield Answer(
        what="length of tape",
        value=rounded(mm / 1000, 1),
        unit="m",
        formula=ring,
        source=_RING,
        spread=rounded(spread / 1000, 1),
        remark=_HUBS,
    )
    yield Answer(
        what="the same",
        value=rounded(mm / geometry.MM_PER_FOOT, 0),
        unit="ft",
        formula=f"{ring} ÷ 304.8 mm",
        source=_RING,
        spread=rounded(spread / geometry.MM_PER_FOOT, 0),
    )
    yield Answer(
        what="playing time of one pass",
        value=rounded(mm / mm_s / 60, 1),
        unit="min",
        formula=f"length ÷ ({shown(speed_ips)} ips × 25.4)",
        source=DERIVED,
        spread=rounded(spread / mm_s / 60, 1),
    )


def _turns(
    outer_mm: float, hub_mm: float, thickness_um: float, speed_ips: Decimal
) -> Iterator[Answer]:
    yield Answer(
        what="turns",
        value=rounded(geometry.turns(outer_mm, hub_mm, thickness_um), 0),
        unit="turns",
        formula=f"({shown(outer_mm)} - {shown(hub_mm)}) mm ÷ {shown(thickness_um)} µm",
        source=_RING,
    )
    for where, radius_mm in (("at the hub", hub_mm), ("outside", outer_mm)):
        yield Answer(
            what=f"one turn {where}",
            value=rounded(geometry.turn_seconds(radius_mm, float(speed_ips)), 3),
            unit="s",
            formula=f"2π × {shown(radius_mm)} mm ÷ ({shown(speed_ips)} ips × 25.4)",
            source=DERIVED,
        )


def thickness(outer_mm: float, hub_mm: float, feet: Decimal) -> tuple[Answer, ...]:
    """Return how thick the tape of a pack of known length is. Raises UsageError."""
    mm = float(feet) * geometry.MM_PER_FOOT
    length = shown(round(feet, 2))
    with refusing():
        found = geometry.thickness_um(outer_mm, hub_mm, mm)
    return (
        Answer(
            what="thickness of the tape",
            value=rounded(found, 1),
            unit="µm",
            formula=f"π × ({shown(outer_mm)}² - {shown(hub_mm)}²) mm² ÷ ({length} ft × 304.8)",
            source=_RING,
            remark="coating, back-coat and air wound in; a loose pack reads 1 to 3 % thick",
        ),
    )


def echo(radius_mm: float, thickness_um: float, speed_ips: Decimal) -> tuple[Answer, ...]:
    """Return when print-through of the neighbouring turns is heard. Raises UsageError."""
    ips = float(speed_ips)
    with refusing():
        outer, inner = printing.delays_seconds(radius_mm, thickness_um, ips)
        apart = printing.delay_difference_seconds(thickness_um, ips)
        strongest = printing.strongest_hz(thickness_um, ips)
    at = f"({shown(speed_ips)} ips × 25.4)"
    half = f"{shown(thickness_um)} µm ÷ 2"
    return (
        Answer(
            what="echo on the outer neighbour",
            value=rounded(outer, 4),
            unit="s",
            formula=f"2π × ({shown(radius_mm)} mm + {half}) ÷ {at}",
            source=DERIVED,
            remark="the radius as the pack lay while it printed, not as it lies today",
        ),
        Answer(
            what="echo on the inner neighbour",
            value=rounded(inner, 4),
            unit="s",
            formula=f"2π × ({shown(radius_mm)} mm - {half}) ÷ {at}",
            source=DERIVED,
        ),
        Answer(
            what="outer later than inner by",
            value=rounded(apart * 1000, 3),
            unit="ms",
            formula=f"2π × {shown(thickness_um)} µm ÷ {at}",
            source=DERIVED,
            remark="if the later of two echoes follows its sound, the tape was stored tail out",
        ),
        Answer(
            what="prints most at",
            value=rounded(strongest, 0),
            unit="Hz",
            formula=f"{shown(speed_ips)} ips × 25.4 ÷ (2π × {shown(thickness_um)} µm)",
            source="Bertram, Stafford and Mills, JAES October 1980",
        ),
    )
