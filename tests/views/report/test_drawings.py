"""The drawings: where things lie on the tape and in time, and what is said beside them."""

import xml.etree.ElementTree as ET
from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal
from typing import Any

import pytest

from tailsout.ground.pcm import Pcm
from tailsout.records.capture import Capture
from tailsout.records.carrier import Leader, Splice
from tailsout.records.chain import Chain, ChainStep
from tailsout.records.dossier import Dossier, FileRecord
from tailsout.records.facts import ContainerFacts
from tailsout.records.listening import SignalNote
from tailsout.records.playing import Pass, SetUp
from tailsout.records.reel import Reel, Region, Side
from tailsout.records.sound import AudioFacts, ChannelFacts, Dropout, Gap
from tailsout.records.transfer import Studio, Transfer
from tailsout.records.vocab import RegionKind, Run
from tailsout.views.report.tape import laid_out

RATE = 48_000
SVG = "{http://www.w3.org/2000/svg}"
PCM = Pcm(is_float=False, sample_rate_hz=RATE, channels=1, container_bits=24, valid_bits=24)


def file(capture: str, seconds: int, **more: Any) -> FileRecord:
    return FileRecord(
        path=f"data/audio/{capture}.wav",
        octets=1,
        capture=capture,
        container=ContainerFacts(form="RIFF", chunks=()),
        pcm=PCM,
        frames=RATE * seconds,
        **more,
    )


def captured(one_id: str, during: str) -> Capture:
    return Capture(id=one_id, file=f"{one_id}.wav", pass_id=during)


def region(
    capture: str, start: int, end: int | None, kind: RegionKind = "programme", **more: Any
) -> Region:
    return Region(
        id=f"{capture}{start}",
        kind=kind,
        capture=capture,
        start=start * RATE,
        end=None if end is None else end * RATE,
        **more,
    )


SLOW, FAST = Decimal("3.75"), Decimal("7.5")
SIDES = (
    Side(
        id="A",
        regions=(
            region("a", 0, 10, "line-up tone", speed_ips=FAST),
            region("a", 20, 40, speed_ips=FAST),
        ),
    ),
    Side(id="B", regions=(region("b", 0, None, speed_ips=SLOW),)),
)
TRANSFER = Transfer(
    job_id="j",
    package_id="SKL-7",
    studio=Studio(),
    reel=Reel(
        sides=SIDES,
        splices=(Splice(at="side A, 0:30"), Splice(at="somewhere")),
        leaders=(Leader(end="heads", kind="leader tape"),),
    ),
    captures=(
        captured("a", "p1"),
        captured("b", "p2"),
    ),
    passes=(
        Pass(id="p1", tape_ran="head to tail"),
        Pass(id="p2", tape_ran="tail to head", set_up=SetUp(speed_ips=SLOW)),
    ),
)
DOSSIER = Dossier(origin="received", transfer=TRANSFER, files=(file("a", 40), file("b", 80)))


def with_reel(**more: Any) -> Dossier:
    reel = replace(TRANSFER.reel, **more)
    return replace(DOSSIER, transfer=replace(TRANSFER, reel=reel))


def laid(dossier: Dossier) -> Any:
    assert dossier.transfer is not None
    return laid_out(dossier, dossier.transfer)


def drawing(made: Any, name: str) -> ET.Element:
    found = [
        one
        for one in made.tree.iter(f"{SVG}svg")
        if one.attrib["aria-labelledby"].startswith(f"{name}-")
    ]
    assert len(found) == 1
    drawn: ET.Element = found[0]
    return drawn


def words(one: ET.Element) -> list[str]:
    return ["".join(text.itertext()) for text in one.iter(f"{SVG}text")]


def told(one: ET.Element) -> str:
    (desc,) = one.iter(f"{SVG}desc")
    return "".join(desc.itertext())


def test_regions_lie_where_seconds_and_speed_put_them() -> None:
    """30 s at 7.5 ips are 5.715 m: 7.5 × 0.0254 m a second."""
    reel = laid(DOSSIER)
    assert reel.unit == "m"
    first, second = reel.strips[0].regions
    assert (first.start, first.end) == (0, Decimal("1.905"))
    assert (second.start, second.end) == (Decimal("3.810"), Decimal("7.620"))
    (other,) = reel.strips[1].regions
    assert other.end == Decimal("7.620")
    assert [one.number for strip in reel.strips for one in strip.regions] == [1, 2, 3]
    assert [strip.runs for strip in reel.strips] == ["head to tail", "tail to head"]


