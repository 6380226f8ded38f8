"""Before a reel is unloaded: what its recipient would say, and whether it is needed again."""

from collections import Counter
from collections.abc import Iterable, Iterator
from decimal import Decimal

from tailsout.ground.findings import Finding, Severity
from tailsout.ground.units import clock_time, plain, printable, speed, times
from tailsout.records.dossier import Dossier, FileRecord
from tailsout.records.gate import Entry, Gate, Part, Word
from tailsout.records.transfer import Transfer
from tailsout.rules.names import NAME_NOT_MADE, NAMES_CLASH
from tailsout.tape import geometry
from tailsout.tape.speed import tape_feet
from tailsout.work.gating import boxing
from tailsout.work.gating.job_so_far import JobSoFar
from tailsout.work.gating.kinds import SIDE_TOO_LONG
from tailsout.work.gating.planned import Planned, sides_of
from tailsout.work.paths import NAME_UNFIT

_BEFORE_BOXING = (
    "/reel/images",
    "/reel/end_out",
    "/reel/last_motion",
    "/reel/events",
    "/reel/leaders",
    "/reel/condition",
    "/reel/custody",
)
"""What of a form is settled with the reel off the machine, and before it is boxed."""
_OF_NAMES = (NAME_NOT_MADE, NAMES_CLASH, NAME_UNFIT)
_OVERFILL = 1.15
_MOST_REASONS = 5


def gate(so_far: JobSoFar, why: str) -> Gate:
    """Make the answer from what has been seen so far."""
    transfer = so_far.transfer
    if transfer is None:
        return Gate(
            stage="unloading",
            why=why,
            word="KEEP",
            answer="KEEP THE REEL ON",
            because=("the forms have faults, so that nothing more can be judged",),
            at_desk=so_far.with_lines(so_far.faults),
            is_whole=False,
        )
    every = (*so_far.judged(), *_sides(so_far.dossier, transfer))
    asking = [one for one in every if one.severity is not Severity.NOTE]
    needed = [one for one in asking if _needs_reel(one, so_far)]
    boxed = [one for one in asking if one not in needed and _is_of_boxing(one)]
    desk = [one for one in asking if one not in needed and one not in boxed]
    whole = not so_far.unread
    word, answer, because = _answer(transfer, needed, [*desk, *boxed], whole=whole)
    return Gate(
        stage="unloading",
        why=why,
        word=word,
        answer=answer,
        because=because,
        needs_reel=so_far.with_lines(tuple(needed)),
        at_desk=so_far.with_lines(tuple(desk)),
        before_boxing=so_far.with_lines((*boxed, *_unsaid(so_far.dossier, transfer, boxed))),
        notes=len(every) - len(asking),
        parts=tuple(_told(so_far.dossier, transfer)),
        is_whole=whole,
    )


def _unsaid(dossier: Dossier, transfer: Transfer, known: Iterable[Finding]) -> Iterator[Finding]:
    """Yield what is unsaid before boxing, but for what a rule asks already at that place."""
    places = {one.place for one in known}
    yield from (one for one in boxing.unsaid(dossier, transfer) if one.place not in places)


def _answer(
    transfer: Transfer, needed: list[Finding], others: list[Finding], *, whole: bool
) -> tuple[Word, str, tuple[str, ...]]:
    """Return the word, the sentence, and the reasons for it."""
    would = _would(transfer, others)
    if needed:
        counted = Counter(one.kind.title for one in needed)
        told = [f"{title} ({n})" if n > 1 else title for title, n in counted.items()]
        more = [f"and {len(told) - _MOST_REASONS} more"] if len(told) > _MOST_REASONS else []
        return "KEEP", "KEEP THE REEL ON", (*told[:_MOST_REASONS], *more)
    if not whole:
        return "WAIT", "WAIT: THE SAMPLES ARE STILL TO BE READ", (would,)
    return "OFF", "THE REEL MAY COME OFF", ("nothing found that the reel is needed for", would)


def _would(transfer: Transfer, asking: list[Finding]) -> str:
    """Say whether the recipient would have it as it stands."""
    recipient = transfer.recipient
    name = printable(recipient.name or recipient.id, 60) if recipient else "no recipient is named"
    mends = sum(one.severity is Severity.MEND for one in asking)
    if mends:
        return f"{name}: not as it stands, {mends} to mend first"
    if asking:
        return f"{name}: {len(asking)} to decide before it goes out"
    return f"{name}: acceptable as it stands" if recipient else f"{name}; nothing is open"


def _needs_reel(finding: Finding, so_far: JobSoFar) -> bool:
    """Tell whether only the reel on the machine can settle it.

    A capture with damage is one that may have to be made again; what its master is called is not.
    """
    if _is_of_boxing(finding):
        return False
    files = {file.survey.record.path for one in so_far.taken for file in one.files}
    is_damage = finding.severity is Severity.MEND and finding.place.file in files
    is_damage = is_damage and finding.kind not in _OF_NAMES
    return finding.kind.needs_reel or is_damage


def _is_of_boxing(finding: Finding) -> bool:
    """Tell whether it is settled with the reel at hand and not on the machine.

    What is on its sides only the machine can show; all else is read off the reel and its box.
    """
    at = finding.place.part
    is_read_off = at.startswith("/reel/") and not at.startswith("/reel/sides")
    return at.startswith(_BEFORE_BOXING) or (finding.kind.needs_reel and is_read_off)


