"""Mains hum on quiet stretches: over a whole file programme would hide it.

Windows of four seconds that are steady and quiet are kept, the quietest few of each 6 dB of level:
a leader and quiet tape lie in different ones, and only tape carries hum that was recorded. The
families near 50 and 60 Hz are looked for in the mean spectrum of each level.
"""

from dataclasses import dataclass
from decimal import Decimal

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view

from tailsout.measure.kernels import Floats, Integers, Singles
from tailsout.measure.levels import hundredths
from tailsout.measure.seconds import Analyser, Analysis
from tailsout.measure.trace import variances
from tailsout.records.sound import Hum, HumLevel

WINDOW_S = 4
QUIET_BELOW_DBFS = -40.0
STEADY_DB = 6.0
"""Between the quietest and the loudest tenth of a second of a window."""
STANDS_OUT_DB = 10.0
MOST_HARMONICS = 10
MAINS_HZ = (50, 60)
DEPARTS = 0.04
"""How far a family may lie from the mains frequency, as a share of it: replay at another speed."""

_KEPT_A_LEVEL = 6
_LEVEL_DB = 6.0
_PADDED = 4
_FLOOR_HZ = 8.0
_FEET_HZ = 0.55
_SPREAD_HZ = 4.0
_SAME_HZ = 0.12
_STEP_HZ = 0.02
_NOTES_HZ = (30.0, 130.0)
_LEAST_SCORE_DB = 20.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Window:
    first: int
    level: float
    sound: Singles


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Family:
    hum: Hum
    score: float


