"""What was measured of a file, once the statements that it was measured by are amended."""

from collections.abc import Iterable, Iterator
from dataclasses import replace

from tailsout.ground.findings import Finding, Kind, Place, Severity
from tailsout.ground.units import printable
from tailsout.records.calibration import CalibrationFacts
from tailsout.records.reel import Region, Side
from tailsout.records.sound import RegionFacts
from tailsout.records.transfer import ThisFile, Transfer
from tailsout.work.scale import scales

REGION_FACTS_DROPPED = Kind(
    code="region-facts-dropped",
    severity=Severity.NOTE,
    title="What was measured of a region is left out, because the region is another stretch now",
    basis="own rule: a figure belongs to the samples that it was taken from",
    remedy="Nothing to do; what was measured stands in the version superseded, or is measured anew "
    "with `tailsout measure`.",
)
KINDS = (REGION_FACTS_DROPPED,)


def amended_facts(
    stated: ThisFile, was: Transfer, now: Transfer, calibrations: Iterable[CalibrationFacts]
) -> tuple[ThisFile, tuple[Finding, ...]]:
    """Return what is known of a file by the statements as they are now, and what is left out.

    What was measured of a region goes with it when it or its side gets another name, and is left
    out when its stretch is another one. The scale is a sum, which is worked out anew.
    """
    facts = tuple(calibrations)
    kept: list[RegionFacts] = []
    notes: list[Finding] = []
    pairs = {
        (side.id, region.id): (new_side, new_region)
        for (side, region), (new_side, new_region) in _pairs(was, now)
        if _stretch(region) == _stretch(new_region)
    }
    for one in stated.regions:
        found = pairs.get((one.side, one.region))
        if found is None:
            text = f"region {one.region!r} of side {one.side!r} was measured where it lay before."
            notes.append(REGION_FACTS_DROPPED.at(Place(file=printable(stated.path)), text))
        else:
            kept.append(replace(one, side=found[0].id, region=found[1].id))
    old, new = (scales(one, stated.capture, facts, stated.measured) for one in (was, now))
    return replace(
        stated,
        regions=tuple(kept),
        scales=stated.scales if old == new else new,
    ), tuple(notes)


def _pairs(
    was: Transfer, now: Transfer
) -> Iterator[tuple[tuple[Side, Region], tuple[Side, Region]]]:
    """Yield each region as it was and as it is: an entry keeps its number."""
    for side, new_side in zip(was.reel.sides, now.reel.sides, strict=False):
        for region, new_region in zip(side.regions, new_side.regions, strict=False):
            yield (side, region), (new_side, new_region)


def _stretch(region: Region) -> tuple[str | None, int | None, int | None]:
    return region.capture, region.start, region.end
