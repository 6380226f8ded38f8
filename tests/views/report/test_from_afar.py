"""Waveform and spectrogram of the report, drawn of what a side-car keeps, whoever wrote it."""

import base64
import io
import re
import xml.etree.ElementTree as ET
from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal
from typing import Any

import pytest
from PIL import Image

from tailsout.ground.pcm import Pcm
from tailsout.records.capture import Capture
from tailsout.records.dossier import Dossier, FileRecord
from tailsout.records.facts import ContainerFacts
from tailsout.records.listening import SignalNote
from tailsout.records.reel import Reel, Region, Side
from tailsout.records.sound import AudioFacts, KeptCourse, KeptOverview, KeptSpectrogram
from tailsout.records.transfer import SideCar, Studio, ThisFile, Transfer
from tailsout.views import page as text_page

RATE, SECONDS = 48_000, 10
SVG = "{http://www.w3.org/2000/svg}"
LEFT, WIDE = 62.0, 292.0


def numbers(*values: int, times: int = 1) -> str:
    return " ".join(map(str, values * times))


def course(high: tuple[int, ...], rms: int = 100) -> KeptCourse:
    low = numbers(*(-one for one in high))
    return KeptCourse(low=low, high=numbers(*high), rms=numbers(*(min(rms, one) for one in high)))


SPECTRUM = KeptSpectrogram(
    seconds_a_column=Decimal(2),
    bands_hz="50 200 800 3200",
    levels=("255 255 255 255 255", "90 80 31 80 90", "60 60 60 60 60", "254 120 120 120 255"),
)
SEEN = KeptOverview(
    seconds_a_column=Decimal(1),
    channels=(course((10, 20, 2400, 400, 300, 200, 100, 50, 20, 10)),),
    spectrogram=SPECTRUM,
)


def transfer(*, notes: bool = True) -> Transfer:
    regions = (
        Region(id="r1", kind="line-up tone", capture="a", start=0, end=2 * RATE),
        Region(id="r2", kind="programme", capture="a", start=2 * RATE, end=None),
    )
    heard = (SignalNote(capture="a", start=5 * RATE, heard="click"),)
    return Transfer(
        job_id="j",
        package_id="SKL-7",
        studio=Studio(),
        reel=Reel(sides=(Side(id="A", regions=regions),)),
        signal_notes=heard if notes else (),
    )


def file(seen: KeptOverview | None, name: str = "a", channels: int = 1) -> FileRecord:
    pcm = Pcm(
        is_float=False, sample_rate_hz=RATE, channels=channels, container_bits=24, valid_bits=24
    )
    facts = AudioFacts(
        frames=SECONDS * RATE, sample_rate_hz=RATE, essence_sha256="5a" * 32, channels=()
    )
    this = ThisFile(
        id="i",
        path=f"data/audio/{name}.wav",
        capture=name,
        octets=1,
        sha256="a" * 64,
        sha512="b" * 128,
        made="as captured",
        sources=(),
        pcm=pcm,
        measured=facts,
        methods={},
        overview=seen,
    )
    car = SideCar(
        schema="s",
        software="tailsout",
        written="2026-03-15T08:00:00Z",
        transfer=transfer(),
        this_file=this,
    )
    return FileRecord(
        path=this.path,
        octets=1,
        capture=name,
        container=ContainerFacts(form="RIFF", chunks=()),
        pcm=pcm,
        frames=SECONDS * RATE,
        sidecar=car,
    )


def dossier(*files: FileRecord, **more: Any) -> Dossier:
    return Dossier(origin="received", transfer=transfer(**more), files=files)


def drawing(made: Any, number: int = 1) -> ET.Element:
    [drawn] = [
        one
        for one in made.tree.iter(f"{SVG}svg")
        if one.attrib["aria-labelledby"].startswith(f"file-{number}-")
    ]
    found: ET.Element = drawn
    return found


def words(one: ET.Element) -> list[str]:
    return ["".join(text.itertext()) for text in one.iter(f"{SVG}text")]


def told(one: ET.Element) -> str:
    [desc] = one.iter(f"{SVG}desc")
    return "".join(desc.itertext())


def points(one: ET.Element, look: str) -> list[tuple[float, float]]:
    """Every point of the paths of one look, in units of the sheet."""
    found = []
    for group in one.iter(f"{SVG}g"):
        moved = group.attrib.get("transform")
        if moved is None:
            continue
        x0, y0, wide, high = (float(n) for n in re.findall(r"-?[0-9.]+(?:e-?[0-9]+)?", moved))
        for path in group.iter(f"{SVG}path"):
            if path.attrib["class"] == look:
                found += [(x0 + x * wide, y0 + y * high) for x, y in _walked(path.attrib["d"])]
    return found


