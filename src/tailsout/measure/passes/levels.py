"""Where one pass lies on another, coarsely: by the ups and downs of level in steps of 20 ms.

These survive hiss, equalisation and any wear; nothing else is kept of the audio.
"""

from collections.abc import Iterator, Sequence

import numpy as np

from tailsout.measure.blocks import Blocks
from tailsout.measure.kernels import Floats
from tailsout.measure.passes.sound import Sound

STEPS_A_SECOND = 50
FURTHEST_PERCENT = 6.0
"""Speed differences that are looked for."""
_COARSE_S = 30
_SHORTEST_S = 3
_COARSE_WINDOWS = 24
_TRIED_AT_EVERY_SPEED = 6
_RATIO_STEP = 0.005
_ALIKE_ENOUGH = 0.6
"""Correlation of levels: unrelated speech reaches 0.4 or so (own trials)."""
SHARE_IN_LINE = 0.4
"""Of the windows that must tell the same."""
_IN_LINE_S = 0.2
_QUIETEST = 1e-12


def levels_of(sound: Sound) -> Floats:
    """Return the level in each step of 20 ms, dB, the slow rise and fall taken out."""
    rate = sound.pcm.sample_rate_hz
    # Whole steps of decimated samples: a boxcar to about 6 kHz, then one difference against rumble.
    factor = max(1, rate // 6_000)
    step = rate // STEPS_A_SECOND // factor * factor
    block_steps = max(1, (1 << 18) // (step * sound.pcm.frame_octets))
    blocks = Blocks(sound.pcm, history=0, frames=block_steps * step)
    energies = []
    position = 0
    while position + step <= sound.frames:
        steps = min(block_steps, (sound.frames - position) // step)
        octets = sound.read(position, steps * step)
        frames = blocks.fill(octets)
        sound.advance(len(octets))
        whole = blocks.planar[:, :frames].reshape(sound.pcm.channels, steps, -1, factor).mean(3)
        energies.append(np.square(np.diff(whole, axis=2)).sum(axis=(0, 2)))
        position += frames
    every = np.concatenate(energies) if energies else np.zeros(0)
    # At a rate that is not a multiple of 50 · factor steps are a little short of 20 ms: evened out.
    at = np.arange(int(len(every) * step / rate * STEPS_A_SECOND)) / STEPS_A_SECOND * rate / step
    levels = 10.0 * np.log10(np.maximum(every, _QUIETEST))
    if not len(levels):
        return levels
    evened: Floats = np.interp(at, np.arange(len(levels)), levels)
    return evened


def coarse(first: Floats, second: Floats) -> tuple[float, float] | None:
    """Return offset in seconds and stretch; None if the levels are not seen to be alike."""
    size = min(_COARSE_S * STEPS_A_SECOND, len(first), int(len(second) / 1.07))
    if size < _SHORTEST_S * STEPS_A_SECOND:
        return None
    candidates = np.linspace(0, len(first) - size, _COARSE_WINDOWS * 2).astype(int)
    lively = sorted(set(candidates.tolist()), key=lambda at: -float(np.std(first[at : at + size])))
    chosen = [at for at in lively[:_COARSE_WINDOWS] if np.std(first[at : at + size]) > 0.5]
    if not chosen:
        return None
    search = _Search(second, size)
    ratios = 1.0 + np.arange(-FURTHEST_PERCENT / 100, FURTHEST_PERCENT / 100 + 1e-9, _RATIO_STEP)
    best = {at: search.best(first[at : at + size], ratios) for at in chosen[:_TRIED_AT_EVERY_SPEED]}
    ratio = max(best.values())[1]
    for at in chosen[_TRIED_AT_EVERY_SPEED:]:
        near = [one for one in ratios if abs(one - ratio) < 1.5 * _RATIO_STEP]
        best[at] = search.best(first[at : at + size], near)
    alike = [(at, *one) for at, one in best.items() if one[0] >= _ALIKE_ENOUGH]
    if len(alike) < max(1, SHARE_IN_LINE * len(chosen)):
        return None
    # The middle of each window, in seconds, in both passes.
    times = np.array([(at + size / 2) / STEPS_A_SECOND for at, *_ in alike])
    places = np.array([(place + size * r / 2) / STEPS_A_SECOND for _, _, r, place in alike])
    if np.ptp(times) < 2 * size / STEPS_A_SECOND:
        ratio = float(np.median([r for _, _, r, _ in alike]))
        return float(np.median(places - ratio * times)), ratio
    offset, slope = line(times, places, tolerance=_IN_LINE_S)
    in_line = np.abs(places - offset - slope * times) < _IN_LINE_S
    if np.sum(in_line) < SHARE_IN_LINE * len(chosen) or abs(slope - 1) > 0.07:
        return None
    return offset, slope


class _Search:
    """Finds a stretched piece in one long row of levels."""

    def __init__(self, row: Floats, size: int) -> None:
        # Silence before and after lets a piece hang over either end.
        self._pad = size // 2
        self._row = np.pad(row - np.mean(row), self._pad)
        self._points = 1 << (len(self._row) + size * 2).bit_length()
        self._spectrum = np.fft.rfft(self._row, self._points)
        self._sums = np.concatenate(([0.0], np.cumsum(self._row)))
        self._squares = np.concatenate(([0.0], np.cumsum(self._row**2)))

    def best(self, piece: Floats, ratios: Sequence[float] | Floats) -> tuple[float, float, int]:
        """Return the highest correlation, the stretch and the place of it."""
        found = (-1.0, 1.0, 0)
        for ratio in ratios:
            size = round(len(piece) * float(ratio))
            at = np.linspace(0, len(piece) - 1, size)
            stretched = np.interp(at, np.arange(len(piece)), piece)
            stretched -= stretched.mean()
            norm = float(np.sqrt(np.sum(stretched**2)))
            places = len(self._row) - size
            if places < 1 or norm == 0:
                continue
            spectrum = np.conj(np.fft.rfft(stretched, self._points))
            products = np.fft.irfft(self._spectrum * spectrum, self._points)[:places]
            sums = self._sums[size : size + places] - self._sums[:places]
            squares = self._squares[size : size + places] - self._squares[:places]
            spread = np.sqrt(np.maximum(squares - sums**2 / size, 1e-9 * size))
            heights = products / (norm * spread)
            place = int(np.argmax(heights))
            if heights[place] > found[0]:
                found = (float(heights[place]), float(ratio), place - self._pad)
        return found


def line(x: Floats, y: Floats, *, tolerance: float) -> tuple[float, float]:
    """Return level and slope of the line that most points lie on, least squares over these."""
    best: tuple[int, float, float] = (0, float(np.median(y)), 0.0)
    for i, j in _pairs(len(x)):
        if x[j] - x[i] == 0:
            continue
        slope = (y[j] - y[i]) / (x[j] - x[i])
        level = y[i] - slope * x[i]
        count = int(np.sum(np.abs(y - level - slope * x) < tolerance))
        if count > best[0]:
            best = (count, float(level), float(slope))
    _, level, slope = best
    near = np.abs(y - level - slope * x) < tolerance
    if np.sum(near) < 2 or np.ptp(x[near]) == 0:
        return level, slope
    slope, level = np.polyfit(x[near], y[near], 1)
    return float(level), float(slope)


def _pairs(count: int) -> Iterator[tuple[int, int]]:
    """Yield pairs that lie far apart, where a slope is well told."""
    apart = max(1, count // 3)
    return ((i, j) for i in range(count) for j in range(i + apart, count))
