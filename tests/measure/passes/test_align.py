"""Two passes of one recording, planted: offset, speed, wander, level and treble; and strangers.

The sound is made here and shares nothing with the code that lays one on the other.
"""

from collections.abc import Callable, Mapping
from functools import cache
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from tailsout.ground.pcm import Pcm
from tailsout.measure.passes.align import Alignment, align
from tailsout.measure.passes.sound import Sound

RATE = 24_000
Samples = NDArray[np.float64]


@cache
def speech(seconds: float, seed: int, rate: int = RATE) -> Samples:
    """Voiced syllables and pauses, not to be written to."""
    chance = np.random.default_rng(seed)
    time = np.arange(int(seconds * rate)) / rate
    sound = np.zeros_like(time)
    at = 0.2
    while at < seconds - 0.4:
        length = chance.uniform(0.1, 0.35)
        here = slice(int(at * rate), int((at + length) * rate))
        inside = time[here] - at
        pitch = chance.uniform(95, 140)
        voice = sum(
            chance.uniform(0.3, 1) / harmonic * np.sin(2 * np.pi * pitch * harmonic * inside)
            for harmonic in range(1, 40)
        )
        sound[here] += np.sqrt(np.abs(np.sin(np.pi * inside / length))) * voice
        at += length + (
            chance.uniform(0.4, 1) if chance.random() < 0.2 else chance.uniform(0.02, 0.1)
        )
    noise = chance.standard_normal(len(time)) * np.abs(sound) * 0.3
    made = np.asarray(0.3 * (sound + noise) / np.max(np.abs(sound)))
    made.setflags(write=False)
    return made


def played(sound: Samples, *, offset: float, faster: float, wander_s: float = 0.0) -> Samples:
    """The sound as another pass has it: `faster` times as fast, begun `offset` later."""
    length = int((len(sound) / RATE / faster + abs(offset) + 0.5) * RATE)
    time = np.arange(length) / RATE
    source = (time - offset) * faster + wander_s * np.sin(2 * np.pi * time / 20)
    return np.interp(source, np.arange(len(sound)) / RATE, sound, left=0, right=0)


def as_sound(samples: Samples, *, rate: int = RATE, hiss: float = 1e-3, seed: int = 7) -> Sound:
    planar = np.atleast_2d(samples)
    planar = planar + hiss * np.random.default_rng(seed).standard_normal(planar.shape)
    whole = np.clip(np.rint(planar.T * 2**15), -(2**15), 2**15 - 1).astype("<i2").tobytes()
    pcm = Pcm(
        is_float=False,
        sample_rate_hz=rate,
        channels=planar.shape[0],
        container_bits=16,
        valid_bits=16,
    )
    width = pcm.frame_octets

    def read(start: int, frames: int) -> bytes:
        return whole[start * width : (start + frames) * width]

    return Sound(pcm=pcm, frames=planar.shape[1], read=read, advance=lambda _: None)


def laid(first: Samples, second: Samples, **given: Any) -> Alignment:
    found = align(as_sound(first), as_sound(second, seed=8, **given))
    assert found is not None
    return found


@pytest.mark.parametrize(
    ("seconds", "offset", "faster"),
    [
        (40, 3.21, 1.0),
        (40, -2.5, 1.004),
        (40, 0.7, 0.945),
        (40, 11.0, 1.055),
        (15, 0.5, 1.02),
        (8, 0.3, 0.999),
        (5, -0.4, 1.003),
    ],
)
def test_offset_and_speed(seconds: float, offset: float, faster: float) -> None:
    sound = speech(seconds, seed=int(seconds))
    found = laid(sound, 0.7 * played(sound, offset=offset, faster=faster))
    # An offset counts from the first sample of the first pass, played or not.
    assert found.offset_s == pytest.approx(offset, abs=0.0005)
    assert found.speed_difference_percent == pytest.approx((faster - 1) * 100, abs=0.006)
    assert float(found.level_difference_db) == pytest.approx(-3.1, abs=0.1)
    assert found.wander_s < 0.001
    assert not found.is_inverted


