"""What a file, or a part of it, shows second by second: levels, floors, pairs, spectrum, hum."""

import math
from decimal import Decimal

import numpy as np

from tailsout.measure.band import bandwidth
from tailsout.measure.hum import QuietWindows, ratio
from tailsout.measure.kernels import Floats, Integers
from tailsout.measure.levels import hundredths, sine_decibels
from tailsout.measure.programme_azimuth import Delays
from tailsout.measure.seconds import COLUMNS, SLOTS, Analyser, Analysis
from tailsout.measure.trace import variances
from tailsout.records.sound import PairFacts, RegionChannel, RegionSound

SAME_LEVEL_DB = Decimal("0.5")
"""Channels of one track replayed by two gaps differ by no more (common practice)."""
SAME_SOUND = Decimal("0.95")
"""Coherence of the same, hiss of each channel's own allowed for (common practice)."""
INVERTED_BELOW = Decimal("-0.2")
"""Correlation of an inverted leg; uncorrelated channels scatter around zero."""

_LEVEL_DB = 6.0
_FLOOR_TENTHS = 5
_STEADY = 4.0
"""Power: 6 dB."""


class Stretch:
    """Gathers the facts of the seconds it is given."""

    def __init__(self, channels: int, analyser: Analyser) -> None:
        self._analyser = analyser
        pairs = max(channels - 1, 0)
        self._frames = 0
        self._seconds = 0
        self._squares: Floats = np.zeros(channels)
        self._floors: Floats = np.full(channels, np.inf)
        self._products: Floats = np.zeros(pairs)
        self._apart: Floats = np.zeros(pairs)
        self._coherent: Floats = np.zeros((pairs, 2))
        self._delays = Delays(pairs, analyser)
        self._spectra: dict[int, tuple[Floats, int]] = {}
        self.windows = QuietWindows(analyser)
        self.silent: Integers = np.zeros(channels, np.int64)
        """Samples of each channel in slots of nothing but zeros."""

    def take(self, second: Analysis) -> None:
        """Take in the next second of the stretch."""
        self._frames += second.frames
        self._seconds += second.frames == self._analyser.rate
        self._squares += second.squares.sum(axis=1)
        sizes = np.diff(second.edges)
        self.silent += ((second.squares == 0.0) * sizes).sum(axis=1)
        self._take_floor(second)
        self._products += second.products
        self._apart += second.are_apart
        self._delays.take(second)
        power = np.nan_to_num(second.powers.sum(axis=1))
        weight = np.sqrt(power[:-1] * power[1:])
        self._coherent[:, 0] += np.nan_to_num(second.coherences) * weight
        self._coherent[:, 1] += weight
        self._take_spectrum(second)
        self.windows.take(second)

    def _take_floor(self, second: Analysis) -> None:
        tenths = variances(second, SLOTS // COLUMNS)
        count = tenths.shape[1]
        if count < _FLOOR_TENTHS:
            return
        silent = (second.squares == 0.0)[:, : count * SLOTS // COLUMNS]
        holds = silent.reshape(silent.shape[0], count, SLOTS // COLUMNS).any(axis=2)
        levels = np.where(holds, np.inf, tenths)
        halves = np.lib.stride_tricks.sliding_window_view(levels, _FLOOR_TENTHS, axis=1)
        # What swells or falls within half a second is programme, not the floor under it.
        is_steady = halves.max(axis=2) <= _STEADY * halves.min(axis=2)
        levels = np.where(is_steady, halves.mean(axis=2), np.inf)
        np.minimum(self._floors, levels.min(axis=1), out=self._floors)

    def _take_spectrum(self, second: Analysis) -> None:
        if not second.columns.size:
            return
        power = second.powers.mean(axis=0)
        total = float(power.sum())
        if total <= 0.0:
            return
        level = math.floor(10.0 * math.log10(total) / _LEVEL_DB)
        so_far, count = self._spectra.get(level, (np.zeros(power.size), 0))
        so_far += power
        self._spectra[level] = (so_far, count + 1)

    def mean_spectrum(self) -> Floats | None:
        """Return the mean power by bin over all seconds that are not silent; None if all are."""
        if not self._spectra:
            return None
        count = sum(one[1] for one in self._spectra.values())
        total: Floats = sum((one[0] for one in self._spectra.values()), np.zeros(1)) / count
        return total

    def bandwidth(self, hiss_db: float | None = None) -> Decimal | None:
        """Return the highest frequency above the floor, in Hz.

        The floor is the spectrum of the quietest seconds, of those not below the tape's own hiss
        where its level is known, in dB re a full-scale sine.
        """
        mean = self.mean_spectrum()
        if mean is None:
            return None
        lowest = -math.inf if hiss_db is None else math.floor((hiss_db - 3.0) / _LEVEL_DB)
        levels = [one for one in sorted(self._spectra) if one >= lowest] or sorted(self._spectra)
        quiet, count = self._spectra[levels[0]]
        return bandwidth(mean, quiet / count, self._analyser.bin_hz)

    def rms(self, channel: int) -> float:
        """Return the mean square of a channel."""
        return float(self._squares[channel]) / max(self._frames, 1)

    def noise_floor(self, channel: int) -> Decimal | None:
        """Return the level of the quietest half second of a channel in dBFS."""
        floor = float(self._floors[channel])
        return sine_decibels(floor) if math.isfinite(floor) else None

    def pairs(self) -> tuple[PairFacts, ...]:
        """Return what neighbouring channels show of each other."""
        return tuple(self._pair(p) for p in range(self._products.size))

    def _pair(self, p: int) -> PairFacts:
        first, second = (float(one) for one in self._squares[p : p + 2])
        if first <= 0.0 or second <= 0.0:
            return PairFacts(channel=p + 1)
        balance = hundredths(10.0 * math.log10(second / first))
        correlation = hundredths(float(self._products[p]) / math.sqrt(first * second))
        shared, weight = self._coherent[p]
        coherence = hundredths(float(shared / weight)) if weight > 0.0 else None
        is_identical = float(self._apart[p]) == 0.0
        is_alike = (
            abs(balance) <= SAME_LEVEL_DB and coherence is not None and coherence >= SAME_SOUND
        )
        azimuth = self._delays.azimuth(p)
        return PairFacts(
            channel=p + 1,
            balance_db=balance,
            correlation=correlation,
            coherence=coherence,
            delay_us=azimuth.delay_us,
            delay_spread_us=azimuth.spread_us,
            delay_seconds=azimuth.seconds or None,
            rival_delay_us=azimuth.rival_us,
            may_be_a_cycle_out=azimuth.may_be_a_cycle_out,
            is_identical=is_identical,
            is_dual_mono=is_identical or is_alike,
            is_inverted=correlation < INVERTED_BELOW,
        )

    def region(self, start: int, end: int) -> RegionSound:
        """Return the facts of a stretch as those of a region."""
        hum = self.windows.families()
        return RegionSound(
            start=start,
            end=end,
            seconds=self._seconds,
            channels=tuple(
                RegionChannel(
                    rms_dbfs=sine_decibels(self.rms(c)), noise_floor_dbfs=self.noise_floor(c)
                )
                for c in range(self._squares.size)
            ),
            pairs=self.pairs() if self._frames else (),
            bandwidth_hz=self.bandwidth(),
            hum=hum,
            hum_ratio=ratio(hum),
        )
