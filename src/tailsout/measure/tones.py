"""Where a capture holds steady tones; announcements between them are passed over.

Frames of 100 ms every 50 ms. A frame is tonal where one peak holds most of the energy from an
octave below it upward; tonal frames of one frequency and level make a tone (own method).
"""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view

from tailsout.measure.kernels import Floats
from tailsout.measure.samples import Samples

MOST_TONES = 500
"""No more are kept, in order of start."""
HOPS_A_SECOND = 20

_BESIDE = 4
"""Bins to both sides of a peak that belong to it."""
_LOWEST_BIN = 2
_TONALITY = 0.7
_REACH = 0.475
"""Share of the sample rate up to which tones are looked for."""
_QUIETEST_DBFS = -70.0
_BELOW_LOUDEST_DB = 40.0
_FREQUENCY_SHARE = 0.03
_FREQUENCY_HZ = 2.0
_LEVEL_DB = 2.5
"""HF of slow tapes sways by a decibel or two; steps of level that tapes have are larger."""
_ALIKE_DB = 1.5
_RECENT = 20
"""Frames of a tone that the next is held against."""
_SHORTEST_HOPS = 20
_BRIDGED_HOPS = 8
_NOTHING = 1e-30
_BATCH_OCTETS = 1 << 23


@dataclass(frozen=True, slots=True, kw_only=True)
class Steady:
    """One steady tone."""

    start: int
    """Sample position, a whole number of hops."""
    end: int
    frequency_hz: float
    """To about a per cent."""
    level_db: float
    """Power of all channels together, dB re a full-scale sine on one."""


def hop_frames(sample_rate_hz: int) -> int:
    """Return how many samples a hop has."""
    return round(sample_rate_hz / HOPS_A_SECOND)


def steady_tones(samples: Samples) -> tuple[Steady, ...]:
    """Return the tones of at least a second, in order of start. Raises SurroundingsError."""
    hop = hop_frames(samples.pcm.sample_rate_hz)
    runs = _Runs(hop)
    for batch in _batches(samples, hop):
        for frequency, level, tonality in zip(
            *_peaks(batch, samples.pcm.sample_rate_hz), strict=True
        ):
            runs.take(frequency, level, is_tonal=tonality > _TONALITY and level > _QUIETEST_DBFS)
    found = _joined(runs.closed(), _BRIDGED_HOPS * hop)
    found = [one for one in found if one.end - one.start >= _SHORTEST_HOPS * hop]
    loudest = max((one.level_db for one in found), default=0.0)
    kept = [one for one in found if one.level_db > loudest - _BELOW_LOUDEST_DB]
    return tuple(kept[:MOST_TONES])


