"""Stated speeds against the reel, the machine, and the other side.

A reel holds so much tape, and both sides run the same: a wrong speed shows in the length. Geometry
confirms a stock length or a gross error, never seconds.
"""

from collections.abc import Iterator, Mapping
from decimal import Decimal
from itertools import combinations

from tailsout.ground.findings import Finding, Kind, Severity
from tailsout.ground.units import plain, printable, speed
from tailsout.records.dossier import Dossier
from tailsout.records.reel import Reel, Region
from tailsout.records.transfer import Transfer
from tailsout.rules.placed import placed
from tailsout.rules.rule import Rule, transfer_of
from tailsout.tape.geometry import (
    HUB_RADII_MM,
    MM_PER_FOOT,
    MM_PER_INCH,
    OVERFILL,
    THICKNESSES_UM,
    length_mm,
)
from tailsout.tape.speed import labelled_ips, tape_feet

TAPE_TOO_LONG = Kind(
    code="tape-longer-than-reel",
    severity=Severity.QUERY,
    title="By speed and duration more tape was played than the reel can hold",
    basis="common practice, no source: the ring between the smallest usual hub and the rim, of the "
    "thinnest tape that is stated, and 5 % over",
    remedy="The engineer says whether the speed is right, or the reel, or the tape's thickness.",
)
SIDES_APART = Kind(
    code="sides-a-speed-apart",
    severity=Severity.QUERY,
    title="Two sides of one tape differ in length just as two speeds do",
    basis="own rule: both sides run the same tape; within 3 % of twice or four times (derived)",
    remedy="The engineer says whether one side is only part full, or was played at another speed.",
)
SPEED_NOT_OF_MACHINE = Kind(
    code="speed-not-of-machine",
    severity=Severity.QUERY,
    title="A region is stated at a speed that its machine is not said to have, or that none has",
    basis="own rule: the machine's form lists the speeds that it runs at; 19, 38 and the like "
    "are what switches say in cm/s",
    remedy="The engineer says which speed the machine ran at; its form may lack one.",
)

_HUBS_MM = {
    Decimal(5): HUB_RADII_MM["5 inch, small hub"],
    Decimal(7): HUB_RADII_MM["7 inch, small hub"],
    Decimal("10.5"): HUB_RADII_MM["10½ inch"],
}
_THINNEST_UM = min(THICKNESSES_UM.values())
_SPEED_STEPS = (2, 4)
_STEP_WITHIN = Decimal("0.03")
_SHORTEST_FEET = 150
"""Below the shortest length that was sold a side may hold anything."""


def _lengths(dossier: Dossier) -> Iterator[Finding]:
    transfer = transfer_of(dossier)
    feet = _feet_by_side(dossier, transfer)
    most = _most_feet(transfer.reel)
    for s, lengths in feet.items():
        longest = max(lengths)
        if most is not None and longest > most:
            side = transfer.reel.sides[s]
            diameter = transfer.reel.diameter_in or Decimal(0)
            text = (
                f"side {printable(side.id)!r} ran {longest:.0f} ft, a reel of {plain(diameter)} "
                f"inches holds {most:.0f} ft at most."
            )
            yield TAPE_TOO_LONG.at(dossier.place(f"/reel/sides/{s}"), text)
    # Of a side that was played in several passes nobody knows which of them are the whole of it.
    whole = {s: lengths[0] for s, lengths in feet.items() if len(lengths) == 1}
    for one, other in combinations(whole, 2):
        long, short = (one, other) if whole[one] >= whole[other] else (other, one)
        if whole[short] >= _SHORTEST_FEET and _is_a_step(whole[long] / whole[short]):
            names = [printable(transfer.reel.sides[s].id) for s in (long, short)]
            text = (
                f"side {names[0]!r} ran {whole[long]:.0f} ft, side {names[1]!r} "
                f"{whole[short]:.0f} ft."
            )
            yield SIDES_APART.at(dossier.place(f"/reel/sides/{short}"), text)


def _feet_by_side(dossier: Dossier, transfer: Transfer) -> Mapping[int, list[Decimal]]:
    """Return how much tape each side ran, pass by pass; no side where one stretch is not known."""
    passes = {one.id: one.pass_id or one.id for one in transfer.captures}
    found = {}
    for s, side in enumerate(transfer.reel.sides):
        run = [one for one in side.regions if _runs_tape(one)]
        lengths: dict[str, Decimal] = {}
        for one in run:
            feet = _feet(dossier, one)
            if feet is None:
                break
            name = passes.get(one.capture, one.capture)
            lengths[name] = lengths.get(name, Decimal(0)) + feet
        else:
            if lengths:
                found[s] = list(lengths.values())
    return found


def _runs_tape(region: Region) -> bool:
    # What is blank or leader goes without a speed and is short.
    return region.kind == "programme" or region.speed_ips is not None


def _feet(dossier: Dossier, region: Region) -> Decimal | None:
    end = region.end if region.end is not None else dossier.frames_of(region.capture)
    rate = next(
        (f.pcm.sample_rate_hz for f in dossier.files if f.capture == region.capture and f.pcm), None
    )
    if end is None or rate is None or region.speed_ips is None or region.speed_ips <= 0:
        return None
    return tape_feet(Decimal(max(0, end - region.start)) / rate, region.speed_ips)


def _most_feet(reel: Reel) -> Decimal | None:
    hub = _HUBS_MM.get(reel.diameter_in) if reel.diameter_in is not None else None
    if hub is None or reel.diameter_in is None:
        return None
    stated = [one.thickness_um for one in reel.stock]
    sure = [float(one) for one in stated if one is not None and one > 0]
    thinnest = min(sure) if sure and len(sure) == len(stated) else _THINNEST_UM
    rim = float(reel.diameter_in) / 2 * MM_PER_INCH
    return Decimal(str(length_mm(rim, hub, thinnest) / MM_PER_FOOT * (1 + OVERFILL)))


def _is_a_step(ratio: Decimal) -> bool:
    return any(abs(ratio / step - 1) <= _STEP_WITHIN for step in _SPEED_STEPS)


def _machines(dossier: Dossier) -> Iterator[Finding]:
    for one in placed(transfer_of(dossier)):
        stated = one.region.speed_ips
        runs_at = one.machine.speeds_ips if one.machine is not None else ()
        meant = labelled_ips(stated) if stated is not None else None
        if stated is None or stated in runs_at or not (runs_at or meant):
            continue
        text = f"region {printable(one.region.id)!r} is stated at {speed(stated)}"
        if one.machine is not None and runs_at:
            listed = ", ".join(plain(ips) for ips in runs_at)
            text = f"{text}, machine {printable(one.machine.id)!r} runs at {listed} ips"
        if meant is not None:
            text = f"{text}; {plain(stated)} cm/s would be {plain(meant)} ips"
        yield SPEED_NOT_OF_MACHINE.at(dossier.place(f"{one.pointer}/speed_ips"), f"{text}.")


RULES = (
    Rule(
        name="tape played against the reel",
        kinds=(TAPE_TOO_LONG, SIDES_APART),
        needs=frozenset({"statements", "headers"}),
        run=_lengths,
    ),
    Rule(
        name="speeds of regions against the machine",
        kinds=(SPEED_NOT_OF_MACHINE,),
        needs=frozenset({"statements"}),
        run=_machines,
    ),
)
