"""Copies made from samples: length, sameness, what is refused."""

import io
from collections.abc import Callable
from fractions import Fraction
from typing import Any

import numpy as np
import pytest
import soundfile

from tailsout.ground.errors import SurroundingsError
from tailsout.ground.pcm import Pcm
from tailsout.measure.access import making
from tailsout.measure.access.making import counted, make
from tailsout.measure.samples import Samples
from tailsout.records.access import CopyRecipe

RATE, FRAMES = 96_000, 48_077
PCM = Pcm(is_float=False, sample_rate_hz=RATE, channels=1, container_bits=24, valid_bits=24)


def tone(hertz: float = 1_000) -> bytes:
    wave = np.sin(2 * np.pi * hertz * np.arange(FRAMES) / RATE) / 4
    words = (wave * 2**23).astype("<i4")
    return words.view(np.uint8).reshape(-1, 4)[:, :3].tobytes()


def samples_of(data: bytes, pcm: Pcm = PCM) -> Samples:
    stream = io.BytesIO(data)
    return Samples(stream, pcm, data_offset=0, data_octets=len(data), advance=lambda _: None)


def made(recipe: CopyRecipe, data: bytes | None = None) -> tuple[making.MadeCopy, io.BytesIO]:
    target = io.BytesIO()
    one = make(
        samples_of(tone() if data is None else data),
        recipe,
        target,
        essence_sha256="e" * 64,
        software="tailsout test",
    )
    return one, target


def recipe(**changed: Any) -> CopyRecipe:
    given: dict[str, Any] = {
        "format": "WAV",
        "start": 0,
        "end": FRAMES,
        "sample_rate_hz": RATE,
        "bits": 24,
        "kilobits_per_second": None,
    } | changed
    return CopyRecipe(**given)


@pytest.mark.parametrize("rate", [8_000, 22_050, 44_100, 48_000, 88_200, 192_000])
@pytest.mark.parametrize(("start", "end"), [(0, FRAMES), (1, 2), (777, 47_001)])
def test_a_copy_lasts_as_long_as_its_stretch(rate: int, start: int, end: int) -> None:
    one, target = made(recipe(sample_rate_hz=rate, start=start, end=end))
    assert abs(Fraction(one.frames, rate) - Fraction(end - start, RATE)) <= Fraction(1, rate)
    counted(target, one)


def test_a_speed_put_right_makes_it_longer_and_lower() -> None:
    one, target = made(recipe(speed_ratio=Fraction(2)))
    assert one.frames == 2 * FRAMES
    wave, rate = soundfile.read(io.BytesIO(target.getvalue()))
    spectrum = np.abs(np.fft.rfft(wave * np.hanning(len(wave))))
    assert spectrum.argmax() * rate / len(wave) == pytest.approx(500, abs=1.5)
    assert [step.step for step in one.steps] == [
        "speed correction",
        "sample rate conversion",
        "dither",
        "encoding",
    ]


def test_a_curve_is_put_right_in_the_programmes_own_time() -> None:
    # A tone of 10 kHz in the programme stands at 20 kHz in a file captured at twice the speed.
    curves: dict[str, Any] = {
        "recorded": (3180.0, 90.0),
        "replayed": (6360.0, 100.0),
        "curve_ratio": Fraction(2),
    }
    for ratio in (Fraction(1), Fraction(2)):
        one, target = made(recipe(**curves, speed_ratio=ratio), tone(20_000))
        wave, _ = soundfile.read(io.BytesIO(target.getvalue()))
        middle = wave[len(wave) // 4 : -len(wave) // 4]
        gain = 20 * np.log10(np.sqrt(2 * (middle**2).mean()) * 4)
        assert gain == pytest.approx(-0.64, abs=0.03)
        assert "played by 6360/100 µs" in one.steps[ratio != 1].how


@pytest.mark.parametrize(
    "how",
    [
        {"bits": 16},
        {"sample_rate_hz": 44_100},
        {"format": "FLAC"},
        {"format": "MP3", "bits": None, "kilobits_per_second": 256, "sample_rate_hz": 48_000},
        {"format": "Opus", "bits": None, "kilobits_per_second": 128, "sample_rate_hz": 48_000},
    ],
)
def test_the_same_samples_make_the_same_octets(how: dict[str, Any]) -> None:
    assert made(recipe(**how))[1].getvalue() == made(recipe(**how))[1].getvalue()


def test_samples_that_fit_get_no_dither() -> None:
    one, target = made(recipe())
    assert [step.step for step in one.steps] == ["encoding"]
    words, _ = soundfile.read(io.BytesIO(target.getvalue()), dtype="int32")
    own = tone()
    assert words.tobytes()[1::4] == own[0::3]


def test_a_float_master_gets_dither_at_24_bits() -> None:
    pcm = Pcm(is_float=True, sample_rate_hz=RATE, channels=1, container_bits=32, valid_bits=32)
    data = np.full(1000, 2.0, "<f4").tobytes()
    target = io.BytesIO()
    one = make(
        samples_of(data, pcm), recipe(end=1000), target, essence_sha256="", software="tailsout test"
    )
    assert [step.step for step in one.steps] == ["dither", "encoding"]
    assert one.clipped_samples == 1000


def test_a_coded_copy_counts_what_is_above_full_scale() -> None:
    pcm = Pcm(is_float=True, sample_rate_hz=48_000, channels=1, container_bits=32, valid_bits=32)
    data = np.concatenate([np.full(10, 1.5), np.zeros(990)]).astype("<f4").tobytes()
    how = {"format": "Opus", "bits": None, "kilobits_per_second": 64, "sample_rate_hz": 48_000}
    target = io.BytesIO()
    one = make(
        samples_of(data, pcm),
        recipe(end=1000, **how),
        target,
        essence_sha256="",
        software="tailsout test",
    )
    assert one.clipped_samples == 10


def test_a_resampler_that_loses_samples_is_found_out(monkeypatch: pytest.MonkeyPatch) -> None:
    def short(blocks: Any, *_rates: Any) -> Any:
        for block in blocks:
            yield block[:, ::2][:, :-5]

    monkeypatch.setattr(making, "_at_rate", short)
    with pytest.raises(SurroundingsError, match="were to be"):
        made(recipe(sample_rate_hz=48_000))


def test_a_decoder_that_counts_otherwise_is_found_out(monkeypatch: pytest.MonkeyPatch) -> None:
    one, target = made(recipe())
    counter: Callable[[Any], int] = lambda _stream: FRAMES - 1  # noqa: E731
    monkeypatch.setattr(making, "frames_in", counter)
    with pytest.raises(SurroundingsError, match="comes to"):
        counted(target, one)
