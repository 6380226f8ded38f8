"""What is planned of each side before any of it is captured: passes, speeds, curves, set-up."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from decimal import Decimal

from tailsout.records.playing import Pass, SetUp
from tailsout.records.reel import Equalisation, Region
from tailsout.records.transfer import Transfer
from tailsout.tape import geometry

Wanted = tuple[Decimal, Equalisation | None]
"""A speed in ips, and the curve that goes with it."""

_BITS_AN_OCTET = 8
_RIFF_HOLDS = (1 << 32) - 1
_THINNEST_PLAUSIBLE_UM = geometry.THICKNESSES_UM["double play"]
_STANDARD_UM = geometry.THICKNESSES_UM["standard play"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Planned:
    """One side."""

    side: str
    runs: tuple[Pass, ...]
    """Passes that are to play it."""
    regions: tuple[Region, ...]
    wanted: tuple[Wanted, ...]
    """Speeds in ips, each with its curve, in the order in which they are met."""

    @property
    def set_up(self) -> SetUp | None:
        """The set-up of its first pass that has one."""
        return next((one.set_up for one in self.runs if one.set_up is not None), None)

    @property
    def changes_speed(self) -> bool:
        """Whether it holds more than one speed."""
        return len({speed for speed, _ in self.wanted}) > 1


def sides_of(transfer: Transfer) -> tuple[Planned, ...]:
    """Return the sides of a reel, as the form names them and its passes do."""
    named = {side.id: side for side in transfer.reel.sides}
    played = (side for one in transfer.passes for side in one.sides)
    found = []
    for name in dict.fromkeys((*named, *played)):
        runs = tuple(p for p in transfer.passes if name in p.sides and p.kept is not False)
        regions = named[name].regions if name in named else ()
        found.append(
            Planned(side=name, runs=runs, regions=regions, wanted=tuple(_wanted(runs, regions)))
        )
    return tuple(found)


def _wanted(runs: Iterable[Pass], regions: Iterable[Region]) -> Iterator[Wanted]:
    """Yield what regions say, else what the passes are set to, each once."""
    told = [(one.speed_ips, one.equalisation) for one in regions]
    if not any(speed for speed, _ in told):
        set_ups = [one.set_up for one in runs if one.set_up is not None]
        told = [(one.speed_ips, one.equalisation) for one in set_ups]
    yield from once((speed, curve) for speed, curve in told if speed is not None)


def once(pairs: Iterable[Wanted]) -> Iterator[Wanted]:
    """Yield every speed and curve once; a curve cannot be hashed."""
    seen: list[Wanted] = []
    for one in pairs:
        if one not in seen:
            seen.append(one)
            yield one


@dataclass(frozen=True, slots=True, kw_only=True)
class Lasts:
    """How long a full reel plays at one speed: at most so many minutes, thick and thin."""

    speed_ips: Decimal
    thick_minutes: int
    """Of the thickest tape that is stated, or of standard play."""
    thin_minutes: int
    """Of the thinnest, or of double play."""


def lasts(transfer: Transfer, speed_ips: Decimal) -> Lasts | None:
    """Reckon how long a side may last; None for a size of reel not stated or not known."""
    diameter = transfer.reel.diameter_in
    if diameter is None or speed_ips <= 0:
        return None
    stated = [float(s.thickness_um) for s in transfer.reel.stock if s.thickness_um is not None]
    is_known = bool(stated) and len(stated) == len(transfer.reel.stock)
    thick = max(stated) if is_known else _STANDARD_UM
    thin = min(stated) if is_known else _THINNEST_PLAUSIBLE_UM
    if thin <= 0:
        return None
    long, longest = (geometry.full_length_mm(float(diameter), one) for one in (thick, thin))
    if long is None or longest is None:
        return None
    mm_a_minute = geometry.speed_mm_s(float(speed_ips)) * 60
    return Lasts(
        speed_ips=speed_ips,
        thick_minutes=round(long / mm_a_minute),
        thin_minutes=round(longest / mm_a_minute),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Width:
    """What a second of a capture takes."""

    sample_rate_hz: int
    bits: int
    channels: int
    is_assumed: bool
    """True where nobody stated rate and width."""

    def octets(self, minutes: int) -> int:
        """Return how many octets so many minutes take."""
        return minutes * 60 * self.sample_rate_hz * self.channels * self.bits // _BITS_AN_OCTET


def needs_rf64(octets: int) -> bool:
    """Tell whether a file of so many octets is past what RIFF can count."""
    return octets > _RIFF_HOLDS
