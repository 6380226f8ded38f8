"""Regions against the audio they point to, and against each other."""

from collections.abc import Callable
from dataclasses import replace

import pytest

from tailsout.records.dossier import Dossier, FileRecord
from tailsout.records.reel import Reel, Region, Side
from tailsout.records.transfer import Transfer
from tailsout.rules import judge

Run = Callable[[str, Dossier], list[tuple[str, str]]]
RULE = "regions inside the audio"
FRAMES = 48_000
Span = tuple[int, int | None]


def side(name: str, *spans: Span, capture: str = "reel") -> Side:
    regions = (
        Region(id=f"{name}{n}", kind="programme", capture=capture, start=start, end=end)
        for n, (start, end) in enumerate(spans, start=1)
    )
    return Side(id=name, regions=tuple(regions))


def place(region: int, *, side: int = 0) -> str:
    return f"data/audio/reel.json#/transfer/reel/sides/{side}/regions/{region}"


@pytest.fixture
def holding(
    transfer: Callable[..., Transfer], stating: Callable[[Transfer], Dossier]
) -> Callable[..., Dossier]:
    return lambda *sides: stating(transfer(reel=Reel(sides=sides)))


# region-outside


@pytest.mark.parametrize(
    "span",
    [
        (0, FRAMES + 1),
        (FRAMES, None),
        (FRAMES, FRAMES + 1),
        (FRAMES + 1, None),
        (FRAMES - 1, 10 * FRAMES),
    ],
)
def test_a_region_past_the_end(run: Run, holding: Callable[..., Dossier], span: Span) -> None:
    assert run(RULE, holding(side("A", span))) == [("region-outside", place(0))]


@pytest.mark.parametrize("span", [(0, FRAMES), (FRAMES - 1, FRAMES), (FRAMES - 1, None), (0, None)])
def test_a_region_that_ends_with_the_last_frame(
    run: Run, holding: Callable[..., Dossier], span: Span
) -> None:
    assert run(RULE, holding(side("A", span))) == []


def test_the_reach_is_told_in_samples_and_time(holding: Callable[..., Dossier]) -> None:
    for span, reach in (
        ((0, FRAMES + 48), "sample 48048 (0:01.001)"),
        ((FRAMES + 96, None), "sample 48096 (0:01.002)"),
    ):
        [finding] = judge(holding(side("A", span))).findings[:1]
        assert f"region 'A1' reaches {reach}, capture 'reel' ends at sample 48000" in finding.text


def test_a_capture_that_is_not_there_or_has_no_length_is_told_elsewhere(
    run: Run,
    holding: Callable[..., Dossier],
    received: Callable[..., Dossier],
    file: Callable[..., FileRecord],
) -> None:
    assert run(RULE, holding(side("A", (0, 10 * FRAMES), capture="another"))) == []
    far = holding(side("A", (0, 10 * FRAMES)))
    assert run(RULE, replace(far, files=(file(frames=None, pcm=None),))) == []
    assert run(RULE, replace(far, files=(file(capture=None),))) == []
    assert run(RULE, replace(far, files=(file(frames=0),))) == [("region-outside", place(0))]


# region-backwards


@pytest.mark.parametrize("span", [(100, 99), (100, 100), (FRAMES + 5, 0), (0, 0)])
def test_a_region_that_ends_before_it_begins(
    run: Run, holding: Callable[..., Dossier], span: Span
) -> None:
    assert run(RULE, holding(side("A", span))) == [("region-backwards", place(0))]


def test_one_sample_is_a_region(run: Run, holding: Callable[..., Dossier]) -> None:
    assert run(RULE, holding(side("A", (100, 101)))) == []


# region-overlap


@pytest.mark.parametrize(
    ("spans", "overlapping"),
    [
        (((0, 101), (100, 200)), [1]),
        (((0, 200), (0, 200)), [1]),
        (((0, None), (100, 200)), [1]),
        (((0, 300), (10, 20), (30, 40)), [1, 2]),
        (((0, None), (10, 20), (30, 40)), [1, 2]),
        (((0, 100), (50, None), (200, 300)), [1, 2]),
        (((0, 100), (90, 110), (105, 120)), [1, 2]),
        (((100, 200), (0, 101)), [0]),
    ],
)
def test_regions_that_claim_the_same_samples(
    run: Run, holding: Callable[..., Dossier], spans: tuple[Span, ...], overlapping: list[int]
) -> None:
    expected = [("region-overlap", place(number)) for number in overlapping]
    assert run(RULE, holding(side("A", *spans))) == expected


@pytest.mark.parametrize(
    "spans",
    [
        ((0, 100), (100, 200)),
        ((0, 100), (150, 200)),
        ((100, 200), (0, 100)),
        ((0, 100), (100, None)),
    ],
)
def test_regions_that_meet_or_lie_apart(
    run: Run, holding: Callable[..., Dossier], spans: tuple[Span, ...]
) -> None:
    assert run(RULE, holding(side("A", *spans))) == []


def test_a_region_that_runs_backwards_overlaps_nothing(
    run: Run, holding: Callable[..., Dossier]
) -> None:
    found = run(RULE, holding(side("A", (0, 100), (50, 40), (100, 200))))
    assert found == [("region-backwards", place(1))]


def test_sides_and_captures_are_each_their_own(run: Run, holding: Callable[..., Dossier]) -> None:
    # Both sides of a quarter-track reel may be taken in one capture, one of them reversed.
    assert run(RULE, holding(side("A", (0, 200)), side("B", (100, 300)))) == []
    split = side("A", (0, 200)).regions + side("B", (100, 300), capture="reel-2").regions
    assert run(RULE, holding(Side(id="A", regions=split))) == []
    found = run(RULE, holding(side("A", (0, 200)), side("B", (0, 200), (100, 300))))
    assert found == [("region-overlap", place(1, side=1))]