class QuietWindows:
    """Keeps quiet windows of a file or a part of it."""

    def __init__(self, analyser: Analyser) -> None:
        self._analyser = analyser
        self._recent: list[tuple[Analysis, Floats]] = []
        self._by_level: dict[int, list[_Window]] = {}

    def take(self, second: Analysis) -> None:
        """Take in the next second."""
        if second.slow is None:
            return
        if self._recent and self._recent[-1][0].first + self._analyser.rate != second.first:
            self._recent.clear()
        tenths = variances(second, 80)
        self._recent = [*self._recent[1 - WINDOW_S :], (second, tenths)]
        if len(self._recent) < WINDOW_S or not _is_sound(self._recent):
            return
        levels = np.concatenate([one.max(axis=0) for _, one in self._recent])
        lowest, highest = float(levels.min()), float(levels.max())
        if highest <= 0.0:
            # One level all along, and no silence: nothing swings, so nothing hums.
            return
        mean = 10.0 * np.log10(2.0 * float(levels.mean()))
        if mean > QUIET_BELOW_DBFS or highest > lowest * 10.0 ** (STEADY_DB / 10.0):
            return
        kept = self._by_level.setdefault(int(mean // _LEVEL_DB), [])
        if len(kept) == _KEPT_A_LEVEL and mean >= kept[-1].level:
            return
        sound = np.concatenate([one.slow for one, _ in self._recent if one.slow is not None], 1)
        kept.append(_Window(first=self._recent[0][0].first, level=mean, sound=sound))
        kept.sort(key=lambda one: one.level)
        del kept[_KEPT_A_LEVEL:]

    def families(self) -> tuple[Hum, ...]:
        """Return at most two families, the one nearer to its mains frequency first."""
        best: list[_Family] = []
        for level in sorted(self._by_level):
            for one in _families(self._by_level[level], self._analyser):
                twins = [other for other in best if _is_same(one.hum, other.hum)]
                if all(one.score > twin.score for twin in twins):
                    best = [other for other in best if other not in twins] + [one]
        best.sort(key=lambda one: one.score, reverse=True)
        return tuple(sorted((one.hum for one in best[:2]), key=_departure))


def ratio(families: tuple[Hum, ...]) -> Decimal | None:
    """Return the second family's frequency by the first's, if both belong to one mains."""
    if len(families) < 2 or families[0].mains_hz != families[1].mains_hz:
        return None
    first, second = families
    return round(second.frequency_hz / first.frequency_hz, 4)


def _is_sound(recent: list[tuple[Analysis, Floats]]) -> bool:
    """Tell whether no channel that sounds at all falls to digital silence on the way."""
    squares = np.concatenate([second.squares for second, _ in recent], axis=1)
    sounding = squares[squares.max(axis=1) > 0.0]
    return bool(sounding.size) and bool((sounding > 0.0).all())


def _is_same(one: Hum, other: Hum) -> bool:
    return abs(float(one.frequency_hz - other.frequency_hz)) < _SAME_HZ


def _departure(one: Hum) -> float:
    return abs(float(one.frequency_hz) / one.mains_hz - 1.0)


def _families(windows: list[_Window], analyser: Analyser) -> list[_Family]:
    sounds = np.stack([one.sound for one in windows])
    size = sounds.shape[2]
    shape = 0.5 - 0.5 * np.cos(2.0 * np.pi * np.arange(size) / size)
    sounds = (sounds - sounds.mean(axis=2, keepdims=True)) * shape
    # The median is what all windows have in common.
    power = np.median(np.abs(np.fft.rfft(sounds, _PADDED * size)) ** 2, axis=0)
    hz = analyser.slow_hz / (_PADDED * size)
    # A full-scale sine peaks at 1.
    power *= (2.0 / np.sum(shape)) ** 2
    droop = np.sinc(np.arange(power.shape[1]) * hz * analyser.slow_step / analyser.rate)
    power /= np.maximum(droop, 0.1) ** 2
    power = power[:, : int(MOST_HARMONICS * 63.0 / hz) + 200]
    floor = _floor(power, hz)
    ratios = np.max(power / np.maximum(floor, 1e-30), axis=0)
    found = []
    for _ in range(2):
        family = _strongest(ratios, power, floor, hz, windows[0].first)
        if family is None:
            break
        found.append(family)
        _blank(ratios, float(family.hum.frequency_hz), hz)
    return found


def _floor(power: Floats, hz: float) -> Floats:
    width = 2 * round(_FLOOR_HZ / hz / 8) + 1
    # Every fourth bin: the spectrum is padded four times.
    thin = np.pad(power[:, ::_PADDED], ((0, 0), (width // 2, width // 2)), mode="reflect")
    medians = np.median(sliding_window_view(thin, width, axis=1), axis=2)
    return np.repeat(medians, _PADDED, axis=1)[:, : power.shape[1]]


def _harmonics(ratios: Floats, base: Floats, hz: float) -> Floats:
    """Return the dB each harmonic of each base stands out, shape (bases, harmonics)."""
    places = np.rint(base[:, np.newaxis] * np.arange(1, MOST_HARMONICS + 1) / hz).astype(int)
    known = places < ratios.size - 2
    places = np.where(known, places, 0)
    return np.where(known, 10.0 * np.log10(np.maximum(ratios[places], 1.0)), 0.0)


def _strongest(
    ratios: Floats, power: Floats, floor: Floats, hz: float, first: int
) -> _Family | None:
    bases = np.concatenate(
        [np.arange(m * (1 - DEPARTS), m * (1 + DEPARTS), _STEP_HZ) for m in MAINS_HZ]
    )
    stands = _harmonics(ratios, bases, hz)
    stands = np.where(stands >= STANDS_OUT_DB, stands, 0.0)
    # Without its fundamental a family may be that of a lower note: its second must then be the
    # strongest line of all down there.
    low = 10.0 * np.log10(
        max(1.0, float(ratios[round(_NOTES_HZ[0] / hz) : round(_NOTES_HZ[1] / hz)].max()))
    )
    stands[(stands[:, 0] == 0.0) & (stands[:, 1] < max(low - 1.0, STANDS_OUT_DB))] = 0.0
    scores = stands.sum(axis=1)
    at = int(np.argmax(scores))
    if scores[at] < _LEAST_SCORE_DB:
        return None
    base, used = _refined(ratios, float(bases[at]), hz)
    places = np.rint(base * used / hz).astype(int)
    levels = []
    for channel in range(power.shape[0]):
        stands_out = power[channel, places] > floor[channel, places] * 10 ** (STANDS_OUT_DB / 10)
        total = float(power[channel, places[stands_out]].sum())
        if total > 0.0:
            level = hundredths(10.0 * np.log10(total))
            levels.append(HumLevel(channel=channel + 1, level_dbfs=level))
    if not levels:
        return None
    mains = min(MAINS_HZ, key=lambda one: abs(base / one - 1.0))
    hum = Hum(
        mains_hz=mains,
        frequency_hz=hundredths(base),
        harmonics=int(used.size),
        levels=tuple(levels),
        start=first,
    )
    return _Family(hum=hum, score=float(scores[at]))


def _refined(ratios: Floats, base: float, hz: float) -> tuple[float, Integers]:
    """Return the base from all its lines, each between bins, and the harmonics that stand out."""
    number = np.arange(1, MOST_HARMONICS + 1)
    places = np.rint(base * number / hz).astype(int)
    weights = np.zeros(number.size)
    frequencies = np.zeros(number.size)
    reach = _PADDED // 2 + 1
    for n, place in enumerate(places):
        if place + reach + 1 >= ratios.size:
            continue
        at = place - reach + int(np.argmax(ratios[place - reach : place + reach + 1]))
        if ratios[at] < 10.0 ** (STANDS_OUT_DB / 10.0) or ratios[at] < ratios[at + 1]:
            continue
        low, top, high = np.log(np.maximum(ratios[at - 1 : at + 2], 1e-30))
        curve = low - 2.0 * top + high
        shift = 0.5 * (low - high) / curve if curve < 0.0 else 0.0
        frequencies[n] = (at + shift) * hz
        weights[n] = ratios[at]
    used = number[weights > 0.0]
    if not used.size:
        return base, used
    weigh = np.sqrt(weights) * number
    return float(np.sum(weigh * frequencies / number) / np.sum(weigh)), used


def _blank(ratios: Floats, base: float, hz: float) -> None:
    """Take a family out, and what the window spreads of its lines."""
    reach, feet = round(_FEET_HZ / hz), round(_SPREAD_HZ / hz)
    for n in range(1, MOST_HARMONICS + 1):
        place = round(base * n / hz)
        start, end = max(0, place - feet), min(ratios.size, place + feet + 1)
        if start >= end:
            continue
        top = float(ratios[max(0, place - 2) : place + 3].max(initial=0.0))
        bins = np.maximum(np.abs(np.arange(start, end) - place), reach) * hz * WINDOW_S
        spread = 4.0 * top / (np.pi * bins * (bins**2 - 1.0)) ** 2
        ratios[start:end] = np.where(ratios[start:end] < spread, 1.0, ratios[start:end])
        ratios[max(0, place - reach) : place + reach + 1] = 1.0
