"""Regions on the page that people read: where they lie, and what is told of them."""

from decimal import Decimal

from tailsout.ground.units import clock_time, plain, speed
from tailsout.records.reel import Region
from tailsout.tape.speed import tape_feet
from tailsout.views.rows import absent, inline


def stretch(start: int, end: int | None, rate: int | None) -> str:
    """Write from where to where a region goes: times, or samples where the rate is not known."""
    if rate is None:
        return f"{start}–{'end' if end is None else end}"
    begins = clock_time(start, rate)[:-2]
    return f"{begins}–{'end' if end is None else clock_time(end, rate)[:-2]}"


def region_text(region: Region, end: int | None, rate: int | None) -> str:
    """Write within a row what is told of a region, and how much tape it is."""
    feet = ""
    if rate and end and region.speed_ips is not None:
        length = tape_feet(Decimal(end - region.start) / rate, region.speed_ips)
        feet = f"{length:.0f} ft of tape" if length >= 1 else ""
    parts = [
        region.title,
        speed(region.speed_ips) if region.speed_ips is not None else None,
        inline(region.equalisation) if region.equalisation else None,
        _recorded(region),
        region.tracks,
        "played in reverse" if region.direction == "reversed" else None,
        f"noise reduction {region.noise_reduction}" if region.noise_reduction else None,
        f"tape section {region.stock}" if region.stock else None,
        f"calibration setting {region.setting}" if region.setting else None,
        *(f"tone {inline(tone)}" for tone in region.tones),
        _overlap(region),
        f"told by {', '.join(region.basis)}" if region.basis else None,
        region.confidence,
        f"not ruled out: {', '.join(region.rivals)}" if region.rivals else None,
        region.note,
        *absent(region),
        feet,
    ]
    return f"{region.kind}: {'; '.join(part for part in parts if part)}".removesuffix(": ")


def _overlap(region: Region) -> str | None:
    seconds = region.overlap_seconds
    return None if seconds is None else f"the file before holds its first {plain(seconds)} s too"


def _recorded(region: Region) -> str | None:
    speeds = [speed(region.recorded_speed_ips)] if region.recorded_speed_ips is not None else []
    curves = [inline(region.recorded_equalisation)] if region.recorded_equalisation else []
    return f"recorded at {', '.join(speeds + curves)}" if speeds or curves else None