def _sides(dossier: Dossier, transfer: Transfer) -> Iterator[Finding]:
    """Yield the sides that outlast a full reel of that size."""
    if transfer.kind == "record only":
        return
    for index, side in enumerate(sides_of(transfer)):
        is_named = any(s.id == side.side for s in transfer.reel.sides)
        place = dossier.place(f"/reel/sides/{index}" if is_named else "/passes")
        seconds = _seconds(dossier, captures_of(side, transfer))
        slowest = min((ips for ips, _ in side.wanted), default=None)
        most = _most_mm(transfer)
        if seconds is None or slowest is None or most is None or slowest <= 0:
            continue
        played = float(seconds) * geometry.speed_mm_s(float(slowest))
        if played > most * _OVERFILL:
            text = (
                f"side {printable(side.side)!r} lasted {_minutes(seconds)} min: "
                f"{_feet(played)} ft at {speed(slowest)}, and a full reel of that size holds "
                f"{_feet(most)} ft at most."
            )
            yield SIDE_TOO_LONG.at(place, text)


def _most_mm(transfer: Transfer) -> float | None:
    """Return the most tape the reel can hold, mm; of the thinnest tape if nobody measured it."""
    diameter = transfer.reel.diameter_in
    stated = [s.thickness_um for s in transfer.reel.stock]
    known = [float(one) for one in stated if one is not None and one > 0]
    is_known = bool(known) and len(known) == len(stated)
    thin = min(known) if is_known else min(geometry.THICKNESSES_UM.values())
    return geometry.full_length_mm(float(diameter), thin) if diameter is not None else None


def captures_of(side: Planned, transfer: Transfer) -> tuple[str, ...]:
    """Return the ids of the captures that hold a side, by its regions and its passes."""
    runs = {one.id for one in side.runs}
    by_regions = (one.capture for one in side.regions)
    by_passes = (one.id for one in transfer.captures if one.pass_id in runs)
    return tuple(dict.fromkeys((*by_regions, *by_passes)))


def _seconds(dossier: Dossier, ids: Iterable[str]) -> Decimal | None:
    """Return how long a side lasted; None if one of its captures is not there."""
    lengths = [_length(dossier, one) for one in ids]
    known = [one for one in lengths if one is not None]
    return sum(known, Decimal(0)) if known and len(known) == len(lengths) else None


def _length(dossier: Dossier, capture: str) -> Decimal | None:
    frames = dossier.frames_of(capture)
    rates = (f.pcm.sample_rate_hz for f in dossier.files if f.capture == capture and f.pcm)
    rate = next(rates, 0)
    return Decimal(frames) / rate if frames is not None and rate > 0 else None


def _told(dossier: Dossier, transfer: Transfer) -> Iterator[Part]:
    """Yield what was captured of each side, and what was expected of it."""
    expected = tuple(
        Entry(label=one.about, says=f"{one.expected}{f' ({one.said_by})' if one.said_by else ''}")
        for one in transfer.reel.expectations
        if one.found is None
    )
    if expected:
        yield Part(title="EXPECTED", entries=expected)
    for side in sides_of(transfer):
        ids = captures_of(side, transfer)
        entries = [one for name in ids for one in _of_capture(dossier, name, side)]
        if entries:
            yield Part(title=f"SIDE {side.side}", entries=tuple(entries))


def _of_capture(dossier: Dossier, capture: str, side: Planned) -> Iterator[Entry]:
    seconds = _length(dossier, capture)
    files = [file for file in dossier.files if file.capture == capture]
    if seconds is None:
        yield Entry(label=capture, says="not there yet")
        return
    fed = ", or ".join(
        f"{round(tape_feet(seconds, ips))} ft at {speed(ips)}"
        for ips in dict.fromkeys(ips for ips, _ in side.wanted)
        if ips > 0
    )
    rate = next(file.pcm.sample_rate_hz for file in files if file.pcm)
    lasted = clock_time(dossier.frames_of(capture) or 0, rate).partition(".")[0]
    yield Entry(label=capture, says=f"{lasted}{f' = {fed}' if fed else ''}")
    for file in files:
        yield from _of_file(file)


def _of_file(file: FileRecord) -> Iterator[Entry]:
    facts = file.measured
    if facts is None:
        return
    peak = f"peak {plain(facts.true_peak_dbtp)} dBTP" if facts.true_peak_dbtp else "digital silence"
    clipped = sum(one.clipped_runs for one in facts.channels)
    silent = [str(n) for n, c in enumerate(facts.channels, 1) if c.sample_peak_dbfs is None]
    parts = [peak, f"clipped {times(clipped)}" if clipped else "not clipped"]
    parts += [f"CHANNEL {', '.join(silent)} SILENT"] if silent else []
    if facts.dropouts_a_minute is not None:
        parts.append(f"dropouts {plain(facts.dropouts_a_minute)}/min")
    yield Entry(label="", says=", ".join(parts))


def _minutes(seconds: Decimal) -> str:
    return plain((seconds / 60).quantize(Decimal("0.1")))


def _feet(mm: float) -> int:
    return round(mm / geometry.MM_PER_FOOT)
