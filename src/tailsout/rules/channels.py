"""Channels of a file against the tracks they are said to hold."""

from collections import Counter
from collections.abc import Iterator

from tailsout.ground.findings import Finding, Kind, Severity
from tailsout.ground.units import printable
from tailsout.records.dossier import Dossier
from tailsout.records.playing import Pass
from tailsout.records.transfer import Transfer
from tailsout.records.vocab import Tracks
from tailsout.rules.placed import placed
from tailsout.rules.rule import Rule, transfer_of

MAP_DIFFERS = Kind(
    code="channel-map-differs",
    severity=Severity.QUERY,
    title="The channel map of a pass is not that of its captures",
    basis="own rule: every channel of a file comes from one place, and no other is mapped",
    remedy="The engineer says which channel holds which track.",
)
TRACK_TWICE = Kind(
    code="track-captured-twice",
    severity=Severity.QUERY,
    title="Two channels are said to come from one track",
    basis="own rule: but for a track as wide as both cores, each core reads a track of its own",
    remedy="The engineer says which track the second channel holds.",
)
STEREO_ON_ONE = Kind(
    code="stereo-on-one-channel",
    severity=Severity.QUERY,
    title="A region stated as stereo lies in a capture of one channel",
    basis="own rule: two tracks need two channels",
    remedy="The engineer says whether the other track was captured, or the format is another.",
    needs_reel=True,
)

_STEREO = frozenset[Tracks]({"half-track stereo", "quarter-track stereo"})


def _channels_of(dossier: Dossier, capture: str) -> int | None:
    """Return how many channels a capture has, be it one file or a mono file a track."""
    files = [one for one in dossier.files if one.capture == capture]
    tracks = {one.track for one in files if one.track is not None}
    if tracks:
        return len(tracks)
    known = [one.pcm.channels for one in files if one.pcm is not None]
    return max(known, default=None)


def _map(dossier: Dossier) -> Iterator[Finding]:
    transfer = transfer_of(dossier)
    for p, run in enumerate(transfer.passes):
        mapped = [one.channel for one in run.channels]
        counts = [
            _channels_of(dossier, one.id) for one in transfer.captures if one.pass_id == run.id
        ]
        known = [one for one in counts if one is not None]
        if not mapped or not known:
            continue
        for text in _differences(mapped, max(known)):
            place = dossier.place(f"/passes/{p}/channels")
            yield MAP_DIFFERS.at(place, f"pass {printable(run.id)!r}: {text}.")


def _differences(mapped: list[int], channels: int) -> Iterator[str]:
    twice = sorted(one for one, count in Counter(mapped).items() if count > 1)
    beyond = sorted({one for one in mapped if not 1 <= one <= channels})
    left_out = sorted(set(range(1, channels + 1)) - set(mapped))
    for numbers, what in (
        (twice, "is mapped twice"),
        (beyond, f"is mapped, its captures have {channels}"),
        (left_out, "is not mapped"),
    ):
        if numbers:
            shown = ", ".join(map(str, numbers[:8])) + (", …" if len(numbers) > 8 else "")
            yield f"channel {shown} {what}"


def _twice(dossier: Dossier) -> Iterator[Finding]:
    transfer = transfer_of(dossier)
    for p, run in enumerate(transfer.passes):
        if _is_wider_than_a_core(transfer, run):
            continue
        seen: dict[str, int] = {}
        for c, one in enumerate(run.channels):
            if one.track is None:
                continue
            first = seen.setdefault(" ".join(one.track.casefold().split()), one.channel)
            if first != one.channel:
                track = printable(one.track, 40)
                text = f"channels {first} and {one.channel} come from track {track!r}."
                yield TRACK_TWICE.at(dossier.place(f"/passes/{p}/channels/{c}/track"), text)


def _is_wider_than_a_core(transfer: Transfer, run: Pass) -> bool:
    """Tell whether one track may lie under two cores: full track, or no word on the format."""
    captures = {one.id for one in transfer.captures if one.pass_id == run.id}
    tracks = {one.region.tracks for one in placed(transfer) if one.region.capture in captures}
    return not tracks - {None} or "full-track mono" in tracks


def _stereo(dossier: Dossier) -> Iterator[Finding]:
    told = set()
    for one in placed(transfer_of(dossier)):
        capture = one.region.capture
        if one.region.tracks not in _STEREO or capture in told:
            continue
        if _channels_of(dossier, capture) == 1:
            told.add(capture)
            text = (
                f"region {printable(one.region.id)!r} is {one.region.tracks}, capture "
                f"{printable(capture)!r} has one channel."
            )
            yield STEREO_ON_ONE.at(dossier.place(f"{one.pointer}/tracks"), text)


RULES = (
    Rule(
        name="channel map against captures",
        kinds=(MAP_DIFFERS,),
        needs=frozenset({"statements", "headers"}),
        run=_map,
    ),
    Rule(
        name="tracks of the channel map",
        kinds=(TRACK_TWICE,),
        needs=frozenset({"statements"}),
        run=_twice,
    ),
    Rule(
        name="stereo on two channels",
        kinds=(STEREO_ON_ONE,),
        needs=frozenset({"statements", "headers"}),
        run=_stereo,
    ),
)
