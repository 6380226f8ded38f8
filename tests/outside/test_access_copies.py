"""Another decoder hears in every access copy what the master's stretch holds (PyAV, FFmpeg)."""

import importlib
import math
from decimal import Decimal
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from tailsout.ground.pcm import Pcm
from tailsout.work.close_out import close

pytestmark = pytest.mark.oracles

RATE, FRAMES = 96_000, 288_000
PCM = Pcm(is_float=False, sample_rate_hz=RATE, channels=2, container_bits=24, valid_bits=24)
FORM = """id = "archive"
[[copies]]
format = "WAV"
sample_rate_hz = 48000
bits = 16
[[copies]]
format = "FLAC"
[[copies]]
format = "MP3"
sample_rate_hz = 44100
[[copies]]
format = "Opus"
"""


def tones() -> bytes:
    """400 Hz left and 997 Hz right, at −20 dBFS."""
    n = np.arange(FRAMES) / RATE
    wave = np.stack([np.sin(2 * np.pi * hz * n) / 10 for hz in (400, 997)], axis=1)
    words = (wave * 2**23).astype("<i4")
    return bytes(words.reshape(-1).view(np.uint8).reshape(-1, 4)[:, :3].tobytes())


def heard(path: Path) -> tuple[np.ndarray, int]:
    """Decode a file, with what its head says of samples to be left out."""
    av = importlib.import_module("av")
    with av.open(str(path)) as file:
        stream = file.streams.audio[0]
        resampler = av.AudioResampler(format="fltp", layout="stereo")
        blocks = [
            frame.to_ndarray()
            for packet in file.demux(stream)
            for decoded in packet.decode()
            for frame in resampler.resample(decoded)
        ]
        return np.concatenate(blocks, axis=1), stream.rate


@pytest.mark.parametrize(
    ("name", "rate"),
    [("a.wav", 48_000), ("a.flac", RATE), ("a.mp3", 44_100), ("a.opus", 48_000)],
)
def test_ffmpeg_hears_length_level_and_channels(
    bench: Any, around: Any, name: str, rate: int
) -> None:
    (bench.studio / "recipients/archive.toml").write_text(FORM)
    content = bench.wave(PCM, FRAMES).replace(bench.samples(PCM, FRAMES), tones())
    bench.fill(content, top='recipient = "archive"')
    assert close(bench.job, bench.out, around).built is not None
    sound, found = heard(bench.package / "data/access" / name)
    assert found == rate
    # FFmpeg leaves out what the encoder put before; what it leaves at the end is padding.
    assert sound.shape[1] / rate == pytest.approx(FRAMES / RATE, abs=0.03)
    middle = sound[:, rate : 2 * rate]
    for channel, hertz in zip(middle, (400, 997), strict=True):
        level = 20 * math.log10(np.sqrt(2 * (channel**2).mean()))
        assert level == pytest.approx(-20, abs=0.1)
        spectrum = np.abs(np.fft.rfft(channel))
        assert int(spectrum.argmax()) == hertz


def test_another_meter_reads_the_loudness_of_the_master(bench: Any, around: Any) -> None:
    (bench.studio / "recipients/archive.toml").write_text(FORM)
    content = bench.wave(PCM, FRAMES).replace(bench.samples(PCM, FRAMES), tones())
    bench.fill(content, top='recipient = "archive"')
    assert close(bench.job, bench.out, around).built is not None
    meter = importlib.import_module("pyebur128")
    read = []
    for name in ("audio/a.wav", "access/a.wav", "access/a.flac", "access/a.mp3", "access/a.opus"):
        sound, rate = heard(bench.package / "data" / name)
        state = meter.R128State(2, rate, meter.MeasurementMode.MODE_I)
        interleaved = np.ascontiguousarray(sound.T).reshape(-1)
        state.add_frames(interleaved, sound.shape[1])
        read.append(Decimal(str(round(meter.get_loudness_global(state), 2))))
    assert all(abs(one - read[0]) <= Decimal("0.1") for one in read), read
