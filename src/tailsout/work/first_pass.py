"""The first pass over the captures: measured, and FLAC held against what it states of itself."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from tailsout.ground.damage import Damage
from tailsout.ground.errors import MaterialError
from tailsout.ground.findings import Verdict
from tailsout.ground.progress import Progress
from tailsout.records.dossier import Dossier, Examined, FileRecord
from tailsout.records.echo import PrintThrough
from tailsout.records.scale import Scale
from tailsout.records.sound import AudioFacts, RegionFacts
from tailsout.records.transfer import Transfer
from tailsout.rules.damage import KIND_OF
from tailsout.tape.geometry import HUB_RADII_MM, MM_PER_INCH
from tailsout.work import captures
from tailsout.work.captures import Taken
from tailsout.work.scale import scales

if TYPE_CHECKING:
    from tailsout.measure.onepass import Measured


@dataclass(frozen=True, slots=True, kw_only=True)
class Passed:
    """What one read of a capture gave."""

    measured: "Measured | None" = None
    """None if it holds no audio, or none that can be decoded to its end, which a rule tells; and
    where its facts are known from an earlier read."""
    facts: AudioFacts | None = None
    print_through: PrintThrough | None = None
    damage: tuple[Damage, ...] = ()
    """What only its samples could show."""
    regions: tuple[RegionFacts, ...] = ()


def measure(
    taken: tuple[Taken, ...],
    progress: Progress,
    transfer: Transfer | None = None,
    *,
    echoes: bool = True,
) -> dict[str, Passed]:
    """Measure what each master is made of, by `Taken.name`, and the regions stated of it.

    `echoes`: whether print-through is looked for, where diameter and speeds bound a turn.
    Raises MaterialError for audio that cannot be measured, SurroundingsError if it cannot be read.
    """
    return {
        one.name: _measure(
            one, progress, _regions(one, transfer), _turns(one, transfer) if echoes else None
        )
        for one in taken
    }


def settles(one: Taken, transfer: Transfer | None) -> str:
    """Return all that settles what `measure` finds but echoes, beside the octets of the files."""
    record = one.survey.record
    parts = [(part.side, part.region, part.span) for part in _regions(one, transfer)]
    return repr((record.made, record.starts_at, record.track, parts))


def _turns(one: Taken, transfer: Transfer | None) -> tuple[float, float] | None:
    """Return the shortest and the longest turn that the reel allows at the speeds of a capture.

    None without a speed or a diameter: the turns of any reel would let too much pass for an echo.
    """
    from tailsout.measure.echo import SHORTEST_S, delays_on_reel  # noqa: PLC0415  as below

    if transfer is None or transfer.reel.diameter_in is None:
        return None
    outer = float(transfer.reel.diameter_in) * MM_PER_INCH / 2
    speeds = _speeds(one, transfer)
    hub = min(HUB_RADII_MM.values())
    if not speeds or outer <= hub:
        return None
    ranges = [delays_on_reel(speed, inner_mm=hub, outer_mm=outer) for speed in speeds]
    shortest, longest = min(low for low, _ in ranges), min(10.0, max(high for _, high in ranges))
    return (shortest, longest) if SHORTEST_S <= shortest < longest else None


def _speeds(one: Taken, transfer: Transfer | None) -> set[float]:
    """Return the speeds of the regions in a capture, in inches per second."""
    sides = transfer.reel.sides if transfer is not None else ()
    return {
        float(region.speed_ips)
        for side in sides
        for region in side.regions
        if region.capture == one.id and region.speed_ips is not None
    }


def _regions(one: Taken, transfer: Transfer | None) -> tuple["_Part", ...]:
    """Return what of each region lies in a file, in its own samples."""
    sides = transfer.reel.sides if transfer is not None else ()
    starts_at, frames = one.survey.record.starts_at, one.survey.layout.frames
    parts = []
    for side in sides:
        for region in side.regions:
            if region.capture != one.id:
                continue
            start = max(0, region.start - starts_at)
            end = min(frames, region.end - starts_at if region.end is not None else frames)
            if start < end:
                parts.append(_Part(side=side.id, region=region.id, span=(start, end)))
    return tuple(parts)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Part:
    side: str
    region: str
    span: tuple[int, int]


def _measure(
    one: Taken,
    progress: Progress,
    parts: tuple[_Part, ...],
    turns: tuple[float, float] | None,
) -> Passed:
    # The meters load slowly, and a form with faults must not wait for them.
    from tailsout.work.measure import measure_stream  # noqa: PLC0415

    if one.survey.layout.pcm is None or one.survey.layout.data is None:
        return Passed()
    with captures.reading(one) as source:
        try:
            spans = [part.span for part in parts]
            measured = measure_stream(
                source.stream, one.survey, progress, regions=spans, turns=turns
            )
        except MaterialError:
            damage = source.proof()
            if not any(KIND_OF[fault.kind].verdict is Verdict.FAIL for fault in damage):
                raise
            return Passed(damage=damage)
        told = zip(parts, measured.regions, strict=True)
        regions = tuple(
            RegionFacts(region=part.region, side=part.side, sound=sound) for part, sound in told
        )
        return Passed(
            measured=measured,
            facts=measured.facts,
            print_through=measured.print_through,
            damage=source.proof(),
            regions=regions,
        )


def digests(
    taken: tuple[Taken, ...], passed: Mapping[str, Passed], progress: Progress
) -> dict[str, str]:
    """Return the SHA-256 of every file as the recorder left it, by its path in the job.

    Of one wave file that was measured by itself it is known already. Raises SurroundingsError.
    """
    found = {}
    for one in taken:
        measured = passed[one.name].measured
        if len(one.files) == 1 and measured is not None and one.survey.flac is None:
            found[one.name] = measured.capture_sha256
            continue
        for file in one.files:
            found[file.survey.record.path] = captures.digest(file, progress)
    return found


def _scales(dossier: Dossier, file: FileRecord, facts: AudioFacts) -> tuple[Scale, ...]:
    if dossier.transfer is None or file.capture is None:
        return ()
    return scales(dossier.transfer, file.capture, dossier.calibrations, facts)


def with_facts(dossier: Dossier, passed: Mapping[str, Passed]) -> Dossier:
    """Add to a dossier what was measured and met; nothing where nothing was read."""
    if not passed:
        return dossier
    files = []
    for file in dossier.files:
        one = passed.get(file.path, Passed())
        container = replace(file.container, damage=(*file.container.damage, *one.damage))
        seen = replace(file, container=container)
        if one.facts is not None:
            facts = one.facts
            seen = replace(
                seen,
                measured=facts,
                essence_sha256=facts.essence_sha256,
                regions=one.regions,
                print_through=one.print_through,
                scales=_scales(dossier, file, facts),
            )
        files.append(seen)
    examined = dossier.examined | frozenset[Examined]({"samples", "measurements"})
    return replace(dossier, files=tuple(files), examined=examined)
