"""The waveform, its regions and notes."""

from decimal import Decimal
from typing import Any, get_args

import pytest

from tailsout.records.listening import SignalNote
from tailsout.records.sound import Overview
from tailsout.records.vocab import RegionKind
from tailsout.views.plots import waveform
from tailsout.views.plots.marks import HATCHES


def drawn(bench: Any, seen: Overview, **more: Any) -> Any:
    octets = waveform.draw(seen, title="a", kind="svg", sample_rate_hz=bench.rate, **more)
    assert len(octets) <= 200_000
    return bench.picture(octets)


def test_regions_and_notes_are_numbered_and_listed(bench: Any) -> None:
    seen = drawn(bench, bench.overview(), regions=bench.regions, notes=bench.notes)
    for text in (
        *("1", "2", "3", "4", "a", "b"),
        *("0:00–0:20", "0:20–10:00", "10:40–15:00", "1:40", "3:20–4:20"),
        *("leader r1", "programme: Fog signal, evening", "dropout (channel 1)", "hum rises"),
    ):
        assert text in seen.texts
    assert "Region 2, 0:20–10:00: programme: Fog signal, evening." in seen.told
    assert "Note b, 3:20–4:20: hum rises." in seen.told


def test_levels_are_told(bench: Any) -> None:
    # A peak of half of full scale: 20 lg 0.5.
    seen = drawn(bench, bench.overview(peak=0.5))
    assert "−6.0 dBFS" in seen.texts
    assert "2 channels, 15:00 long." in seen.told


@pytest.mark.parametrize(
    ("columns", "sentence"),
    [(40, "Every sample is zero: there is no waveform."), (0, "There are no samples.")],
)
def test_nothing_to_draw_is_said_in_one_sentence(bench: Any, columns: int, sentence: str) -> None:
    seen = drawn(bench, bench.overview(columns=columns, peak=0.0))
    assert sentence in seen.texts


def test_no_channel_at_all(bench: Any) -> None:
    none = Overview(
        seconds_a_column=Decimal(1), low=(), high=(), rms=(), bands_hz=(), spectrogram=b""
    )
    assert "There are no samples." in drawn(bench, none).texts


@pytest.mark.parametrize("channels", [1, 2, 3, 8, 24])
@pytest.mark.parametrize("columns", [1, 2, 2048])
def test_any_number_of_channels_and_columns(bench: Any, channels: int, columns: int) -> None:
    seen = drawn(bench, bench.overview(channels=channels, columns=columns))
    assert f"channel {min(channels, 8)}" in seen.texts
    assert ("Channels 9 to 24 are not drawn." in seen.texts) == (channels == 24)


def test_one_dead_channel_is_a_line(bench: Any) -> None:
    one, nothing = bench.overview(channels=1), (0.0,) * 900
    seen = drawn(
        bench,
        Overview(
            seconds_a_column=Decimal(1),
            low=(*one.low, nothing),
            high=(*one.high, nothing),
            rms=(*one.rms, nothing),
            bands_hz=one.bands_hz,
            spectrogram=one.spectrogram,
        ),
    )
    assert "Highest sample of channel 2: −∞ dBFS." in seen.told


@pytest.mark.parametrize("peak", [1e-7, 1.0, 30.0, 2.0**100])
def test_any_level_is_drawn(bench: Any, peak: float) -> None:
    assert drawn(bench, bench.overview(peak=peak)).texts


def test_five_hundred_regions_and_notes_stay_one_page(bench: Any) -> None:
    kinds = get_args(RegionKind)
    many = tuple(
        bench.region(f"r{n}", kinds[n % 8], n * 1.8, n * 1.8 + 1.8, "x" * 5000) for n in range(500)
    )
    notes = tuple(
        SignalNote(capture="a", start=n * 70_000, end=n * 70_000 + 9000, heard="y" * 5000)
        for n in range(500)
    )
    seen = drawn(bench, bench.overview(columns=2048), regions=many, notes=notes)
    assert "and 488 more regions" in seen.texts
    assert "and 488 more notes" in seen.texts
    assert len(seen.told) < 5000
    _, _, wide, high = map(float, seen.root.get("viewBox").split())
    assert high < wide


def test_what_lies_behind_the_end_stays_on_the_sheet(bench: Any) -> None:
    late = bench.region("late", "programme", 5000, 6000)
    note = SignalNote(capture="a", start=9999 * bench.rate, end=99999 * bench.rate, heard="late")
    seen = drawn(bench, bench.overview(), regions=(late,), notes=(note,))
    _, _, wide, _ = map(float, seen.root.get("viewBox").split())
    uses = [float(one.get("x")) for one in seen.root.iter("{http://www.w3.org/2000/svg}use")]
    assert max(uses) <= wide


def test_every_kind_of_region_has_a_hatch_of_its_own(bench: Any) -> None:
    assert set(HATCHES) == set(get_args(RegionKind))
    assert len(set(HATCHES.values())) == len(HATCHES)
