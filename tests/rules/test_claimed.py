"""What of a capture is told of: own rules."""

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest

from tailsout.records.capture import Capture
from tailsout.records.dossier import Dossier, FileRecord
from tailsout.records.listening import SignalNote
from tailsout.records.playing import Pass
from tailsout.records.sound import AudioFacts, Gap
from tailsout.records.transfer import Transfer
from tailsout.rules import judge

RunRule = Callable[[str, Dossier], list[tuple[str, str]]]
UNCLAIMED = "captures against regions"
SIDES, NOTES = "regions against the sides that were played", "notes inside the audio"
TRANSFER = "data/audio/reel.json#/transfer"
RATE = 48_000


@pytest.fixture
def long(
    transfer: Callable[..., Transfer],
    received: Callable[..., Dossier],
    file: Callable[..., FileRecord],
    measured: Callable[..., AudioFacts],
) -> Callable[..., Dossier]:
    """Make a capture of five minutes with these regions and gaps, in seconds."""

    def make(
        regions: tuple[tuple[int, int | None], ...],
        gaps: tuple[tuple[int, int], ...] = (),
        **changes: Any,
    ) -> Dossier:
        made = transfer(**changes)
        (side,) = made.reel.sides
        stretches = tuple(
            replace(
                side.regions[0],
                id=f"A{n}",
                start=start * RATE,
                end=None if end is None else end * RATE,
            )
            for n, (start, end) in enumerate(regions)
        )
        quiet = tuple(Gap(start=a * RATE, end=b * RATE, kind="quiet as leader") for a, b in gaps)
        reel = replace(made.reel, sides=(replace(side, regions=stretches),))
        return received(
            transfer=replace(made, reel=reel),
            files=(file(frames=300 * RATE, measured=measured(gaps=quiet)),),
        )

    return make


@pytest.mark.parametrize(
    ("regions", "gaps", "stretches"),
    [
        (((0, 300),), (), []),
        (((0, None),), (), []),
        (((0, 270),), (), []),
        (((0, 269),), (), ["4:29.000 to 5:00.000"]),
        (((31, 300),), (), ["0:00.000 to 0:31.000"]),
        (((0, 100), (131, 300)), (), ["1:40.000 to 2:11.000"]),
        (((131, 300), (0, 100)), (), ["1:40.000 to 2:11.000"]),
        # Leader, run-out and pauses are nothing that a region has to claim.
        (((60, 200),), ((0, 58), (205, 300)), []),
        (((60, 200),), ((0, 58),), ["3:20.000 to 5:00.000"]),
        (((0, 200), (50, 100)), ((200, 300),), []),
    ],
)
def test_a_stretch_that_lies_in_no_region(
    *,
    run: RunRule,
    told: Callable[[str, Dossier], list[str]],
    long: Callable[..., Dossier],
    regions: tuple[tuple[int, int | None], ...],
    gaps: tuple[tuple[int, int], ...],
    stretches: list[str],
) -> None:
    dossier = long(regions, gaps)
    place = f"{TRANSFER}/captures/0"
    assert run(UNCLAIMED, dossier) == [("capture-stretch-unclaimed", place)] * len(stretches)
    assert [text.partition(" lies")[0] for text in told(UNCLAIMED, dossier)] == stretches


def test_what_was_not_measured_is_not_said_to_sound(
    run: RunRule, long: Callable[..., Dossier]
) -> None:
    dossier = long(((0, 100),))
    [file] = dossier.files
    unmeasured = replace(dossier, files=(replace(file, measured=None, sidecar=None),))
    assert run(UNCLAIMED, unmeasured) == []


def test_of_a_transfer_told_afterwards_nothing_is_asked(
    run: RunRule, long: Callable[..., Dossier]
) -> None:
    assert run(UNCLAIMED, long(((0, 100),), kind="retrospective")) == []


@pytest.mark.parametrize(
    ("pass_id", "kept", "asked"), [("p1", None, True), ("p2", False, False), ("p2", True, True)]
)
def test_a_capture_of_which_no_region_tells(
    *,
    run: RunRule,
    long: Callable[..., Dossier],
    transfer: Callable[..., Transfer],
    pass_id: str,
    kept: bool | None,
    asked: bool,
) -> None:
    captures = (*transfer().captures, Capture(id="b", file="captures/b.wav", pass_id=pass_id))
    passes = (*transfer().passes, Pass(id="p2", kept=kept))
    found = run(UNCLAIMED, long(((0, 300),), captures=captures, passes=passes))
    assert found == [("capture-without-region", f"{TRANSFER}/captures/1")] * asked
    # Where no region is told of at all, that is how the record was kept.
    assert run(UNCLAIMED, long((), captures=captures, passes=passes)) == []


# region-of-another-side


@pytest.mark.parametrize(
    ("sides", "asked"), [(("B",), True), (("A",), False), (("B", "A"), False), ((), False)]
)
def test_a_region_of_a_side_that_was_not_played(
    *,
    run: RunRule,
    stating: Callable[[Transfer], Dossier],
    transfer: Callable[..., Transfer],
    sides: tuple[str, ...],
    asked: bool,
) -> None:
    found = run(SIDES, stating(transfer(passes=(Pass(id="p1", sides=sides),))))
    place = f"{TRANSFER}/reel/sides/0/regions/0/capture"
    assert found == [("region-of-another-side", place)] * asked


# note-outside


@pytest.mark.parametrize(
    ("start", "end", "capture", "asked"),
    [
        (0, 48_000, "reel", False),
        (48_000, None, "reel", False),
        (48_001, None, "reel", True),
        (100, 48_001, "reel", True),
        (100, 99, "reel", True),
        (100, 100, "reel", False),
        (10**9, None, "lost", False),
    ],
)
def test_a_note_points_to_samples_that_exist(
    *,
    run: RunRule,
    stating: Callable[[Transfer], Dossier],
    transfer: Callable[..., Transfer],
    start: int,
    end: int | None,
    capture: str,
    asked: bool,
) -> None:
    note = SignalNote(capture=capture, start=start, end=end, heard="a bump")
    found = run(NOTES, stating(transfer(signal_notes=(note,))))
    assert found == [("note-outside", f"{TRANSFER}/signal_notes/0")] * asked


def test_a_note_of_a_capture_that_nobody_read_is_told_without_a_time(
    stating: Callable[[Transfer], Dossier], transfer: Callable[..., Transfer]
) -> None:
    note = SignalNote(capture="lost", start=100, end=99, heard="a bump")
    found = judge(stating(transfer(signal_notes=(note,)))).findings
    (said,) = (one.text for one in found if one.code == "note-outside")
    assert said == "it ends before it begins."
