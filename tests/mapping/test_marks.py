"""Regions and signal notes become marks of one master."""

from decimal import Decimal
from typing import Any

import pytest

from tailsout.mapping.embedded import Master
from tailsout.mapping.marks import marks_for
from tailsout.records.listening import SignalNote
from tailsout.wave.marks import Mark

FRAMES = 1000


def marked(make: Any, transfer: Any, starts_at: int = 0) -> tuple[Mark, ...]:
    master = Master(path="data/audio/a.wav", stem="a", file_id="f", starts_at=starts_at)
    return marks_for(transfer, make.capture, master=master, frames=FRAMES)


def test_a_region_is_a_stretch_with_its_settings_and_a_note_a_moment(make: Any) -> None:
    transfer = make.transfer(
        make.region(600, kind="leader"),
        make.region(
            0,
            end=600,
            title="entry one – dawn",
            speed_ips=Decimal(7),
            equalisation=make.nab,
            tracks="half-track mono",
            direction="reversed",
            note="wind",
        ),
        make.region(5, capture="another"),
        signal_notes=(
            SignalNote(capture="side-a", start=7, heard="splice", lives_in="carrier", channel="1"),
            SignalNote(capture="side-a", start=9, end=12, heard="hum", note="faint"),
            SignalNote(capture="another", start=7, heard="nothing of ours"),
        ),
    )
    assert marked(make, transfer) == (
        Mark(
            frame=0,
            frames=600,
            label="side A: programme, entry one – dawn",
            note="7 ips (17.78 cm/s); NAB 3180+50 us; half-track mono; played in reverse; wind",
        ),
        Mark(frame=7, label="splice", note="channel 1; lives in the carrier"),
        Mark(frame=9, frames=3, label="hum", note="faint"),
        Mark(frame=600, frames=400, label="side A: leader"),
    )


@pytest.mark.parametrize(
    ("start", "end", "wanted"),
    [
        (0, 1000, None),  # before the part
        (0, 1001, (0, 1)),
        (1000, 2000, (0, 1000)),
        (1500, None, (500, 500)),
        (1500, 2500, (500, 500)),
        (500, None, (0, 1000)),
        (1999, 2000, (999, 1)),
        (2000, None, None),
        (2000, 2100, None),
    ],
)
def test_a_part_has_what_lies_in_it(
    make: Any, start: int, end: int | None, wanted: tuple[int, int] | None
) -> None:
    found = marked(make, make.transfer(make.region(start, end=end)), starts_at=1000)
    assert [(mark.frame, mark.frames) for mark in found] == ([wanted] if wanted else [])


@pytest.mark.parametrize(
    ("start", "inside"), [(999, False), (1000, True), (1999, True), (2000, False)]
)
def test_a_moment_lies_in_one_part(make: Any, start: int, inside: bool) -> None:
    note = SignalNote(capture="side-a", start=start, heard="click")
    found = marked(make, make.transfer(signal_notes=(note,)), starts_at=1000)
    assert [mark.frame for mark in found] == ([start - 1000] if start in {1000, 1999} else [])