def _batches(samples: Samples, hop: int) -> Iterator[Floats]:
    """Yield whole hops of samples; each batch begins with the last hop of the one before."""
    most = hop * max(4, _BATCH_OCTETS // (hop * samples.pcm.channels * 8))
    held = np.zeros((samples.pcm.channels, most))
    filled = 0
    for block in samples.between(0, samples.frames):
        taken = 0
        while taken < block.shape[1]:
            part = block[:, taken : taken + most - filled]
            held[:, filled : filled + part.shape[1]] = part
            filled += part.shape[1]
            taken += part.shape[1]
            if filled == most:
                yield held
                held[:, :hop] = held[:, most - hop :]
                filled = hop
    if filled >= 2 * hop:
        yield held[:, : filled // hop * hop]


def _peaks(batch: Floats, rate: int) -> tuple[list[float], list[float], list[float]]:
    """Return frequency in Hz, level in dB and tonality of the highest peak of each frame."""
    hop = hop_frames(rate)
    window = np.hanning(2 * hop + 1)[:-1]
    frames = sliding_window_view(batch, 2 * hop, axis=1)[:, ::hop]
    power = np.zeros((frames.shape[1], hop + 1))
    for channel in frames:
        spectrum = np.fft.rfft((channel - channel.mean(axis=1, keepdims=True)) * window)
        power += spectrum.real**2 + spectrum.imag**2
    at = np.arange(len(power))
    last = int(_REACH * 2 * hop)
    peak = _LOWEST_BIN + np.argmax(power[:, _LOWEST_BIN:last], axis=1)
    sums = np.zeros((len(power), hop + 2))
    np.cumsum(power, axis=1, out=sums[:, 1:])
    low = np.maximum(peak - _BESIDE, _LOWEST_BIN)
    inside = sums[at, peak + _BESIDE + 1] - sums[at, low]
    whole = sums[:, -1] - sums[at, np.maximum(peak // 2, _LOWEST_BIN)]
    before, here, after = (np.log(np.maximum(power[at, peak + d], _NOTHING)) for d in (-1, 0, 1))
    bend = before - 2.0 * here + after
    offset = np.where(bend < 0.0, 0.5 * (before - after) / np.where(bend < 0.0, bend, -1.0), 0.0)
    frequency = (peak + np.clip(offset, -0.5, 0.5)) * rate / (2 * hop)
    # A sine of amplitude 1 holds a quarter of the window's squares in its peak, times its length.
    squares = np.sum(window**2) * hop / 2.0
    level = 10.0 * np.log10(np.maximum(inside / squares, _NOTHING))
    tonality = inside / np.maximum(whole, _NOTHING)
    return frequency.tolist(), level.tolist(), tonality.tolist()


class _Runs:
    """Frames of one frequency and level, one after the other."""

    def __init__(self, hop: int) -> None:
        self._hop = hop
        self._at = 0
        self._frequencies: list[float] = []
        self._levels: list[float] = []
        self._sums = [0.0, 0.0, 0.0]
        self._runs: list[Steady] = []

    def take(self, frequency: float, level: float, *, is_tonal: bool) -> None:
        if self._frequencies and not (is_tonal and self._belongs(frequency, level)):
            self._close()
        if is_tonal:
            self._frequencies = [*self._frequencies[1 - _RECENT :], frequency]
            self._levels = [*self._levels[1 - _RECENT :], level]
            self._sums = [a + b for a, b in zip(self._sums, (1.0, frequency, level), strict=True)]
        self._at += 1

    def closed(self) -> list[Steady]:
        if self._frequencies:
            self._close()
        return self._runs

    def _belongs(self, frequency: float, level: float) -> bool:
        usual = sum(self._frequencies) / len(self._frequencies)
        away = abs(frequency - usual)
        levels = sum(self._levels) / len(self._levels)
        near = away < max(_FREQUENCY_SHARE * usual, _FREQUENCY_HZ)
        return near and abs(level - levels) < _LEVEL_DB

    def _close(self) -> None:
        count, frequencies, levels = self._sums
        frames = round(count)
        # What lasts for less than three frames is not a tone and bridges none.
        if frames > 2:
            self._runs.append(
                Steady(
                    start=(self._at - frames) * self._hop,
                    end=(self._at + 1) * self._hop,
                    frequency_hz=frequencies / count,
                    level_db=levels / count,
                )
            )
        self._frequencies, self._levels, self._sums = [], [], [0.0, 0.0, 0.0]


def _joined(runs: list[Steady], gap: int) -> list[Steady]:
    """Bridge dropouts: what goes on alike after a short gap is one tone."""
    tones: list[Steady] = []
    for run in runs:
        last = tones[-1] if tones else None
        if last is not None and run.start - last.end <= gap and _are_alike(last, run):
            long, short = last.end - last.start, run.end - run.start
            share = long / (long + short)
            tones[-1] = Steady(
                start=last.start,
                end=run.end,
                frequency_hz=share * last.frequency_hz + (1 - share) * run.frequency_hz,
                level_db=share * last.level_db + (1 - share) * run.level_db,
            )
        else:
            tones.append(run)
    return tones


def _are_alike(one: Steady, other: Steady) -> bool:
    away = abs(one.frequency_hz - other.frequency_hz)
    near = away < max(_FREQUENCY_SHARE * one.frequency_hz / 2, _FREQUENCY_HZ)
    return near and abs(one.level_db - other.level_db) < _ALIKE_DB
