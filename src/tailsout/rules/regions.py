"""Regions lie inside the audio they point to."""

from collections.abc import Iterator

from tailsout.ground.findings import Finding, Kind, Severity
from tailsout.ground.units import at_sample
from tailsout.records.dossier import Dossier, FileRecord
from tailsout.records.reel import Region
from tailsout.rules.rule import Rule, transfer_of

REGION_OUTSIDE = Kind(
    code="region-outside",
    severity=Severity.MEND,
    title="A region reaches past the end of its audio",
    basis="own rule: a region points to samples that exist",
    remedy="Correct the region's times, or look for the rest of the capture.",
)
REGION_BACKWARDS = Kind(
    code="region-backwards",
    severity=Severity.MEND,
    title="A region ends before it begins",
    basis="own rule: start comes before end",
    remedy="Correct the region's times.",
)
REGION_OVERLAP = Kind(
    code="region-overlap",
    severity=Severity.QUERY,
    title="Two regions of one side claim the same samples",
    basis="own rule: a stretch of one side has one speed, one curve, one kind",
    remedy="The engineer says where the one ends and the other begins.",
)


def _regions(dossier: Dossier) -> Iterator[Finding]:
    by_capture = {file.capture: file for file in dossier.files if file.capture is not None}
    for s, side in enumerate(transfer_of(dossier).reel.sides):
        reached: dict[str, Region] = {}
        for r, region in sorted(enumerate(side.regions), key=lambda pair: pair[1].start):
            place = dossier.place(f"/reel/sides/{s}/regions/{r}")
            file = by_capture.get(region.capture)
            if region.end is not None and region.end <= region.start:
                yield REGION_BACKWARDS.at(place, _backwards_text(region, region.end, file))
                continue
            # Where the audio's length is not known, the container rule says why.
            frames = dossier.frames_of(region.capture)
            if file is not None and frames is not None and _is_outside(region, frames):
                yield REGION_OUTSIDE.at(place, _outside_text(region, file, frames))
            before = reached.get(region.capture)
            if before is not None and (before.end is None or before.end > region.start):
                yield REGION_OVERLAP.at(
                    place, f"region {region.id!r} starts before {before.id!r} has ended."
                )
            if before is None or _ends_later(region, before):
                reached[region.capture] = region


def _ends_later(region: Region, other: Region) -> bool:
    return other.end is not None and (region.end is None or region.end > other.end)


def _is_outside(region: Region, frames: int) -> bool:
    return region.start >= frames or (region.end is not None and region.end > frames)


def _backwards_text(region: Region, end: int, file: FileRecord | None) -> str:
    if file is None or file.pcm is None:  # without a rate a time is no position yet
        return f"region {region.id!r} does not end after it starts."
    start, end_at = (at_sample(one, file.pcm.sample_rate_hz) for one in (region.start, end))
    return f"region {region.id!r} starts at {start}, ends at {end_at}."


def _outside_text(region: Region, file: FileRecord, frames: int) -> str:
    rate = file.pcm.sample_rate_hz if file.pcm else 1
    reach = region.start if region.start >= frames else region.end or 0
    return (
        f"region {region.id!r} reaches {at_sample(reach, rate)}, "
        f"capture {region.capture!r} ends at {at_sample(frames, rate)}."
    )


RULES = (
    Rule(
        name="regions inside the audio",
        kinds=(REGION_OUTSIDE, REGION_BACKWARDS, REGION_OVERLAP),
        needs=frozenset({"statements", "headers"}),
        run=_regions,
    ),
)
