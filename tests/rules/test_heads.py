"""Tracks against heads; widths by IEC 60094-1 and -6, from memory."""

from collections.abc import Callable, Sequence
from dataclasses import replace
from decimal import Decimal
from typing import Any

import pytest

from tailsout.ground.findings import Severity
from tailsout.records.dossier import Dossier
from tailsout.records.machine import Head, Machine
from tailsout.records.transfer import Transfer
from tailsout.records.vocab import Tracks
from tailsout.rules.heads import HEAD_NARROWER, HEAD_WIDER

RunRule = Callable[[str, Dossier], list[tuple[str, str]]]
Reading = Callable[..., Dossier]
RULE = "tracks against heads"
PLACE = "data/audio/reel.json#/transfer/reel/sides/0/regions/0/tracks"
WIDER, NARROWER = [("head-wider-than-track", PLACE)], [("head-narrower-than-track", PLACE)]


@pytest.fixture
def reading(stating: Callable[[Transfer], Dossier], transfer: Callable[..., Transfer]) -> Reading:
    def make(tracks: Tracks | None, *heads: Head) -> Dossier:
        made = transfer(machines=(Machine(id="left", heads=heads),))
        (side,) = made.reel.sides
        (region,) = side.regions
        sides = (replace(side, regions=(replace(region, tracks=tracks),)),)
        return stating(replace(made, reel=replace(made.reel, sides=sides)))

    return make


def head(track_format: Tracks | None = None, core: str | None = None) -> Head:
    return Head(track_format=track_format, core_width_mm=Decimal(core) if core else None)


@pytest.mark.parametrize(
    ("tracks", "heads", "found"),
    [
        ("half-track mono", [head("half-track stereo", "2.1")], []),
        ("half-track mono", [head("half-track stereo")], []),
        ("half-track mono", [head("full-track mono")], WIDER),
        ("full-track mono", [head("half-track stereo")], NARROWER),
        ("quarter-track stereo", [head("half-track stereo")], WIDER),
        ("half-track stereo", [head("quarter-track stereo")], NARROWER),
        # "Butterfly" cores of 2.75 mm lie within what differs from standard to standard.
        ("half-track stereo", [head("half-track stereo", "2.75")], []),
        # A core that is stated outweighs the format's usual one.
        ("half-track mono", [head("half-track mono", "6.3")], WIDER),
        # One head that suits is enough; one that is not known may suit.
        ("half-track mono", [head("full-track mono"), head("half-track mono")], []),
        ("half-track mono", [head("full-track mono"), head("multitrack")], []),
        ("half-track mono", [head()], []),
        ("half-track mono", [head(core="0")], []),
        ("half-track mono", [], []),
        ("multitrack", [head("full-track mono")], []),
        (None, [head("full-track mono")], []),
    ],
)
def test_a_head_far_from_the_track(
    run: RunRule,
    reading: Reading,
    tracks: Tracks | None,
    heads: Sequence[Head],
    found: list[tuple[str, str]],
) -> None:
    assert run(RULE, reading(tracks, *heads)) == found


def test_what_it_costs_is_told(reading: Reading, told: Callable[[str, Dossier], Any]) -> None:
    # 2.1 mm on a full-track head: -9.5 and -4.8 dB, derived.
    (text,) = told(RULE, reading("half-track mono", head("full-track mono")))
    assert text == (
        "region 'A1' is half-track mono, some 2.1 mm wide, the head 6.3 mm: level -9.5 dB, signal "
        "to noise -4.8 dB."
    )


def test_what_may_have_been_read_beside_is_a_question_and_noise_is_a_note() -> None:
    assert (HEAD_WIDER.severity, HEAD_NARROWER.severity) == (Severity.QUERY, Severity.NOTE)
