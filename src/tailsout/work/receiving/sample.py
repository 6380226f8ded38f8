"""Draws a listening sample that anybody can draw again, and says what its listener must know.

Files stand in the order of the SHA-256 of seed, package and path, a line each; the first ones are
drawn. No generator of random numbers is needed, and no other version of anything gives another
sample. What must be heard anyway is taken beside those.
"""

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal
from hashlib import sha256

from tailsout.ground.units import clock_time, plain, printable
from tailsout.records.arrival import Sample, Stretch
from tailsout.records.dossier import Dossier, FileRecord
from tailsout.records.transfer import Transfer
from tailsout.tape.sampling import chance_of_acceptance, most_faulty

_MOST_NOTES = 50
_IN_QUESTION = frozenset({"capture", "playback", "undecided"})


@dataclass(frozen=True, slots=True, kw_only=True)
class Mark:
    """Something at a stretch of a file."""

    start: int
    end: int
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Candidate:
    """One audio file that may be drawn, and what goes beside it."""

    package: str
    path: str
    frames: int
    rate: int
    machines: tuple[str, ...]
    operators: tuple[str, ...]
    speeds: int
    """How many tape speeds its regions have."""
    regions: tuple[Mark, ...]
    notes: tuple[Mark, ...]
    in_question: bool
    """A signal note may tell of a fault of the transfer."""
    condition: str
    treatment: str


def candidates(package: str, dossier: Dossier) -> Iterator[Candidate]:
    """Yield the audio files of one package, called `package` on the drive."""
    transfer = dossier.transfer
    for file in dossier.files:
        if file.frames is None or file.pcm is None or not file.frames:
            continue
        passes = transfer.passes if transfer is not None else ()
        notes = list(_notes(transfer, file))
        regions = list(_regions(transfer, file))
        yield Candidate(
            package=package,
            path=printable(file.path),
            frames=file.frames,
            rate=file.pcm.sample_rate_hz,
            machines=tuple(sorted({one.machine for one in passes if one.machine})),
            operators=tuple(sorted({one.by for one in passes if one.by})),
            speeds=len({speed for _, speed in regions if speed is not None}),
            regions=tuple(mark for mark, _ in regions),
            notes=tuple(mark for mark, _ in notes),
            in_question=any(in_question for _, in_question in notes),
            condition=_condition(transfer),
            treatment=_treatment(transfer),
        )


def draw(found: Iterable[Candidate], *, seed: str, share_percent: Decimal, seconds: int) -> Sample:
    """Draw the sample: `share_percent` of all files, and those that must be heard anyway."""
    ranked = sorted(found, key=lambda one: _rank(seed, one))
    drawn = math.ceil(len(ranked) * share_percent / 100)
    why: dict[tuple[str, str], list[str]] = {
        (one.package, one.path): ["drawn"] for one in ranked[:drawn]
    }
    for one, reason in _forced(ranked):
        why.setdefault((one.package, one.path), []).append(reason)
    heard = sorted(
        (one for one in ranked if (one.package, one.path) in why),
        key=lambda one: (one.package, one.path),
    )
    return Sample(
        seed=seed,
        share_percent=plain(share_percent),
        seconds=seconds,
        files=len(ranked),
        drawn=drawn,
        forced=len(heard) - drawn,
        stretches=tuple(
            stretch
            for one in heard
            for stretch in _stretches(one, seconds, "; ".join(why[one.package, one.path]))
        ),
        odds=tuple(_odds(len(ranked), drawn)),
    )


def _rank(seed: str, one: Candidate) -> str:
    line = f"{seed}\n{one.package}\n{one.path}\n"
    return sha256(line.encode("utf-8", "surrogatepass")).hexdigest()


def _forced(ranked: Sequence[Candidate]) -> Iterator[tuple[Candidate, str]]:
    """Yield what must be heard whatever was drawn."""
    known: set[str] = set()
    for one in ranked:
        told = (
            *(f"first of machine {machine}" for machine in one.machines),
            *(f"first of operator {operator}" for operator in one.operators),
        )
        for reason in told:
            if reason not in known:
                known.add(reason)
                yield one, printable(reason, 200)
        if one.in_question:
            yield one, "a signal note may tell of the transfer"
        if one.speeds > 1:
            yield one, f"{one.speeds} tape speeds"
    if ranked:
        yield max(ranked, key=lambda one: Decimal(one.frames) / one.rate), "the longest"


