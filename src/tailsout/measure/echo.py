"""Print-through: a sound that comes again, faint, a turn of the reel before or after itself.

Looked for where it is not masked: before sounds that begin out of quiet and after sounds that end
in it. The best of these are kept while a file streams by, and correlated at the end, each by
itself, since the length of a turn changes along a reel. An echo that comes after is one that comes
before in a sound that is played backwards.
"""

import math
from dataclasses import dataclass

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view

from tailsout.measure.kernels import Floats, Singles
from tailsout.measure.kernels.echo import thin_out
from tailsout.measure.levels import tenths
from tailsout.measure.likeness import (
    DECAY,
    FAINTEST,
    FALL_DB,
    FEWEST_QUIET,
    FROM_HZ,
    LOUD,
    MARGIN_S,
    TO_HZ,
    best_echo,
)
from tailsout.measure.turns import print_through, ten_thousandths
from tailsout.records.echo import PossibleEcho, PrintThrough
from tailsout.tape.geometry import HUB_RADII_MM, turn_seconds

SHORTEST_S = 0.45
LONGEST_S = 4.2
"""Delays of a turn from the hub of a 10½ inch reel at 30 ips to its edge at 7½ ips."""
MOST_CHANNELS = 8

_SLOW_HZ = 12_000
_SLOT_S = 0.01
_NEAR = 20
"""Slots of quiet asked for beside a sound."""
_ATTACK = 3
"""Slots between them in which a sound may rise."""
_START_DB = 10.0
_KEPT = 24
"""Sounds kept in all channels, half that in one, of either kind."""
_AT_A_TIME = 200
"""Slots searched together."""


def delays_on_reel(
    speed_ips: float, *, inner_mm: float = min(HUB_RADII_MM.values()), outer_mm: float = 126.0
) -> tuple[float, float]:
    """Return the shortest and the longest delay a pack of these radii can give, in seconds.

    Three per cent are added on both sides for a pack that was wound otherwise. Without radii those
    of all reels from 5 to 10½ inches. Shorter ones than can be looked for are left out. Raises
    ValueError.
    """
    shortest = max(SHORTEST_S, 0.97 * turn_seconds(inner_mm, speed_ips))
    return shortest, 1.03 * turn_seconds(outer_mm, speed_ips)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Sound:
    """A sound out of quiet: its samples, turned round if it is an end."""

    at: int
    """Thinned-out sample at which it begins or ends."""
    score: float
    samples: Singles
    """The quiet, then `LOUD` slots of sound."""