def _walked(d: str) -> list[tuple[float, float]]:
    """Follow a path of M, h, l, V and z (SVG 1.1 § 8.3)."""
    x = y = 0.0
    seen = []
    for letter, rest in re.findall(r"([MhlVz])([^MhlVz]*)", d):
        told = [float(n) for n in re.findall(r"-?[0-9]*\.?[0-9]+", rest)]
        if letter == "M":
            (x, y), told = told, []
            seen.append((x, y))
        for at in range(0, len(told), 2 if letter == "l" else 1):
            if letter == "l":
                x, y = x + told[at], y + told[at + 1]
            elif letter == "h":
                x += told[at]
            else:
                y = told[at]
            seen.append((x, y))
    return seen


def cells(one: ET.Element) -> Image.Image:
    [picture] = one.iter(f"{SVG}image")
    href = next(value for key, value in picture.attrib.items() if key.endswith("href"))
    assert href.startswith("data:image/png;base64,")
    return Image.open(io.BytesIO(base64.b64decode(href.partition(",")[2])))


def test_everything_stands_on_one_scale_of_time(page: Callable[..., Any]) -> None:
    drawn = drawing(page(dossier(file(SEEN))))
    labels = [one for one in words(drawn) if not re.fullmatch(r"[−0-9:]+", one)]
    assert labels == ["regions", "channel 1", "−12 dBFS", "notes", "100 Hz", "1 kHz", "dB"]
    # Full scale a quarter: 2400 of 2500 stand just within the edge, in the third of ten columns.
    highest = min(points(drawn, "swing"), key=lambda at: at[1])
    assert highest[0] == pytest.approx(LEFT + WIDE * 2.5 / SECONDS, abs=0.1)
    edges = [
        float(one.attrib["d"].split("L")[1].split()[1])
        for one in drawn.iter(f"{SVG}path")
        if one.attrib.get("class") == "grid" and one.attrib["d"].startswith("M62 ")
    ]
    top, foot = min(edges), max(edges)
    assert highest[1] == pytest.approx(top + (foot - top) / 2 * (1 - 2400 / 2500), abs=0.6)
    xs = [x for x, _ in points(drawn, "swing")]
    assert (min(xs), max(xs)) == pytest.approx((LEFT, LEFT + WIDE), abs=0.1)


def test_the_drawings_are_told_in_words(page: Callable[..., Any]) -> None:
    made = page(dossier(file(SEEN)))
    said = told(drawing(made))
    assert (
        "Waveform of channel 1: furthest from zero at 0:02, −12.4 dBFS, loudest at 0:02, root mean "
        "square −40.0 dB re full scale, half of the time below −40.0 dB."
    ) in said
    assert (
        "Spectrogram from 50 to 3200 Hz: loudest at 0:04 near 200 Hz, −31 dB re a full-scale sine; "
        "over the whole length most sounds near 200 Hz; what comes within 40 dB of the loudest "
        "lies from 200 to 800 Hz."
    ) in said
    assert "the edge of a lane is 1/4 of full scale (−12 dBFS)" in made.text
    assert "5 dB a shade from −30 dB re a full-scale sine down" in made.text


def test_the_louder_the_darker_and_pitch_upwards(page: Callable[..., Any]) -> None:
    with cells(drawing(page(dossier(file(SEEN))))) as picture:
        assert picture.size == (5, 4)
        alpha = list(picture.convert("RGBA").getchannel("A").tobytes())
    rows = [alpha[at : at + 5] for at in range(0, 20, 5)]
    # The highest band first; from 30 dB down 5 dB a shade, of which each is 17 of 255.
    assert rows[3] == [0] * 5
    assert rows[2] == [17 * shade for shade in (3, 5, 15, 5, 3)]
    assert rows[1] == [17 * 9] * 5
    assert rows[0] == [0] * 5


def test_eight_channels_are_drawn_and_of_thirty_two_sixteen(page: Callable[..., Any]) -> None:
    for channels, shown in ((8, 8), (32, 16)):
        many = replace(SEEN, channels=SEEN.channels * channels)
        made = page(dossier(file(many, channels=channels)))
        labels = [one for one in words(drawing(made)) if one.startswith("channel")]
        assert labels == [f"channel {n}" for n in range(1, shown + 1)]
        assert ("Channels 17 to 32 are not drawn." in made.text) == (shown < channels)


def test_a_package_without_an_overview_says_nothing_of_one(page: Callable[..., Any]) -> None:
    for one in (file(None), replace(file(None), sidecar=None)):
        made = page(dossier(one))
        assert words(drawing(made))[:2] == ["regions", "notes"]
        assert "aveform" not in made.text
        assert "pectrogram" not in made.text


def test_silence_is_a_line_and_no_spectrogram(page: Callable[..., Any]) -> None:
    silent = KeptOverview(
        seconds_a_column=Decimal(1),
        channels=(
            KeptCourse(low=numbers(0, times=10), high=numbers(0, times=10), rms="0 " * 9 + "0"),
        ),
        spectrogram=replace(SPECTRUM, levels=("255 255",) * 4),
    )
    drawn = drawing(page(dossier(file(silent))))
    assert len({y for _, y in points(drawn, "swing")}) == 1
    assert "Waveform of channel 1: every sample is zero, or next to it." in told(drawn)
    assert "Spectrogram" not in told(drawn)
    assert list(drawn.iter(f"{SVG}image")) == []


