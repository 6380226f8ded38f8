"""Whether the quiet beside a sound holds a faint copy of it.

Both are made equally strong all over the band and correlated at every delay. A naive correlation
finds notes that come again and sounds that die away; what is told here stands alone, in the midst
of quiet, and does not come out of something louder.
"""

import math

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view
from numpy.typing import NDArray

from tailsout.measure.kernels import Floats, Integers, Singles

FALL_DB = 25.0
"""What is this much below a sound counts as quiet beside it."""
STANDS_OUT = 8.0
"""Height by scatter from which an echo is told (own trials: without one, below 6)."""
LOUDEST = 10.0 ** (-30.0 / 20.0)
"""An echo is fainter (common practice: -45 to -60 dB of 24 hours, some dB more of years)."""
LOUD = 35
"""Slots of a sound that are held against the quiet."""
FAINTEST = 1e-14
_SMOOTH_HZ = 150.0
_LEAST_SHARE = 1e-3
_RIVAL = 0.5
"""By height: a sound that is as much like something else nearby is like an earlier note."""
MARGIN_S = 0.1
"""What is most alike where the quiet begins is the end of something else."""
_RISEN = 2.0
"""Power before an echo by its own, at most."""
DECAY = 30
"""Slots of quiet before an echo, so that it is not the end of something else."""
FEWEST_QUIET = 60
_APART_S = 0.01
_PARTS = 10
_SLIP_S = 0.001
"""A third of a second at speeds 0.3 % apart."""
_AROUND = 32
"""Samples on either side from which a height between samples is told."""
FROM_HZ, TO_HZ = 400.0, 4_000.0


def best_echo(
    samples: Singles, hz: float, slot: int, range_s: tuple[float, float]
) -> tuple[float, float, float] | None:
    """Return delay in samples, gain and height of the echo of a sound; None if none stands out.

    `samples`, at a rate of `hz`, are the quiet and then `LOUD` slots of sound; `slot` is the length
    of one. `range_s`: shortest and longest delay in seconds.
    """
    start = samples.size - LOUD * slot
    size = 1 << (samples.size - 1).bit_length()
    loud = np.fft.rfft(samples[start:], size)
    whiten = _whitening(loud, hz / size)
    loud = loud * whiten
    beside = np.fft.rfft(samples[:start].astype(np.float64), size) * whiten
    energy = float(np.sum(np.abs(loud) ** 2)) * 2.0 / size
    # How far before the sound a copy of it would begin.
    lags = np.arange(
        math.ceil((range_s[0] - MARGIN_S) * hz),
        math.floor((range_s[1] + MARGIN_S) * hz) + 1,
    )
    crossed = np.fft.irfft(beside * np.conj(loud), size)[start - lags]
    squares = np.cumsum(np.append(0.0, np.fft.irfft(beside, size)[:start] ** 2))
    width = LOUD * slot
    ends = np.minimum(start - lags + width, start)
    local = squares[ends] - squares[start - lags]
    decay = DECAY * slot
    before = squares[start - lags] - squares[np.maximum(start - lags - decay, 0)]
    # An echo does not come out of what is dying away.
    is_quiet = _quiet_at(samples, slot, lags) & (before * width < _RISEN * local * decay)
    usable = is_quiet & (local > energy * 1e-9) & (lags >= width)
    if np.count_nonzero(usable) < FEWEST_QUIET * slot or energy <= 0.0:
        return None
    alike = np.where(usable, crossed / np.sqrt(np.where(usable, local, 1.0) * energy), 0.0)
    best = int(np.argmax(np.abs(alike)))
    rest = usable & (np.abs(lags - lags[best]) > _APART_S * hz)
    scatter = 1.4826 * float(np.median(np.abs(alike[rest]))) if rest.any() else 0.0
    z = abs(float(alike[best])) / scatter if scatter > 0.0 else 0.0
    far = usable & (np.abs(lags - lags[best]) > width)
    rival = float(np.max(np.abs(alike[far]), initial=0.0)) / max(abs(float(alike[best])), 1e-30)
    margin = round(MARGIN_S * hz)
    is_inside = margin <= best < lags.size - margin and bool(
        usable[best - margin : best + margin].all()
    )
    if not (is_inside and z >= STANDS_OUT and rival < _RIVAL):
        return None
    copied = np.fft.irfft(beside, size)[:start]
    gain = _gain(np.fft.irfft(loud, size)[:width], copied, start - int(lags[best]), hz)
    if not 0.0 < gain < LOUDEST:
        return None
    return float(lags[best]) + _top(np.abs(alike[best - 1 : best + 2])), gain, z


def _quiet_at(samples: Singles, slot: int, lags: Integers) -> NDArray[np.bool_]:
    slots = samples.reshape(-1, slot).astype(np.float64)
    powers = np.mean(slots**2, axis=1)
    limit = float(np.mean(powers[-LOUD:])) * 10.0 ** (-FALL_DB / 10.0)
    is_quiet = (powers[:-LOUD] < limit) & (powers[:-LOUD] > FAINTEST)
    windows = np.all(sliding_window_view(is_quiet, DECAY + LOUD), axis=1)
    begins = (samples.size - LOUD * slot - lags) // slot - DECAY
    at: NDArray[np.bool_] = windows[np.clip(begins, 0, windows.size - 1)] & (begins >= 0)
    return at


def _whitening(spectrum: np.ndarray, bin_hz: float) -> Floats:
    """Return the filter that makes all parts of the band weigh about the same."""
    power = np.abs(spectrum) ** 2
    width = max(1, round(_SMOOTH_HZ / bin_hz))
    sums = np.cumsum(np.pad(power, (width + 1, width)))
    smooth = np.maximum(sums[2 * width + 1 :] - sums[: -2 * width - 1], 0.0) / (2 * width + 1)
    hz = np.arange(power.size) * bin_hz
    band = (hz >= FROM_HZ) & (hz <= TO_HZ)
    floor = _LEAST_SHARE * float(np.max(smooth)) + 1e-30
    whiten: Floats = np.where(band, 1.0 / np.sqrt(smooth + floor), 0.0)
    return whiten


def _gain(loud: Floats, beside: Floats, at: int, hz: float) -> float:
    """Return the gain of the copy of `loud` that begins at `at` in `beside`.

    Taken in short parts, each where it fits best, for speed that wanders stretches a copy; between
    samples too, for half a sample beside, a correlation of this band stands 2 dB lower.
    """
    slip = round(_SLIP_S * hz)
    reach = slip + _AROUND
    places = np.linspace(-slip, slip, 16 * slip + 1)[:, np.newaxis] - np.arange(-reach, reach + 1)
    near = np.abs(places) < _AROUND
    between = np.where(near, np.sinc(places) * np.cos(places * np.pi / (2 * _AROUND)) ** 2, 0.0)
    size = loud.size // _PARTS
    alike, energy = 0.0, 0.0
    for first in range(0, size * _PARTS, size):
        part = loud[first : first + size]
        begin = at + first - reach
        around = beside[max(begin, 0) : begin + size + 2 * reach]
        if around.size == size + 2 * reach:
            alike += float(np.max(np.abs(between @ np.correlate(around, part))))
            energy += float(np.sum(part**2))
    return alike / energy if energy > 0.0 else 0.0


def _top(three: Floats) -> float:
    """Return where the parabola through three points has its top, from the middle one."""
    left, middle, right = (float(one) for one in three)
    bend = left - 2.0 * middle + right
    return 0.5 * (left - right) / bend if bend < 0.0 else 0.0