def test_a_splice_lies_where_its_side_and_time_say() -> None:
    reel = laid(DOSSIER)
    assert reel.strips[0].splices == (Decimal("5.715"),)
    assert reel.strips[1].splices == ()


@pytest.mark.parametrize("at", ["side A, 0:15", "side AB, 0:30", "0:30", None, "side A, 9:99:99"])
def test_a_splice_of_no_known_place_is_not_drawn(at: str | None) -> None:
    assert laid(with_reel(splices=(Splice(at=at),))).strips[0].splices == ()


def test_a_speed_that_is_not_stated_is_that_of_the_region_before_or_of_the_pass() -> None:
    sides = (
        Side(id="A", regions=(region("a", 0, 10, speed_ips=FAST), region("a", 10, 20))),
        Side(id="B", regions=(region("b", 0, 20),)),
    )
    reel = laid(with_reel(sides=sides))
    assert reel.strips[0].regions[1].end == Decimal("3.810")
    assert reel.strips[1].regions[0].end == Decimal("1.905")


def test_without_any_speed_time_is_drawn() -> None:
    reel = laid(with_reel(sides=(Side(id="A", regions=(region("a", 5, 20),)),)))
    assert reel.unit == "s"
    assert reel.longest == 15


def test_another_capture_goes_on_where_the_one_before_ended() -> None:
    regions = (region("a", 0, 10, speed_ips=FAST), region("b", 30, 40, speed_ips=FAST))
    reel = laid(with_reel(sides=(Side(id="A", regions=regions),)))
    assert reel.strips[0].regions[1].start == Decimal("1.905")


def test_a_region_of_no_known_length_is_listed_and_not_drawn(page: Callable[..., Any]) -> None:
    dossier = replace(DOSSIER, files=(file("a", 40),))
    made = page(dossier)
    assert "3 programme" not in told(drawing(made, "reel"))
    cells = [made.told(one) for one in made.named("th") if one.attrib["scope"] == "row"]
    assert cells[:3] == ["1", "2", "–"]


def test_the_strip_says_in_words_what_it_shows(page: Callable[..., Any]) -> None:
    drawn = drawing(page(DOSSIER), "reel")
    assert told(drawn) == (
        "Side A: 1 line-up tone from 0.0 to 1.9 m, 2 programme from 3.8 to 7.6 m; splices at 5.7 "
        "m. Side B: 3 programme from 0.0 to 7.6 m."
    )
    assert {"A", "B", "1", "2", "3", "7.5 ips", "3.75 ips", "line-up tone"} <= set(words(drawn))


def test_a_side_that_ran_the_other_way_begins_at_the_other_end(page: Callable[..., Any]) -> None:
    def first_x(runs: Run) -> float:
        passes = (replace(TRANSFER.passes[0], tape_ran=runs),)
        captures = (captured("a", "p1"),)
        reel = replace(TRANSFER.reel, sides=SIDES[:1])
        whole = replace(TRANSFER, passes=passes, captures=captures, reel=reel)
        drawn = drawing(page(replace(DOSSIER, transfer=whole)), "reel")
        label = next(t for t in drawn.iter(f"{SVG}text") if "".join(t.itertext()) == "1")
        return float(label.attrib["x"])

    assert first_x("head to tail") < 180 < first_x("tail to head")


def test_what_is_drawn_stays_on_the_sheet(page: Callable[..., Any]) -> None:
    drawn = list(page(DOSSIER).tree.iter(f"{SVG}rect"))
    assert len(drawn) > 5
    for one in drawn:
        x, width = float(one.attrib["x"]), float(one.attrib["width"])
        assert x >= 0
        assert x + width <= 360.1


@pytest.mark.parametrize(
    "dossier",
    [
        Dossier(origin="received", transfer=TRANSFER),
        with_reel(sides=()),
        with_reel(sides=(Side(id="A", regions=(region("a", 9, 9),)),)),
        Dossier(origin="received"),
    ],
)
def test_without_lengths_there_is_no_strip(page: Callable[..., Any], dossier: Dossier) -> None:
    names = [one.attrib["aria-labelledby"] for one in page(dossier).tree.iter(f"{SVG}svg")]
    assert not [one for one in names if one.startswith("reel")]


STEPS = (
    ChainStep(kind="reproduce head", device="Tidewright", signal="analogue"),
    ChainStep(kind="converter", device="Thwart C2 " * 20, signal="digital"),
    ChainStep(kind="recorder"),
)


