"""The spectrogram."""

import base64
import struct
from dataclasses import replace
from decimal import Decimal
from typing import Any

import pytest

from tailsout.records.sound import Overview
from tailsout.views.plots import spectrogram

XLINK = "{http://www.w3.org/1999/xlink}href"


def drawn(bench: Any, seen: Overview) -> Any:
    return bench.picture(spectrogram.draw(seen, title="a", kind="svg"))


def test_the_loudest_band_is_told(bench: Any) -> None:
    cells = bytearray(b"\x64" * (10 * 120))
    cells[4 * 120 + 60] = 12
    seen = drawn(bench, replace(bench.overview(columns=10), spectrogram=bytes(cells)))
    # 20 Hz and five octaves; the fifth column of a second each.
    assert "The loudest band lies at 640 Hz, −12 dBFS, at 0:04." in seen.told


def test_figures_of_both_scales(bench: Any) -> None:
    seen = drawn(bench, bench.overview())
    assert {"20", "100", "1 k", "10 k", "−30", "−50", "dBFS", "Hz"} <= set(seen.texts)


@pytest.mark.parametrize(
    ("columns", "sentence"),
    [
        (40, "Every sample is zero: there is no spectrum."),
        (0, "The recording is too short for a spectrum."),
    ],
)
def test_nothing_to_draw_is_said_in_one_sentence(bench: Any, columns: int, sentence: str) -> None:
    assert sentence in drawn(bench, bench.overview(columns=columns, peak=0.0)).texts


@pytest.mark.parametrize("columns", [1, 2, 769, 2048])
def test_the_picture_within_is_of_bounded_size(bench: Any, columns: int) -> None:
    seen = drawn(bench, bench.overview(columns=columns))
    images = list(seen.root.iter("{http://www.w3.org/2000/svg}image"))
    assert images
    octets = base64.b64decode(images[0].get(XLINK).partition(",")[2])
    wide, high = struct.unpack(">II", octets[16:24])
    assert (wide <= 768, high) == (True, 120)


def test_a_short_event_is_not_lost_where_columns_are_merged(bench: Any) -> None:
    cells = bytearray(b"\xc8" * (2000 * 120))
    cells[1001 * 120 + 50] = 5
    one = replace(bench.overview(columns=2000), spectrogram=bytes(cells))
    assert "−5 dBFS" in drawn(bench, one).told


@pytest.mark.parametrize("value", [0, 1, 100, 254])
def test_a_level_that_never_changes(bench: Any, value: int) -> None:
    one = replace(bench.overview(columns=20), spectrogram=bytes([value]) * (20 * 120))
    assert drawn(bench, one).texts


def test_one_band(bench: Any) -> None:
    one = Overview(
        seconds_a_column=Decimal("0.1"),
        low=((0.0,),),
        high=((0.0,),),
        rms=((0.0,),),
        bands_hz=(1000.0,),
        spectrogram=b"\x20",
    )
    assert "1 kHz" in drawn(bench, one).texts
