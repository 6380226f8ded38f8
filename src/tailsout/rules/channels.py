"""Channels of a file against the tracks they are said to hold."""

from collections import Counter
from collections.abc import Iterator, Mapping
from itertools import islice

from tailsout.ground.findings import Finding, Kind, Severity
from tailsout.ground.units import printable
from tailsout.records.dossier import Dossier
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

_MOST_NAMED = 8
_STEREO = frozenset[Tracks]({"half-track stereo", "quarter-track stereo"})


def _channels(dossier: Dossier) -> Mapping[str, int]:
    """Return how many channels each capture has, be it one file or a mono file a track."""
    found: dict[str, int] = {}
    tracks: dict[str, set[int]] = {}
    for one in dossier.files:
        if one.capture is None:
            continue
        if one.track is not None:
            tracks.setdefault(one.capture, set()).add(one.track)
        elif one.pcm is not None:
            found[one.capture] = max(found.get(one.capture, 0), one.pcm.channels)
    return found | {capture: len(numbers) for capture, numbers in tracks.items()}


def _map(dossier: Dossier) -> Iterator[Finding]:
    transfer = transfer_of(dossier)
    channels = _channels(dossier)
    most: dict[str, int] = {}
    for one in transfer.captures:
        if one.pass_id is not None and one.id in channels:
            most[one.pass_id] = max(most.get(one.pass_id, 0), channels[one.id])
    for p, run in enumerate(transfer.passes):
        mapped = [one.channel for one in run.channels]
        if not mapped or run.id not in most:
            continue
        for text in _differences(mapped, most[run.id]):
            place = dossier.place(f"/passes/{p}/channels")
            yield MAP_DIFFERS.at(place, f"pass {printable(run.id)!r}: {text}.")


def _differences(mapped: list[int], channels: int) -> Iterator[str]:
    counts = Counter(mapped)
    for numbers, what in (
        ((one for one in sorted(counts) if counts[one] > 1), "is mapped twice"),
        (
            (one for one in sorted(counts) if not 1 <= one <= channels),
            f"is mapped, its captures have {channels}",
        ),
        ((one for one in range(1, channels + 1) if one not in counts), "is not mapped"),
    ):
        some = list(islice(numbers, _MOST_NAMED + 1))
        if some:
            shown = ", ".join(map(str, some[:_MOST_NAMED]))
            more = ", …" if len(some) > _MOST_NAMED else ""
            yield f"channel {shown}{more} {what}"


def _twice(dossier: Dossier) -> Iterator[Finding]:
    transfer = transfer_of(dossier)
    formats: dict[str, set[Tracks | None]] = {}
    for one in placed(transfer):
        if one.run is not None:
            formats.setdefault(one.run.id, set()).add(one.region.tracks)
    for p, run in enumerate(transfer.passes):
        # One track may lie under two cores: full track, or no word on the format.
        tracks = formats.get(run.id, set())
        if not tracks - {None} or "full-track mono" in tracks:
            continue
        seen: dict[str, int] = {}
        for c, channel in enumerate(run.channels):
            if channel.track is None:
                continue
            name = " ".join(channel.track.casefold().split())
            first = seen.setdefault(name, channel.channel)
            if first != channel.channel:
                track = printable(channel.track, 40)
                text = f"channels {first} and {channel.channel} come from track {track!r}."
                yield TRACK_TWICE.at(dossier.place(f"/passes/{p}/channels/{c}/track"), text)


def _stereo(dossier: Dossier) -> Iterator[Finding]:
    channels, told = _channels(dossier), set()
    for one in placed(transfer_of(dossier)):
        capture = one.region.capture
        if one.region.tracks not in _STEREO or capture in told:
            continue
        if channels.get(capture) == 1:
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