class Echoes:
    """Looks for echoes within a range of delays."""

    def __init__(
        self,
        channels: int,
        rate: int,
        *,
        shortest_s: float = SHORTEST_S,
        longest_s: float = LONGEST_S,
    ) -> None:
        """Delays within 0.45 to 10 s can be looked for; raises ValueError for others."""
        if not SHORTEST_S <= shortest_s < longest_s <= 10.0:
            raise ValueError(f"delays from {shortest_s} to {longest_s} s cannot be looked for")
        self._channels = min(channels, MOST_CHANNELS)
        self._rate = rate
        self._step = max(1, round(rate / _SLOW_HZ))
        self._hz = rate / self._step
        self._slot = max(1, round(self._hz * _SLOT_S))
        self._shortest, self._longest = shortest_s, longest_s
        self._reach = math.ceil((longest_s + MARGIN_S) * self._hz / self._slot) + DECAY + LOUD
        """Slots of quiet kept beside a sound."""
        low = min(TO_HZ * 1.5, 0.45 * self._hz)
        self._thinner = _low_pass(low / rate, 11 * self._step | 1)
        self._band = _low_pass(low / self._hz, 159) - _low_pass(FROM_HZ / self._hz, 159)
        self._raw: Singles = np.zeros((self._channels, self._thinner.size - 1), np.float32)
        self._raw_at = 0
        self._thin: Singles = np.zeros((self._channels, self._band.size - 1), np.float32)
        # A file begins after a silence.
        ahead = (self._channels, self._reach * self._slot)
        self._slow: Singles = np.zeros(ahead, np.float32)
        self._fresh: list[Singles] = []
        """What comes behind it, not yet joined to it: to join each block would cost most of all."""
        self._fresh_samples = 0
        self._powers: Floats = np.zeros((self._channels, self._reach))
        """Of the slots that `_slow` holds in full."""
        self._slow_at = -self._reach
        """Slot of the file at which `_slow` begins."""
        most = max(2, min(_KEPT // 2, _KEPT // max(self._channels, 1)))
        self._onsets = [_Best(most) for _ in range(self._channels)]
        self._ends = [_Best(most) for _ in range(self._channels)]

    def take(self, planar: Singles | Floats, first: int, frames: int) -> None:
        """Take in columns of a (channels, …) block from `first` on."""
        for at in range(first, first + frames, self._rate):
            stop = min(at + self._rate, first + frames)
            self._take(planar[: self._channels, at:stop].astype(np.float32, copy=False))

    def _take(self, new: Singles) -> None:
        raw = np.concatenate([self._raw, new], axis=1)
        count = max(0, (raw.shape[1] - self._raw_at - self._thinner.size) // self._step + 1)
        thinned = np.zeros((self._channels, count), np.float32)
        thin_out(raw, self._raw_at, self._thinner, self._step, thinned)
        begin = self._raw_at + count * self._step
        kept = min(begin, raw.shape[1])
        self._raw, self._raw_at = np.ascontiguousarray(raw[:, kept:]), begin - kept
        thin = np.concatenate([self._thin, thinned], axis=1)
        banded = np.zeros((self._channels, count), np.float32)
        thin_out(thin, 0, self._band, 1, banded)
        self._thin = np.ascontiguousarray(thin[:, count:])
        self._fresh.append(banded)
        self._fresh_samples += count
        held = self._slow.shape[1] + self._fresh_samples
        if held // self._slot >= 2 * self._reach + _AT_A_TIME:
            self._slow = np.concatenate([self._slow, *self._fresh], axis=1)
            self._fresh, self._fresh_samples = [], 0
            self._search()

    def _search(self) -> None:
        known = self._powers.shape[1]
        slots = self._slow.shape[1] // self._slot
        new = self._slow[:, known * self._slot : slots * self._slot]
        new = new.reshape(self._channels, slots - known, self._slot)
        powers = np.concatenate(
            [self._powers, np.einsum("csi,csi->cs", new, new) / self._slot], axis=1
        )
        reach = self._reach
        done = slots - 2 * reach
        for c in range(self._channels):
            forth = self._slow[c, : slots * self._slot]
            for at in _edges(powers[c], reach, reach + done):
                self._keep(self._onsets[c], powers[c], forth, at, self._slow_at + at)
            back = powers[c][::-1]
            for at in _edges(back, slots - reach - done + 1, slots - reach + 1)[::-1]:
                self._keep(self._ends[c], back, forth[::-1], at, self._slow_at + slots - at)
        self._slow = np.ascontiguousarray(self._slow[:, done * self._slot :])
        self._powers = powers[:, done:]
        self._slow_at += done

    def _keep(self, best: "_Best", powers: Floats, samples: Singles, at: int, place: int) -> None:
        loud = float(np.mean(powers[at : at + LOUD]))
        beside = powers[at - self._reach : at]
        quiet = beside[beside < loud * 10.0 ** (-FALL_DB / 10.0)]
        heard = quiet[quiet > FAINTEST]
        if heard.size < FEWEST_QUIET:
            return
        score = 10.0 * math.log10(loud / float(np.mean(heard)))
        first, last = (at - self._reach) * self._slot, (at + LOUD) * self._slot
        best.offer(place, score, samples[first:last])

    def found(self) -> PrintThrough:
        """Return what was found in all that was taken in."""
        # The end of a file is reached by the silence that may follow it.
        slots = 2 * self._reach + _AT_A_TIME
        left = slots * self._slot * self._step + self._thinner.size + self._band.size * self._step
        while left > 0:
            self._take(np.zeros((self._channels, min(left, self._rate)), np.float32))
            left -= self._rate
        echoes = []
        for c in range(self._channels):
            for kind, is_before in ((self._onsets[c], True), (self._ends[c], False)):
                for one in kind.sounds:
                    echo = self._echo(one, c, is_before=is_before)
                    if echo is not None:
                        echoes.append(echo)
        return print_through(
            sorted(echoes, key=lambda one: (one.at, one.channel, one.is_before)),
            rate=self._rate,
            range_s=(self._shortest, self._longest),
            tried=(
                sum(len(one.sounds) for one in self._onsets),
                sum(len(one.sounds) for one in self._ends),
            ),
        )

    def _echo(self, sound: _Sound, channel: int, *, is_before: bool) -> PossibleEcho | None:
        found = best_echo(sound.samples, self._hz, self._slot, (self._shortest, self._longest))
        if found is None:
            return None
        delay, gain, z = found
        # Both filters are symmetric and look at what comes before: half their lengths late.
        late = (self._band.size // 2) * self._step + self._thinner.size // 2
        return PossibleEcho(
            channel=channel + 1,
            at=max(0, sound.at * self._slot * self._step - late),
            is_before=is_before,
            delay_s=ten_thousandths(delay / self._hz),
            level_db=tenths(20.0 * math.log10(gain)),
            z=tenths(z),
        )


class _Best:
    """The sounds of the highest score, none close to another."""

    def __init__(self, most: int) -> None:
        self._most = most
        self.sounds: list[_Sound] = []

    def offer(self, at: int, score: float, samples: Singles) -> None:
        rival = next((one for one in self.sounds if abs(one.at - at) < LOUD), None)
        if rival is None and len(self.sounds) >= self._most:
            rival = min(self.sounds, key=lambda one: one.score)
        if rival is not None:
            if rival.score >= score:
                return
            self.sounds.remove(rival)
        self.sounds.append(_Sound(at=at, score=score, samples=np.ascontiguousarray(samples)))


def _edges(powers: Floats, begin: int, end: int) -> list[int]:
    """Return the slots from `begin` to before `end` at which a sound begins out of quiet."""
    begin, end = max(begin, _NEAR + _ATTACK), min(end, powers.size - LOUD + 1)
    if begin >= end:
        return []
    skipped = begin - _NEAR - _ATTACK
    powers = powers[skipped : end + LOUD]
    begin, end = begin - skipped, end - skipped
    at = np.arange(begin, end)
    loud = sliding_window_view(powers, LOUD).mean(axis=1)[at]
    near = sliding_window_view(powers, _NEAR).max(axis=1)[at - _NEAR - _ATTACK]
    is_edge = (near < loud * 10.0 ** (-FALL_DB / 10.0)) & (loud > FAINTEST)
    is_edge &= powers[at] > loud * 10.0 ** (-_START_DB / 10.0)
    found: list[int] = (at[is_edge] + skipped).tolist()
    return found


def _low_pass(cut: float, taps: int) -> Singles:
    """Return a windowed sinc; `cut` as a share of the sample rate."""
    n = np.arange(taps) - (taps - 1) / 2
    sinc = 2.0 * cut * np.sinc(2.0 * cut * n) * np.kaiser(taps, 6.0)
    low: Singles = (sinc / np.sum(sinc)).astype(np.float32)
    return low