def test_the_chain_is_drawn_step_by_step(page: Callable[..., Any]) -> None:
    dossier = replace(DOSSIER, transfer=replace(TRANSFER, chain=Chain(steps=STEPS, reason="short")))
    made = page(dossier)
    drawn = drawing(made, "chain")
    assert words(drawn)[:2] == ["1", "reproduce head"]
    assert "analogue" in words(drawn)
    assert told(drawn).startswith("1: reproduce head, Tidewright, then analogue. 2: converter")
    assert all(len(one) <= 44 for one in words(drawn))
    classes = [one.attrib.get("class") for one in drawn.iter(f"{SVG}path")]
    assert classes.count("double") == 1
    assert "Why this way: short" in made.text


def test_a_long_chain_is_drawn_in_part_and_told_whole(page: Callable[..., Any]) -> None:
    steps = tuple(ChainStep(kind="patch", device=f"d{n}") for n in range(40))
    made = page(replace(DOSSIER, transfer=replace(TRANSFER, chain=Chain(steps=steps))))
    assert "The first 16 of 40 steps." in made.text
    assert "d39" in made.text


def test_without_a_chain_there_is_no_such_section(page: Callable[..., Any]) -> None:
    assert "The signal chain" not in page(DOSSIER).text


FACTS = AudioFacts(
    frames=RATE * 40,
    sample_rate_hz=RATE,
    essence_sha256="5a" * 32,
    channels=(),
    gaps=(Gap(start=0, end=RATE * 2, kind="pause", level_dbfs=Decimal(-60)),),
    dropouts=(Dropout(channel=1, start=RATE * 20, length=480, depth_db=Decimal(12)),),
)


def test_a_file_is_drawn_along_its_time(page: Callable[..., Any]) -> None:
    notes = (SignalNote(capture="a", start=RATE * 30, heard="click"),)
    whole = replace(TRANSFER, signal_notes=notes)
    dossier = replace(DOSSIER, transfer=whole, files=(file("a", 40, measured=FACTS),))
    made = page(dossier)
    drawn = drawing(made, "file-1")
    assert words(drawn)[:4] == ["regions", "notes", "pauses", "dropouts"]
    assert "Notes: 0:30.000 to 0:30.000." in told(drawn)
    assert "Marked: 2 regions, 1 note, " in made.text
    assert "0:40" in words(drawn)
    assert "click" in made.text


@pytest.mark.parametrize("pcm", [None, PCM])
def test_a_file_without_marks_is_only_told(page: Callable[..., Any], pcm: Pcm | None) -> None:
    bare = replace(file("a", 40), pcm=pcm)
    made = page(Dossier(origin="received", files=(bare,)))
    assert list(made.tree.iter(f"{SVG}svg")) == []
    assert "data/audio/a.wav" in made.text


LEVELS = AudioFacts(
    frames=RATE * 40,
    sample_rate_hz=RATE,
    essence_sha256="5a" * 32,
    channels=(
        ChannelFacts(
            noise_floor_dbfs=Decimal("-60.00"),
            rms_dbfs=Decimal("-20.00"),
            sample_peak_dbfs=Decimal("-5.00"),
        ),
        ChannelFacts(sample_peak_dbfs=Decimal("3.00"), rms_dbfs=Decimal("-140.00")),
        ChannelFacts(),
    ),
    integrated_lufs=Decimal("-23.00"),
    momentary_max_lufs=Decimal("-18.50"),
)


def test_levels_are_drawn_and_told(page: Callable[..., Any]) -> None:
    made = page(Dossier(origin="received", files=(file("a", 40, measured=LEVELS),)))
    drawn = drawing(made, "level-1")
    assert told(drawn) == (
        "channel 1: noise floor -60.00, root mean square -20.00, peak -5.00; channel 2: root mean "
        "square -140.00, peak 3.00; LUFS: integrated -23.00, highest momentary -18.50."
    )
    assert words(drawn)[:3] == ["channel 1", "channel 2", "LUFS"]


def test_levels_beyond_the_scale_stand_at_its_ends(page: Callable[..., Any]) -> None:
    made = page(Dossier(origin="received", files=(file("a", 40, measured=LEVELS),)))
    paths = list(drawing(made, "level-1").iter(f"{SVG}path"))
    assert len(paths) > 2
    for path in paths:
        x = float(path.attrib["d"][1:].split()[0])
        assert 62 <= x <= 350


def test_of_digital_silence_no_levels_are_drawn(page: Callable[..., Any]) -> None:
    silent = replace(
        LEVELS, channels=(ChannelFacts(),), integrated_lufs=None, momentary_max_lufs=None
    )
    made = page(Dossier(origin="received", files=(file("a", 40, measured=silent),)))
    assert list(made.tree.iter(f"{SVG}svg")) == []
