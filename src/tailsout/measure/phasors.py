"""A tone as phasors: size and phase, stretch by stretch.

Each phasor is the tone mixed down to 0 Hz under a window of a few cycles, so that wow does not
smear it: a stretch of T seconds under-reads a tone that strays by more than a share of 1/T.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tailsout.measure.kernels import Floats
from tailsout.measure.samples import Samples
from tailsout.measure.tones import Steady, hop_frames

Phasors = NDArray[np.complex128]

LONGEST_SECONDS = 120
"""A tone is read for so long at most."""

_HALF_CYCLES = 6.0
"""Cycles in a hop; a window has two of them."""
_FEWEST_FRAMES = 8
EDGE_HOPS = 2
"""Left out at both ends of a tone."""
_STRAY = 0.02
"""Cycles a window may stray from the tone's own frequency before it is laid anew."""
_HELD = 0.5
"""Least agreement of each phasor with the next in what counts as a tone: noise has 1/6."""
_ALIKE = 0.5
_DROPOUT = 0.5
"""Share of the median power below which a window lies on a dropout (3 dB)."""
_FAINTEST = 1e-6


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadTone:
    """One tone, read."""

    frequency_hz: float
    amplitude: tuple[float | None, ...]
    """By channel, full scale 1.0; None where the channel does not hold it."""
    lag_degrees: tuple[float | None, ...]
    """By channel: how far it lags behind the first, -180 to 180."""


def phasors(
    samples: Samples, start: int, end: int, *, frequency_hz: float, window: Floats, hop: int
) -> Phasors:
    """Return the phasors of all windows that fit between two positions, one every hop.

    Shape (channels, phasors); the window is a whole number of hops. A sine of amplitude 1 has size
    1, its phase is that at the middle of the window less `frequency_hz` run on from `start`.
    """
    kinds = len(window) // hop
    turn = -2j * math.pi * frequency_hz / samples.pcm.sample_rate_hz
    middle = (len(window) - 1) / 2.0
    taps = window * np.exp(turn * (np.arange(len(window)) - middle)) * (2.0 / window.sum())
    by_hop = taps.reshape(kinds, hop)
    table = np.concatenate([by_hop.real, by_hop.imag]).T.copy()
    parts = [_hops(block, hop) @ table for block in _whole_hops(samples, start, end, hop)]
    if not parts:
        return np.zeros((samples.pcm.channels, 0), np.complex128)
    products = np.concatenate(parts, axis=1)
    count = max(0, products.shape[1] - kinds + 1)
    total = np.zeros((products.shape[0], count), np.complex128)
    for kind in range(kinds):
        total += products[:, kind : kind + count, kind]
        total += 1j * products[:, kind : kind + count, kinds + kind]
    spin: Phasors = np.exp(turn * (hop * np.arange(count) + middle))
    return total * spin


def read_tone(samples: Samples, tone: Steady) -> ReadTone | None:
    """Read a steady tone; None if no channel holds it on a closer look. Raises SurroundingsError.

    Frequency by the slope of the phase over the whole tone.
    """
    rate = samples.pcm.sample_rate_hz
    edge = EDGE_HOPS * hop_frames(rate)
    start = tone.start + edge
    end = min(tone.end - edge, start + LONGEST_SECONDS * rate)
    frequency = tone.frequency_hz
    for _ in range(3):
        hop = _hop(frequency, rate)
        window = np.hanning(2 * hop + 1)[:-1]
        found = phasors(samples, start, end, frequency_hz=frequency, window=window, hop=hop)
        if found.shape[1] < 2:
            return None
        held = [_is_held(one) for one in found]
        if not any(held):
            return None
        best = max((c for c, holds in enumerate(held) if holds), key=lambda c: _power(found[c]))
        stray = _stray_hz(found[best], hop / rate)
        frequency += stray
        if abs(stray) * 2 * hop / rate < _STRAY:
            break
    return ReadTone(
        frequency_hz=frequency,
        amplitude=tuple(
            _amplitude(one) if holds else None for one, holds in zip(found, held, strict=True)
        ),
        lag_degrees=tuple(
            _lag(found[0], one) if held[0] and holds else None
            for one, holds in zip(found, held, strict=True)
        ),
    )


def steady_part(one: Phasors) -> NDArray[np.bool_]:
    """Tell which phasors are not of a dropout."""
    power = one.real**2 + one.imag**2
    return power >= _DROPOUT * np.median(power)


def advances(one: Phasors) -> Floats:
    """Return how far the phase runs from one phasor to the next, radians.

    Across a dropout it runs on as before and after.
    """
    steps = np.angle(one[1:] * one[:-1].conj())
    good = steady_part(one)
    good = good[1:] & good[:-1]
    at = np.arange(steps.size)
    return np.interp(at, at[good], steps[good]) if np.any(good) else steps


def _hop(frequency_hz: float, rate: int) -> int:
    # Near half the sample rate it is the mirror image that must be kept away.
    slow = min(frequency_hz, rate / 2.0 - frequency_hz)
    return max(_FEWEST_FRAMES, round(_HALF_CYCLES * rate / slow))


def _whole_hops(samples: Samples, start: int, end: int, hop: int) -> Iterator[Floats]:
    """Yield a stretch in pieces of whole hops."""
    rest = np.zeros((samples.pcm.channels, 0))
    for block in samples.between(start, end):
        rest = np.concatenate([rest, block], axis=1)
        whole = rest.shape[1] // hop * hop
        if whole:
            yield rest[:, :whole]
        rest = rest[:, whole:]


def _hops(block: Floats, hop: int) -> Floats:
    return np.ascontiguousarray(block).reshape(block.shape[0], -1, hop)


def _power(one: Phasors) -> float:
    return float(np.mean(one.real**2 + one.imag**2))


def _is_held(one: Phasors) -> bool:
    power = _power(one)
    together = abs(np.mean(one[1:] * one[:-1].conj()))
    return power > _FAINTEST**2 and bool(together > _HELD * power)


def _stray_hz(one: Phasors, hop_seconds: float) -> float:
    """Return how far the tone's frequency lies above the one it was mixed down by, Hz."""
    phase = np.concatenate([[0.0], np.cumsum(advances(one))])
    at = np.arange(one.size)
    away = at - at.mean()
    slope = float(np.sum(away * phase)) / float(np.sum(away**2))
    return slope / (2.0 * math.pi * hop_seconds)


def _amplitude(one: Phasors) -> float:
    # A median, so that a dropout within long windows does not count either.
    return float(np.median(np.abs(one)))


def _lag(first: Phasors, other: Phasors) -> float | None:
    good = steady_part(first) & steady_part(other)
    if not np.any(good):
        return None
    product = np.mean(other[good] * first[good].conj())
    if abs(product) < _ALIKE * math.sqrt(_power(first[good]) * _power(other[good])):
        return None
    return -math.degrees(float(np.angle(product)))