_LONG = numbers(99999, times=700)
HOSTILE = {
    "lines of several lengths": replace(
        SEEN, channels=(KeptCourse(low="-1 -2 -3", high="7", rms="1 2"),)
    ),
    "no channel": replace(SEEN, channels=()),
    "no band": replace(SEEN, spectrogram=replace(SPECTRUM, levels=())),
    "more bands than names": replace(SEEN, spectrogram=replace(SPECTRUM, bands_hz="50")),
    "bands that fall": replace(SEEN, spectrogram=replace(SPECTRUM, bands_hz="9 9 1 0")),
    "bands of one height": replace(SEEN, spectrogram=replace(SPECTRUM, bands_hz="0 0 0 0")),
    "bands of several lengths": replace(
        SEEN, spectrogram=replace(SPECTRUM, levels=("1 2 3", "4", "5 6"))
    ),
    "no end of columns": KeptOverview(
        seconds_a_column=Decimal("0.01"),
        channels=(KeptCourse(low=_LONG, high=_LONG, rms=_LONG),) * 32,
        spectrogram=replace(
            SPECTRUM, seconds_a_column=Decimal("0.01"), levels=(numbers(999, 0, times=600),) * 4
        ),
    ),
    "a column without end": replace(
        SEEN,
        seconds_a_column=Decimal(1_000_000),
        spectrogram=replace(SPECTRUM, seconds_a_column=Decimal(1_000_000)),
    ),
    "next to no column": replace(
        SEEN,
        seconds_a_column=Decimal("1e-30"),
        spectrogram=replace(SPECTRUM, seconds_a_column=Decimal("1e-30")),
    ),
    "highs below lows": replace(
        SEEN,
        channels=(
            KeptCourse(low=numbers(9999, times=9), high="-9999 " * 8 + "1", rms="0 " * 8 + "0"),
        ),
    ),
}


@pytest.mark.parametrize("seen", HOSTILE.values(), ids=HOSTILE.keys())
def test_whatever_a_side_car_keeps_the_page_is_valid_and_small(
    page: Callable[..., Any], seen: KeptOverview
) -> None:
    made = page(dossier(file(seen, channels=2)))
    assert len(made.octets) < 200_000
    assert "0:10" in words(drawing(made))


LONG = KeptOverview(
    seconds_a_column=Decimal("0.02"),
    channels=(course(tuple(1000 + at % 700 for at in range(500))),) * 2,
    spectrogram=KeptSpectrogram(
        seconds_a_column=Decimal("0.04"),
        bands_hz=numbers(*range(20, 84)),
        levels=tuple(numbers(*(30 + band * at % 90 for at in range(250))) for band in range(64)),
    ),
)


def pictures(made: Any) -> int:
    return sum(1 for one in made.tree.iter(f"{SVG}image"))


@pytest.mark.parametrize(("files", "drawn"), [(2, 2), (6, 6), (12, 6), (500, 3)])
def test_of_many_captures_the_first_are_drawn(
    page: Callable[..., Any], files: int, drawn: int
) -> None:
    made = page(dossier(*(file(LONG, f"c{number}", channels=2) for number in range(files))))
    assert pictures(made) == drawn
    assert len(made.octets) < 260_000
    assert ("more drawings are left out here" in made.text) == (files > drawn)
    assert f"data/audio/c{min(files, 140) - 1}.wav" in made.text


def test_beyond_forty_files_and_captures_stand_in_tables(page: Callable[..., Any]) -> None:
    during = "p1"
    captures = tuple(
        Capture(id=f"c{number}", file=f"c{number}.wav", pass_id=during) for number in range(41)
    )
    files = tuple(file(None, one.id) for one in captures)
    whole = replace(transfer(), captures=captures)
    made = page(Dossier(origin="received", transfer=whole, files=files))
    headings = [made.told(one) for one in made.named("h3")]
    assert "Audio data/audio/c39.wav" in headings
    assert "Audio data/audio/c40.wav" not in headings
    assert not [one for one in headings if one.startswith("How capture ")]
    rows = [[made.told(cell) for cell in row] for row in made.named("tr")]
    audio = "48000 Hz, 24-bit PCM, 1 channel"
    assert ["data/audio/c40.wav", "0:10.000 (480000 samples a channel)", audio, ""] in rows
    assert [row[0] for row in rows if row[0].startswith("c")] == [one.id for one in captures]


def test_the_page_of_text_prints_no_columns() -> None:
    shown = text_page.render(dossier(file(SEEN)), (), {}).decode()
    assert "2400" not in shown
    assert "drawn in the report   waveform: 10 columns of 1 s; spectrogram: 5 of 2 s" in shown
