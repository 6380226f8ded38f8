"""What of a capture no region claims, whose side a region is of, and notes beyond the end."""

from collections.abc import Iterator

from tailsout.ground.findings import Finding, Kind, Severity
from tailsout.ground.units import at_sample, clock_time, printable
from tailsout.records.dossier import Dossier, FileRecord
from tailsout.records.sound import AudioFacts
from tailsout.records.transfer import Transfer
from tailsout.rules.placed import placed
from tailsout.rules.rule import Rule, transfer_of

STRETCH_UNCLAIMED = Kind(
    code="capture-stretch-unclaimed",
    severity=Severity.QUERY,
    title="A stretch of a capture that is not quiet belongs to no region",
    basis="own rule: what was recorded is told of; half a minute that is not quiet is asked about",
    remedy="The engineer says what is heard there.",
)
CAPTURE_UNCLAIMED = Kind(
    code="capture-without-region",
    severity=Severity.QUERY,
    title="A capture has no region, though others have",
    basis="own rule: what was recorded is told of",
    remedy="The engineer says what the capture holds.",
)
OTHER_SIDE = Kind(
    code="region-of-another-side",
    severity=Severity.QUERY,
    title="A region lies in a capture of a pass that is stated to have played another side",
    basis="own rule: a pass captures the sides that it plays",
    remedy="The engineer says which side the capture is of.",
)
NOTE_OUTSIDE = Kind(
    code="note-outside",
    severity=Severity.QUERY,
    title="A signal note lies beyond the end of its capture, or ends before it begins",
    basis="own rule: a note points to samples that exist",
    remedy="Correct the note's times, or look for the rest of the capture.",
)

_LONGEST_SECONDS = 30


def _unclaimed(dossier: Dossier) -> Iterator[Finding]:
    transfer = transfer_of(dossier)
    if transfer.kind == "retrospective":
        return
    claimed = _claimed(dossier, transfer)
    dropped = {one.id for one in transfer.passes if one.kept is False}
    by_capture: dict[str | None, list[FileRecord]] = {}
    for file in dossier.files:
        by_capture.setdefault(file.capture, []).append(file)
    for c, capture in enumerate(transfer.captures):
        place = dossier.place(f"/captures/{c}")
        if capture.id not in claimed:
            if claimed and capture.pass_id not in dropped:
                yield CAPTURE_UNCLAIMED.at(
                    place, f"no region lies in capture {printable(capture.id)!r}."
                )
            continue
        files = by_capture.get(capture.id, [])
        frames = dossier.frames_of(capture.id)
        rate = next((one.pcm.sample_rate_hz for one in files if one.pcm), 0)
        if frames is None or not rate:
            continue
        quiet = [stretch for one in files for stretch in _quiet(one)]
        if any(_facts(one) is None for one in files):
            continue
        for start, end in _without(frames, sorted([*claimed[capture.id], *quiet])):
            if end - start > _LONGEST_SECONDS * rate:
                text = f"{clock_time(start, rate)} to {clock_time(end, rate)} lies in no region."
                yield STRETCH_UNCLAIMED.at(place, text)


def _claimed(dossier: Dossier, transfer: Transfer) -> dict[str, list[tuple[int, int]]]:
    """Return by capture the stretches that lie in a region."""
    found: dict[str, list[tuple[int, int]]] = {}
    for one in placed(transfer):
        end = one.region.end
        if end is None:
            end = dossier.frames_of(one.region.capture) or one.region.start
        found.setdefault(one.region.capture, []).append((one.region.start, end))
    return found


def _quiet(file: FileRecord) -> Iterator[tuple[int, int]]:
    facts = _facts(file)
    for gap in facts.gaps if facts is not None else ():
        yield file.starts_at + gap.start, file.starts_at + gap.end


def _facts(file: FileRecord) -> AudioFacts | None:
    return file.measured or (file.stated.measured if file.stated is not None else None)


def _without(frames: int, stretches: list[tuple[int, int]]) -> Iterator[tuple[int, int]]:
    """Yield what of so many frames lies in none of some stretches, sorted by their start."""
    reached = 0
    for start, end in [*stretches, (frames, frames)]:
        if start > reached:
            yield reached, start
        reached = max(reached, end)


def _sides(dossier: Dossier) -> Iterator[Finding]:
    transfer = transfer_of(dossier)
    known = {side.id for side in transfer.reel.sides}
    for one in placed(transfer):
        if one.run is not None and one.run.sides and one.side.id not in one.run.sides:
            played = ", ".join(printable(side, 40) for side in one.run.sides)
            strange = [s for s in one.run.sides if s not in known]
            text = (
                f"region {printable(one.region.id)!r} is of side {printable(one.side.id)!r}, pass "
                f"{printable(one.run.id)!r} played {played}"
                f"{', which is no side of this reel' if strange else ''}."
            )
            yield OTHER_SIDE.at(dossier.place(f"{one.pointer}/capture"), text)


def _notes(dossier: Dossier) -> Iterator[Finding]:
    rates = {f.capture: f.pcm.sample_rate_hz for f in dossier.files if f.pcm}
    for n, one in enumerate(transfer_of(dossier).signal_notes):
        rate = rates.get(one.capture)
        frames = dossier.frames_of(one.capture)
        place = dossier.place(f"/signal_notes/{n}")
        if one.end is not None and one.end < one.start:
            text = "it ends before it begins."
            if rate:  # without one a time is no position yet
                start, end = at_sample(one.start, rate), at_sample(one.end, rate)
                text = f"it begins at {start} and ends at {end}."
            yield NOTE_OUTSIDE.at(place, text)
        elif frames is not None and rate and max(one.start, one.end or 0) > frames:
            reach = max(one.start, one.end or 0)
            capture = printable(one.capture)
            yield NOTE_OUTSIDE.at(
                place,
                f"it reaches {at_sample(reach, rate)}, capture {capture!r} ends at "
                f"{at_sample(frames, rate)}.",
            )


RULES = (
    Rule(
        name="captures against regions",
        kinds=(STRETCH_UNCLAIMED, CAPTURE_UNCLAIMED),
        needs=frozenset({"statements", "headers", "measurements"}),
        run=_unclaimed,
    ),
    Rule(
        name="regions against the sides that were played",
        kinds=(OTHER_SIDE,),
        needs=frozenset({"statements"}),
        run=_sides,
    ),
    Rule(
        name="notes inside the audio",
        kinds=(NOTE_OUTSIDE,),
        needs=frozenset({"statements", "headers"}),
        run=_notes,
    ),
)
