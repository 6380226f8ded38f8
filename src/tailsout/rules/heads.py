"""The tracks on the tape against the head that read them."""

from collections.abc import Iterator
from math import log

from tailsout.ground.findings import Finding, Kind, Severity
from tailsout.ground.units import printable
from tailsout.records.dossier import Dossier
from tailsout.records.machine import Head
from tailsout.rules.placed import Placed, placed
from tailsout.rules.rule import Rule, transfer_of
from tailsout.tape.heads import TRACK_WIDTHS_MM, track_on_head_db

HEAD_WIDER = Kind(
    code="head-wider-than-track",
    severity=Severity.QUERY,
    title="Every head of the machine is far wider than the track it read",
    basis="common practice, no source: a core half as wide again reads noise, or the track beside; "
    "widths by IEC 60094, from memory",
    remedy="The engineer says which head was used, and whether the track beside can be heard.",
)
HEAD_NARROWER = Kind(
    code="head-narrower-than-track",
    severity=Severity.NOTE,
    title="Every head of the machine is far narrower than the track it read",
    basis="common practice, no source: a narrow core costs signal to noise and lifts low tones "
    "(fringing); widths by IEC 60094, from memory",
    remedy="Nothing to do afterwards; whoever hears the transfer knows how it was read.",
)
_FAR = 1.5
"""The standards of one format lie within this of each other."""


def _tracks(dossier: Dossier) -> Iterator[Finding]:
    for one in placed(transfer_of(dossier)):
        track = TRACK_WIDTHS_MM.get(one.region.tracks or "")
        head = _nearest_head_mm(one, track) if track is not None else None
        if track is None or head is None or 1 / _FAR < head / track < _FAR:
            continue
        level, noise = track_on_head_db(track, head)
        text = (
            f"region {printable(one.region.id)!r} is {one.region.tracks}, some {track} mm wide, "
            f"the head {head} mm: level {level:.1f} dB, signal to noise {noise:.1f} dB."
        )
        kind = HEAD_WIDER if head > track else HEAD_NARROWER
        yield kind.at(dossier.place(f"{one.pointer}/tracks"), text)


def _nearest_head_mm(one: Placed, track_mm: float) -> float | None:
    """Return the width of the head that suits a track best; None if one of them is not known."""
    if one.machine is None:
        return None
    widths = [_width_mm(head) for head in one.machine.heads]
    known = [width for width in widths if width is not None]
    if not known or len(known) < len(widths):
        return None
    return min(known, key=lambda width: abs(log(width / track_mm)))


def _width_mm(head: Head) -> float | None:
    if head.core_width_mm is not None and head.core_width_mm > 0:
        return float(head.core_width_mm)
    return TRACK_WIDTHS_MM.get(head.track_format or "")


RULES = (
    Rule(
        name="tracks against heads",
        kinds=(HEAD_WIDER, HEAD_NARROWER),
        needs=frozenset({"statements"}),
        run=_tracks,
    ),
)
