"""Sound that behaves like tape, made from a seed: for the demonstration, never for measuring.

It shares no code with the meters, so that these can be tried on it.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

_Sound = NDArray[np.float64]

_HISS_DBFS = -62.0
_CHAIN_NOISE_DBFS = -92.0
_HUM_DBFS = -64.0
_HUM_HZ = 50.0
_TONE_DBFS = -18.0
_TONE_HZ = 1000.0
_SPEECH_DBFS = -9.0
_WOW_HZ = 0.9
_WOW_DEPTH = 0.0008
_VOICE_SECONDS = 0.4
_FAST = 0.0004
_FLUTTER = ((0.9, 0.0003), (7.3, 0.0002))
_LATE_SECONDS = 3.1e-6
_SECOND_CHANNEL_DB = -0.12
_REACH_HZ_AT_ONE_IPS = 1800.0
"""Upper limit of what a domestic recording holds, as it grows with speed (common practice)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Stretch:
    """A stretch of tape passing the head."""

    holds: Literal["leader", "tone", "speech", "blank"]
    seconds: float
    speed_ips: float


def tape(stretches: Sequence[Stretch], *, sample_rate_hz: int, seed: int) -> bytes:
    """Return mono 24-bit samples, little-endian, of tape passing the head stretch by stretch."""
    chance = np.random.default_rng(seed)
    sound = np.concatenate([_stretch(one, sample_rate_hz, chance) for one in stretches])
    sound += _level(_CHAIN_NOISE_DBFS) * chance.standard_normal(sound.size)
    return _as_24_bit(sound)


@dataclass(frozen=True, slots=True, kw_only=True)
class TapeTone:
    """A tone of a calibration tape, announced by a voice before it."""

    hertz: float
    level_db: float
    """As the machine plays it, re the reference level."""
    seconds: float


def calibration_tape(tones: Sequence[TapeTone], *, sample_rate_hz: int, seed: int) -> bytes:
    """Return two channels of 24-bit samples, little-endian: a calibration tape on a machine.

    The machine runs a little fast and flutters; its second channel comes later and is lower.
    """
    chance = np.random.default_rng(seed)
    first = np.concatenate([_announced(one, sample_rate_hz, chance) for one in tones])
    second = np.concatenate([_announced(one, sample_rate_hz, chance, late=True) for one in tones])
    both = np.stack((first, second * _level(_SECOND_CHANNEL_DB)), axis=1)
    both += _level(_HISS_DBFS) * chance.standard_normal(both.shape)
    return _as_24_bit(both)


def _announced(
    one: TapeTone, rate: int, chance: np.random.Generator, *, late: bool = False
) -> _Sound:
    voice = np.arange(round(_VOICE_SECONDS * rate)) / rate
    time = np.arange(round(one.seconds * rate)) / rate - (_LATE_SECONDS if late else 0.0)
    runs = time * (1 + _FAST)
    for hertz, depth in _FLUTTER:
        runs += depth / (2 * np.pi * hertz) * np.sin(2 * np.pi * hertz * time)
    tone = _level(_TONE_DBFS + one.level_db) * np.sin(2 * np.pi * one.hertz * runs)
    spoken = _level(_TONE_DBFS - 6) * _syllable(voice, _VOICE_SECONDS, chance) / 4
    pause = np.zeros(round(0.3 * rate))
    return np.concatenate((spoken, pause, tone, pause))


def _stretch(one: Stretch, rate: int, chance: np.random.Generator) -> _Sound:
    time = np.arange(round(one.seconds * rate)) / rate
    if one.holds == "leader":
        return np.zeros_like(time)
    hiss = _level(_HISS_DBFS) * chance.standard_normal(time.size)
    if one.holds == "blank":
        return hiss
    wow = _WOW_DEPTH / (2 * np.pi * _WOW_HZ) * np.sin(2 * np.pi * _WOW_HZ * time)
    if one.holds == "tone":
        return _level(_TONE_DBFS) * np.sin(2 * np.pi * _TONE_HZ * (time + wow)) + hiss
    hum = _level(_HUM_DBFS) * np.sin(2 * np.pi * _HUM_HZ * (time + wow))
    speech = _limited(_speech(time + wow, chance), rate, _REACH_HZ_AT_ONE_IPS * one.speed_ips)
    loud: _Sound = _level(_SPEECH_DBFS) * speech / np.max(np.abs(speech))
    return loud + hum + hiss


def _speech(time: _Sound, chance: np.random.Generator) -> _Sound:
    """Voiced syllables of changing pitch and vowel, with pauses: like a man reading a log."""
    sound = np.zeros_like(time)
    at, end = float(time[0]) + 0.2, float(time[-1])
    while at < end:
        length = chance.uniform(0.12, 0.28)
        here = (time >= at) & (time < at + length)
        if np.any(here):
            sound[here] += _syllable(time[here] - at, length, chance)
        pause = chance.uniform(0.5, 1.1) if chance.random() < 0.15 else chance.uniform(0.02, 0.08)
        at += length + pause
    return sound


def _syllable(time: _Sound, length: float, chance: np.random.Generator) -> _Sound:
    pitch = chance.uniform(95, 135)
    formants = (chance.uniform(350, 750), chance.uniform(900, 1900), chance.uniform(2300, 2800))
    shape = np.sin(np.pi * np.clip(time / length, 0, 1)) ** 0.5
    sound = np.zeros_like(time)
    for harmonic in range(1, 30):
        frequency = harmonic * pitch
        weight = sum(1 / (1 + ((frequency - formant) / 120) ** 2) for formant in formants)
        sound += weight * np.sin(2 * np.pi * frequency * time)
    return shape * (sound + 0.05 * chance.standard_normal(time.size))


def _limited(sound: _Sound, rate: int, limit_hz: float) -> _Sound:
    spectrum = np.fft.rfft(sound)
    frequency = np.fft.rfftfreq(sound.size, 1 / rate)
    return np.fft.irfft(spectrum / np.sqrt(1 + (frequency / limit_hz) ** 8), sound.size)


def _level(dbfs: float) -> float:
    return float(10 ** (dbfs / 20))


def _as_24_bit(sound: _Sound) -> bytes:
    scale = 2**23 - 1
    whole = np.clip(np.rint(sound * scale), -scale, scale).astype("<i4")
    return whole.view(np.uint8).reshape(-1, 4)[:, :3].tobytes()