def _stretches(one: Candidate, seconds: int, why: str) -> Iterator[Stretch]:
    length = seconds * one.rate
    if one.frames <= 3 * length:
        places = [("the whole", 0, one.frames)]
    else:
        middle = (one.frames - length) // 2
        places = [
            ("head", 0, length),
            ("middle", middle, middle + length),
            ("tail", one.frames - length, one.frames),
        ]
    for position, start, end in places:
        yield Stretch(
            package=one.package,
            path=one.path,
            position=position,
            start=clock_time(start, one.rate),
            end=clock_time(end, one.rate),
            start_sample=start,
            end_sample=end,
            why=why,
            regions=_within(one.regions, start, end),
            condition=one.condition,
            treatment=one.treatment,
            notes=_within(one.notes, start, end),
        )


def _within(marks: Iterable[Mark], start: int, end: int) -> str:
    return "; ".join(one.text for one in marks if one.start < end and one.end > start)


def _regions(transfer: Transfer | None, file: FileRecord) -> Iterator[tuple[Mark, Decimal | None]]:
    for side in transfer.reel.sides if transfer is not None else ():
        for region in side.regions:
            if region.capture != file.capture or file.frames is None:
                continue
            start = region.start - file.starts_at
            end = file.frames if region.end is None else region.end - file.starts_at
            speed = f", {plain(region.speed_ips)} ips" if region.speed_ips is not None else ""
            title = f", {region.title}" if region.title else ""
            if start < file.frames and end > 0:
                text = printable(f"{region.id}: {region.kind}{speed}{title}", 300)
                yield Mark(start=start, end=end, text=text), region.speed_ips


def _notes(transfer: Transfer | None, file: FileRecord) -> Iterator[tuple[Mark, bool]]:
    told = [n for n in (transfer.signal_notes if transfer else ()) if n.capture == file.capture]
    for note in told[:_MOST_NOTES]:
        start = note.start - file.starts_at
        end = start + 1 if note.end is None else note.end - file.starts_at
        rate = file.pcm.sample_rate_hz if file.pcm is not None else 1
        lives = (
            f", lives in the {note.lives_in}" if note.lives_in not in {None, "undecided"} else ""
        )
        if end > 0 and (file.frames is None or start < file.frames):
            text = f"{clock_time(max(start, 0), rate)} {note.heard}{lives}"
            mark = Mark(start=start, end=end, text=printable(text, 300))
            yield mark, note.lives_in is None or note.lives_in in _IN_QUESTION


def _condition(transfer: Transfer | None) -> str:
    if transfer is None:
        return "nothing is stated"
    told = []
    for one in transfer.reel.condition:
        facts = (
            *one.pack,
            f"odour {one.odour}" if one.odour else "",
            f"mould {one.mould}" if one.mould else "",
            f"shedding {one.shedding}" if one.shedding else "",
            f"edges {one.edges}" if one.edges else "",
            one.note or "",
        )
        told.append(f"{one.moment}: {', '.join(fact for fact in facts if fact) or 'no more said'}")
    return printable("; ".join(told) or "nothing is stated", 1000)


def _treatment(transfer: Transfer | None) -> str:
    told = []
    for event in transfer.reel.events if transfer is not None else ():
        if event.kind in {"treatment", "splice repair", "cleaning"} and event.state not in {
            "proposed",
            "declined",
        }:
            heat = f"{plain(event.temperature_c)} °C" if event.temperature_c is not None else ""
            hours = f"{plain(event.hours)} h" if event.hours is not None else ""
            facts = (event.on or "", heat, hours, event.outcome or "", event.note or "")
            told.append(f"{event.kind}: {', '.join(fact for fact in facts if fact)}".rstrip(": "))
    return printable("; ".join(told) or "none is stated", 1000)


def _odds(lot: int, drawn: int) -> Iterator[str]:
    """Say what a plain draw tells; what is taken beside it is not a plain draw."""
    if not 0 < drawn < lot:
        return
    for faulty in dict.fromkeys(math.ceil(Decimal(lot * percent) / 100) for percent in (1, 5, 10)):
        missed = chance_of_acceptance(lot=lot, faulty=faulty, sample=drawn)
        yield (
            f"If {faulty} of the {lot} files {'is' if faulty == 1 else 'are'} faulty, "
            f"{100 * float(missed):.1f} of 100 such draws meet none that is."
        )
    most = most_faulty(lot=lot, sample=drawn)
    yield f"If all {drawn} drawn are sound, at most {most} of the {lot} are faulty (95 %)."
