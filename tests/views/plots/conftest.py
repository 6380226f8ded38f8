"""Records to draw, and what the pictures of them hold."""

import math
import random
import struct
import xml.etree.ElementTree as ET
from decimal import Decimal
from types import SimpleNamespace
from typing import Any

import pytest

from tailsout.records.listening import SignalNote
from tailsout.records.machine import Tone
from tailsout.records.reel import Region
from tailsout.records.sound import Overview
from tailsout.records.tones import (
    FlutterFacts,
    FlutterLine,
    FlutterTrace,
    FoundTone,
    ToneAzimuth,
    ToneChannel,
    ToneFacts,
    ToneLevel,
)
from tailsout.records.vocab import RegionKind
from tailsout.views.plots import azimuth, flutter, flutter_spectrum, response, spectrogram, waveform
from tailsout.views.plots.sheet import Kind

RATE = 48_000
SVG = "{http://www.w3.org/2000/svg}"


class Picture:
    """An SVG, read by a parser that is not ours."""

    def __init__(self, octets: bytes) -> None:
        self.octets = octets
        self.root = ET.fromstring(octets.decode())  # noqa: S314  our own octets

    @property
    def texts(self) -> list[str]:
        return ["".join(one.itertext()) for one in self.root.iter(f"{SVG}text")]

    @property
    def title(self) -> str:
        return self.root.findtext(f"{SVG}title") or ""

    @property
    def told(self) -> str:
        return self.root.findtext(f"{SVG}desc") or ""


def size_of(png: bytes) -> tuple[int, int]:
    """Width and height by the IHDR chunk (PNG, third edition, § 11.2.1)."""
    assert png[:8] == b"\x89PNG\r\n\x1a\n"
    wide, high = struct.unpack(">II", png[16:24])
    return wide, high


def overview(
    channels: int = 2, columns: int = 900, peak: float = 0.5, seconds: str = "1"
) -> Overview:
    chance = random.Random(63)
    course = [
        [peak * (0.2 + 0.8 * abs(math.sin(at / 30 + one))) for at in range(columns)]
        for one in range(channels)
    ]
    bands = tuple(20.0 * 2 ** (number / 12) for number in range(120))
    cells = bytes(chance.randrange(30, 120) for _ in range(columns * len(bands)))
    return Overview(
        seconds_a_column=Decimal(seconds),
        low=tuple(tuple(-one * chance.uniform(0.5, 1.0) for one in c) for c in course),
        high=tuple(map(tuple, course)),
        rms=tuple(tuple(one / 3 for one in c) for c in course),
        bands_hz=bands,
        spectrogram=cells if peak else b"\xff" * len(cells),
    )


def region(
    name: str, kind: RegionKind, start: float, end: float | None, title: str | None = None
) -> Region:
    return Region(
        id=name,
        kind=kind,
        capture="a",
        start=int(start * RATE),
        end=None if end is None else int(end * RATE),
        title=title,
    )


REGIONS = (
    region("r1", "leader", 0, 20),
    region("r2", "programme", 20, 600, "Fog signal, evening"),
    region("r3", "line-up tone", 600, 640),
    region("r4", "blank", 640, None),
)
NOTES = (
    SignalNote(capture="a", start=100 * RATE, heard="dropout", channel="1"),
    SignalNote(capture="a", start=200 * RATE, end=260 * RATE, heard="hum rises"),
)