def test_wander_between_two_passes() -> None:
    sound = speech(50, seed=3)
    found = laid(sound, played(sound, offset=1, faster=1, wander_s=0.004))
    assert found.wander_s == pytest.approx(0.004, abs=0.0015)


def test_polarity() -> None:
    sound = speech(15, seed=4)
    assert laid(sound, -played(sound, offset=1, faster=1.001)).is_inverted


def test_a_duller_pass() -> None:
    sound = speech(30, seed=5)
    second = played(sound, offset=0.5, faster=1)
    spectrum = np.fft.rfft(second)
    hertz = np.fft.rfftfreq(len(second), 1 / RATE)
    second = np.fft.irfft(spectrum * np.where(hertz > 2500, 0.5, 1.0), len(second))
    found = laid(sound, second, hiss=1e-4)
    bands = {int(one.centre_hz): float(one.difference_db) for one in found.bands}
    assert bands[500] == pytest.approx(0, abs=0.1)
    assert bands[1600] == pytest.approx(0, abs=0.2)
    assert bands[5000] == pytest.approx(-6, abs=1.0)
    assert max(bands) == 10_000, "beyond what 24 kHz can hold nothing is told"


def test_another_sample_rate_and_two_channels() -> None:
    sound = speech(20, seed=6)
    at_48 = np.interp(np.arange(40 * RATE) / 2, np.arange(len(sound)), sound)
    second = np.stack((np.zeros_like(at_48), at_48))
    found = align(as_sound(sound), as_sound(second, rate=48_000))
    assert found is not None
    assert found.offset_s == pytest.approx(0, abs=0.0005)
    assert found.speed_difference_percent == pytest.approx(0, abs=0.003)


def test_a_part_of_the_whole() -> None:
    sound = speech(60, seed=9)
    found = laid(sound, sound[20 * RATE : 45 * RATE])
    assert found.offset_s == pytest.approx(-20, abs=0.0005)
    assert found.overlap_s == pytest.approx(25, abs=0.01)


def test_a_pass_with_holes_and_hiss() -> None:
    sound = speech(40, seed=10)
    second = played(sound, offset=2, faster=1.003)
    chance = np.random.default_rng(1)
    for at in chance.integers(0, len(second) - 2000, 60):
        second[at : at + 1000] *= 0.1
    found = laid(sound, second, hiss=0.01)
    assert found.offset_s == pytest.approx(2, abs=0.001)
    assert found.speed_difference_percent == pytest.approx(0.3, abs=0.005)


def noise(seed: int) -> Samples:
    return np.random.default_rng(seed).standard_normal(40 * RATE) * 0.1


STRANGERS: Mapping[str, Callable[[], tuple[Samples, Samples]]] = {
    "other speech": lambda: (speech(40, seed=11), speech(40, seed=12)),
    "noise and other noise": lambda: (noise(1), noise(2)),
    "silence": lambda: (np.zeros(20 * RATE), np.zeros(20 * RATE)),
    "speech and silence": lambda: (speech(20, seed=13), np.zeros(20 * RATE)),
    "direct current": lambda: (np.full(20 * RATE, 0.3), np.full(20 * RATE, 0.3)),
    "backwards": lambda: (speech(30, seed=14), speech(30, seed=14)[::-1].copy()),
    "too short": lambda: (speech(2, seed=15), speech(2, seed=15)),
    "nothing": lambda: (np.zeros(0), speech(20, seed=16)),
    "twice as fast": lambda: (speech(30, seed=17), speech(30, seed=17)[::2].copy()),
}


@pytest.mark.parametrize("name", STRANGERS)
def test_what_is_not_one_recording_gives_no_figure(name: str) -> None:
    first, second = STRANGERS[name]()
    assert align(as_sound(first), as_sound(second, seed=8)) is None


@pytest.mark.parametrize("rate", [8_000, 44_100, 192_000])
def test_other_rates(rate: int) -> None:
    sound = speech(6, seed=18, rate=rate)
    found = align(as_sound(sound, rate=rate), as_sound(sound[rate:], rate=rate, seed=8))
    assert found is not None
    assert found.offset_s == pytest.approx(-1, abs=0.0005)
