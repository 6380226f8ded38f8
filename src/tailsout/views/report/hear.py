"""What you will hear, and why: five lines of plain words at the top of the sheet."""

from collections.abc import Iterable, Iterator
from itertools import pairwise

from tailsout.ground.findings import Finding, Severity
from tailsout.ground.units import counted, plain
from tailsout.records.dossier import Dossier, FileRecord
from tailsout.records.listening import Listening, SignalNote
from tailsout.records.reel import Reel, Side
from tailsout.records.transfer import Transfer
from tailsout.views.report.wording import (
    Times,
    clipped,
    day,
    length,
    listed,
    setting,
    sound_files,
    times,
    who,
)
from tailsout.views.rows import inline

_NOTES, _MOST_CHANGES = 3, 4
"""Of notes, and of changes of speed on a side, that are told one by one."""


def lines(dossier: Dossier, findings: tuple[Finding, ...]) -> Iterator[str]:
    """Yield five lines."""
    told = _told if dossier.transfer is not None else _untold
    yield from map(clipped, told(dossier, findings))


def _untold(dossier: Dossier, findings: tuple[Finding, ...]) -> Iterator[str]:
    yield (
        "Nobody states here what is on the tape: the package carries no side-car of ours, so only "
        "what its files say of themselves can be told."
    )
    info = dossier.package.bag_info if dossier.package is not None else ()
    described = [one.value for one in info if one.label == "External-Description"]
    yield f"Its sender calls it: {'; '.join(described)}." if described else "It has no description."
    yield _length(sound_files(dossier))
    said = [f.embedded.description for f in dossier.files if f.embedded and f.embedded.description]
    yield (
        f"The audio says of itself: {'; '.join(dict.fromkeys(said))}."
        if said
        else ("No audio file in it has a description in its header.")
    )
    yield _open(findings)


def _told(dossier: Dossier, findings: tuple[Finding, ...]) -> Iterator[str]:
    transfer, at = dossier.transfer, times(dossier)
    if transfer is None:
        return
    yield _what(transfer)
    yield _how_long(transfer, dossier, at)
    yield _noted(transfer, at)
    yield _state(transfer.reel)
    yield " ".join([*_uncertain(transfer, at), _open(findings)])


def _what(transfer: Transfer) -> str:
    recording = transfer.recording
    what = (recording.what if recording else None) or transfer.reel.title
    told = [f"{what[:1].upper()}{what[1:]}" if what else "What is on it is not stated"]
    if recording is not None:
        told += [
            f"recorded {day(recording.when)}" if recording.when else "",
            recording.place or "",
            listed((*recording.speakers, *recording.performers)),
            f"a recording of the kind called {recording.generation}"
            if recording.generation and recording.generation != "original"
            else "",
        ]
    return f"{'; '.join(part for part in told if part)}."


def _how_long(transfer: Transfer, dossier: Dossier, at: Times) -> str:
    if transfer.kind == "record only" or not dossier.files:
        known = (transfer.not_played_category, transfer.not_played_because)
        why = "; ".join(part for part in known if part)
        return f"It was not played{f': {why}' if why else ''}. There is no sound in this package."
    sides = [_side(side, at) for side in transfer.reel.sides]
    of = f" {'; '.join(sides)}." if sides else " Which side is where is not stated."
    return f"{_length(sound_files(dossier))}{of}"


def _length(files: Iterable[FileRecord]) -> str:
    known = list(files)
    if not known:
        return "It holds no audio file that could be read."
    seconds = [f.frames / f.pcm.sample_rate_hz for f in known if f.frames and f.pcm]
    return f"{counted(len(known), 'audio file')}, {length(sum(seconds))} in all."


def _side(side: Side, at: Times) -> str:
    title = f" “{side.title}”" if side.title else ""
    speeds = [one for one in side.regions if one.speed_ips is not None]
    changes = [
        f"from {plain(one.speed_ips)} to {plain(other.speed_ips)} ips at"
        f" {at.at(other.capture, other.start)}"
        for one, other in pairwise(speeds)
        if one.speed_ips and other.speed_ips and one.speed_ips != other.speed_ips
    ]
    if len(changes) > _MOST_CHANGES:
        return f"Side {side.id}{title}, changing its speed {len(changes)} times"
    return f"Side {side.id}{title}{', changing ' + listed(changes) if changes else ''}"


def _noted(transfer: Transfer, at: Times) -> str:
    notes = [_note(one, at) for one in transfer.signal_notes]
    more = [counted(len(notes) - _NOTES, "more note")] if len(notes) > _NOTES else []
    heard = listed([*notes[:_NOTES], *more])
    listeners = listed([_listener(one, transfer) for one in transfer.listening])
    return " ".join(
        [
            f"Heard or seen: {heard}." if heard else "No fault of the sound is noted.",
            f"Listened to by {listeners}." if listeners else "Nobody is stated to have listened.",
        ]
    )


def _note(one: SignalNote, at: Times) -> str:
    home = f", in the {one.lives_in}" if one.lives_in and one.lives_in != "undecided" else ""
    return f"{one.heard} ({one.capture} {at.at(one.capture, one.start)}{home})"


def _listener(one: Listening, transfer: Transfer) -> str:
    share = f", {plain(one.share_percent)} %" if one.share_percent is not None else ""
    return f"{who(transfer, one.by) or 'somebody'} ({one.verdict or 'no verdict'}{share})"


def _state(reel: Reel) -> str:
    states = [f"{one.moment}: {inline(one, but=('moment', 'on', 'by'))}" for one in reel.condition]
    done = [
        f"{one.kind} ({inline(one, but=('kind', 'by', 'state', 'absent'))})"
        for one in reel.events
        if one.kind in {"treatment", "splice repair"} and one.state in {None, "done"}
    ]
    return " ".join(
        [
            f"The reel, {'; '.join(states)}." if states else "Its condition is not stated.",
            f"Done to it: {'; '.join(done)}." if done else "No treatment of it is on record.",
        ]
    )


def _uncertain(transfer: Transfer, at: Times) -> Iterator[str]:
    doubtful = [
        f"side {side.id} {at.stretch(one)} as {setting(one)}"
        for side in transfer.reel.sides
        for one in side.regions
        if one.confidence == "uncertain" and setting(one)
    ]
    if doubtful:
        yield f"Not certain: {listed(doubtful)}."


def _open(findings: tuple[Finding, ...]) -> str:
    mend = [one for one in findings if one.severity is Severity.MEND]
    asked = [one for one in findings if one.severity is Severity.QUERY]
    if mend:
        return f"{counted(len(mend), 'fault')} must be put right: {mend[0].text}"
    if asked:
        verb = "is" if len(asked) == 1 else "are"
        return f"{counted(len(asked), 'question')} {verb} open: {asked[0].text}"
    return "No question is open."