def tones(
    frequencies: tuple[float, ...] = (1000, 40, 63, 250, 1000, 4000, 10000, 16000),
    *,
    channels: int = 2,
    against: bool = True,
    delay_us: float = 7.0,
) -> ToneFacts:
    found = []
    for number, frequency in enumerate(frequencies):
        levels = []
        for channel in range(1, channels + 1):
            level = Decimal(f"{1.2 if frequency < 50 else -0.1 * channel:.2f}")
            phase = (frequency * 360e-6 * delay_us + 180) % 360 - 180
            levels.append(
                ToneLevel(
                    channel=channel,
                    level_dbfs=Decimal(-20),
                    relative_db=level,
                    deviation_db=level if against else None,
                    phase_deg=Decimal(f"{phase:.2f}") if channel > 1 else None,
                    may_be_fringing=frequency < 50,
                )
            )
        listed = Tone(frequency_hz=Decimal(f"{frequency:g}"), tolerance_db=Decimal("0.5"))
        found.append(
            FoundTone(
                start=number * RATE,
                end=(number + 1) * RATE,
                frequency_hz=Decimal(f"{frequency:.1f}"),
                channels=tuple(levels),
                number=number + 1 if against else None,
                listed=listed if against else None,
            )
        )
    fitted = ToneAzimuth(
        delay_us=Decimal(f"{delay_us:.2f}"),
        residual_deg=Decimal("0.50"),
        highest_hz=Decimal("16000.0"),
        tones=7,
        arc_minutes=Decimal("1.66"),
        spacing_mm=Decimal("5.08"),
        may_be_a_cycle_out=True,
    )
    return ToneFacts(
        frames=RATE,
        sample_rate_hz=RATE,
        tones=tuple(found),
        channels=tuple(
            ToneChannel(channel=one, azimuth=fitted if one > 1 else None)
            for one in range(1, channels + 1)
        ),
        tape="spr-cal-19" if against else None,
        fit="fits" if against else None,
        reference=1 if found else None,
        methods={},
    )


FLUTTER = FlutterFacts(
    channel=1,
    start=0,
    end=60 * RATE,
    frequency_hz=Decimal("3149.2"),
    weighted_percent=Decimal("0.0512"),
    weighted_rms_percent=Decimal("0.0231"),
    unweighted_rms_percent=Decimal("0.0405"),
    drift_percent=Decimal("-0.0120"),
    lines=(
        FlutterLine(
            frequency_hz=Decimal("9.71"),
            depth_percent=Decimal("0.0220"),
            diameter_mm=Decimal("6.2"),
            consistent_with=("capstan", "roller"),
        ),
        FlutterLine(
            frequency_hz=Decimal("0.62"),
            depth_percent=Decimal("0.0310"),
            consistent_with=("reel",),
        ),
    ),
)
TRACE = FlutterTrace(
    seconds_a_point=Decimal("0.05"),
    low=tuple(-0.05 - 0.02 * math.sin(one / 9) for one in range(1200)),
    high=tuple(0.05 - 0.02 * math.sin(one / 9) for one in range(1200)),
    rates_hz=tuple(0.1 * 1.003**one for one in range(2500)),
    depth_percent=tuple(0.001 + 0.03 * (one % 500 == 0) for one in range(2500)),
)


def all_plots(title: str, kind: Kind) -> dict[str, bytes]:
    """One of each, of one recording and one reading."""
    sound, read = overview(), tones()
    return {
        "waveform": waveform.draw(
            sound, title=title, kind=kind, sample_rate_hz=RATE, regions=REGIONS, notes=NOTES
        ),
        "spectrogram": spectrogram.draw(sound, title=title, kind=kind),
        "response": response.draw(read, title=title, kind=kind),
        "azimuth": azimuth.draw(read, title=title, kind=kind),
        "flutter": flutter.draw(FLUTTER, TRACE, title=title, kind=kind),
        "flutter-spectrum": flutter_spectrum.draw(FLUTTER, TRACE, title=title, kind=kind),
    }


@pytest.fixture(scope="session")
def pictures() -> dict[str, Picture]:
    """One of each as SVG."""
    return {name: Picture(octets) for name, octets in all_plots("side-a.wav", "svg").items()}


@pytest.fixture(scope="session")
def pngs() -> dict[str, bytes]:
    """One of each as PNG."""
    return all_plots("side-a.wav", "png")


@pytest.fixture(scope="session")
def bench() -> Any:
    """What tests draw: makers of records, and records."""
    return SimpleNamespace(
        all_plots=all_plots,
        flutter=FLUTTER,
        notes=NOTES,
        overview=overview,
        picture=Picture,
        rate=RATE,
        region=region,
        regions=REGIONS,
        size_of=size_of,
        tones=tones,
        trace=TRACE,
    )
