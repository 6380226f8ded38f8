"""Channels against tracks: own rules."""

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest

from tailsout.records.dossier import Dossier, FileRecord
from tailsout.records.playing import Channel, Pass
from tailsout.records.transfer import Transfer
from tailsout.records.vocab import Tracks

RunRule = Callable[[str, Dossier], list[tuple[str, str]]]
MAP, TWICE = "channel map against captures", "tracks of the channel map"
STEREO = "stereo on two channels"
TRANSFER = "data/audio/reel.json#/transfer"


@pytest.fixture
def mapped(
    transfer: Callable[..., Transfer],
    received: Callable[..., Dossier],
    file: Callable[..., FileRecord],
) -> Callable[..., Dossier]:
    """Make a region of that track format, in files of so many channels, mapped so."""

    def make(
        *channels: Channel,
        tracks: Tracks | None = None,
        files: tuple[int, ...] = (2,),
        mono: bool = False,
    ) -> Dossier:
        made = transfer(
            passes=(Pass(id="p1", channels=channels),),
            captures=transfer().captures,
        )
        (side,) = made.reel.sides
        sides = (replace(side, regions=(replace(side.regions[0], tracks=tracks),)),)
        records = []
        for number, count in enumerate(files, start=1):
            pcm = file().pcm
            assert pcm is not None
            track = number if mono else None
            records.append(file(pcm=replace(pcm, channels=count), track=track))
        made = replace(made, reel=replace(made.reel, sides=sides))
        return received(transfer=made, files=tuple(records))

    return make


def channel(number: int, track: str | None = None, **more: Any) -> Channel:
    return Channel(channel=number, track=track, **more)


# channel-map-differs


@pytest.mark.parametrize(
    ("numbers", "files", "faults"),
    [
        ((1, 2), (2,), 0),
        ((), (2,), 0),
        ((1,), (2,), 1),
        ((1, 2, 3), (2,), 1),
        ((1, 1), (2,), 2),
        ((0, 1, 2), (2,), 1),
        # Two recorders ran: the larger of the two is held against the map.
        ((1, 2), (1, 2), 0),
        ((1, 2), (), 0),
    ],
)
def test_a_map_names_every_channel_and_no_other(
    run: RunRule,
    mapped: Callable[..., Dossier],
    numbers: tuple[int, ...],
    files: tuple[int, ...],
    faults: int,
) -> None:
    found = run(MAP, mapped(*map(channel, numbers), files=files))
    assert found == [("channel-map-differs", f"{TRANSFER}/passes/0/channels")] * faults


def test_mono_files_are_counted_together(run: RunRule, mapped: Callable[..., Dossier]) -> None:
    eight = tuple(channel(n) for n in range(1, 9))
    assert run(MAP, mapped(*eight, files=(1,) * 8, mono=True)) == []
    assert len(run(MAP, mapped(*eight, files=(1,) * 7, mono=True))) == 1


# track-captured-twice


@pytest.mark.parametrize(
    ("tracks", "named", "asked"),
    [
        ("half-track stereo", ("1", "1"), True),
        ("half-track mono", (" Upper", "upper"), True),
        ("half-track stereo", ("1", "2"), False),
        ("half-track stereo", ("1", None), False),
        ("half-track stereo", (None, None), False),
        # A full track lies under both cores, and so may one of which nobody said a word.
        ("full-track mono", ("1", "1"), False),
        (None, ("1", "1"), False),
    ],
)
def test_a_core_reads_a_track_of_its_own(
    *,
    run: RunRule,
    mapped: Callable[..., Dossier],
    tracks: Tracks | None,
    named: tuple[str | None, ...],
    asked: bool,
) -> None:
    channels = (channel(n, track) for n, track in enumerate(named, start=1))
    place = f"{TRANSFER}/passes/0/channels/1/track"
    assert run(TWICE, mapped(*channels, tracks=tracks)) == [("track-captured-twice", place)] * asked


# stereo-on-one-channel


@pytest.mark.parametrize(
    ("tracks", "files", "mono", "asked"),
    [
        ("half-track stereo", (1,), False, True),
        ("quarter-track stereo", (1,), False, True),
        ("half-track stereo", (2,), False, False),
        ("half-track stereo", (1, 1), True, False),
        ("half-track mono", (1,), False, False),
        ("multitrack", (1,), False, False),
        (None, (1,), False, False),
        ("half-track stereo", (), False, False),
    ],
)
def test_two_tracks_need_two_channels(
    *,
    run: RunRule,
    mapped: Callable[..., Dossier],
    tracks: Tracks | None,
    files: tuple[int, ...],
    mono: bool,
    asked: bool,
) -> None:
    place = f"{TRANSFER}/reel/sides/0/regions/0/tracks"
    found = run(STEREO, mapped(tracks=tracks, files=files, mono=mono))
    assert found == [("stereo-on-one-channel", place)] * asked


def test_a_capture_is_asked_about_once(run: RunRule, mapped: Callable[..., Dossier]) -> None:
    dossier = mapped(tracks="half-track stereo", files=(1,))
    assert dossier.transfer is not None
    (side,) = dossier.transfer.reel.sides
    both = (side.regions[0], replace(side.regions[0], id="A2"))
    reel = replace(dossier.transfer.reel, sides=(replace(side, regions=both),))
    assert len(run(STEREO, replace(dossier, transfer=replace(dossier.transfer, reel=reel)))) == 1
