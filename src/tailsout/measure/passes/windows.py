"""Stretches of four seconds of two passes, correlated, and compared band by band.

They are brought to one length and rate through their spectra.
"""

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from decimal import Decimal

import numpy as np

from tailsout.measure.kernels import Floats
from tailsout.measure.levels import hundredths
from tailsout.measure.passes.sound import Sound
from tailsout.records.comparison import BandDifference

WINDOW_S = 4.0
_FINE_HZ = 12_000
_FINE_FROM_HZ, _FINE_TO_HZ = 150.0, 5_000.0
_SEARCH_S = 0.25
_SAME = 0.3
"""Correlation of samples below which a stretch tells nothing."""
_OWN_SPEEDS = (0.0, -0.0005, 0.0005, -0.001, 0.001, -0.0015, 0.0015)
_HELD_SHARE = 0.95
_LEVEL_BAND_HZ = (200.0, 4_000.0)
CENTRES_HZ = (
    *(63, 80, 100, 125, 160, 200, 250, 315, 400, 500, 630, 800),
    *(1000, 1250, 1600, 2000, 2500, 3150, 4000, 5000, 6300, 8000, 10000, 12500, 16000, 20000),
)
"""Nominal centres of thirds of an octave (IEC 61260-1, from memory)."""
_QUIETEST = 1e-12


@dataclass(frozen=True, slots=True, kw_only=True)
class Window:
    """Four seconds that both passes hold."""

    at: float
    """Middle, in seconds of the first pass."""
    lag: float
    """How much later than expected the second pass has it, in its own seconds."""
    height: float
    sign: int
    level: float
    """Of the first pass, dB, by which the louder windows are chosen."""
    powers: tuple[Floats, Floats]
    """Power of each band in both passes; NaN where a pass cannot hold the band."""


def window(first: Sound, second: Sound, laid: tuple[float, float], at: float) -> Window | None:
    """Hold the four seconds from a time of the first pass on against the second.

    `laid`: offset and stretch, where they are expected. None if they do not correlate.
    """
    offset, stretch = laid
    pieces = (
        first.stretch(at, WINDOW_S),
        second.stretch(offset + stretch * at, WINDOW_S * stretch),
    )
    one, other = (at_common_rate(piece) for piece in pieces)
    # Within a window the speed may be off by itself: the piece that fits best tells the lag.
    place, height, three = max(
        correlated(one, (about_middle(other, 1.0 + by) for by in _OWN_SPEEDS)),
        key=lambda found: found[1],
    )
    if height < _SAME:
        return None
    sign = 1 if three[1] > 0 else -1
    # A lag in the programme's time of the first pass; in the second it lasts `stretch` as long.
    lag = (place + _vertex(sign * three)) / _FINE_HZ * stretch
    rates = (first.pcm.sample_rate_hz, second.pcm.sample_rate_hz * stretch)
    highest = min(rates) / 2 * _HELD_SHARE
    powers = (
        _band_powers(pieces[0], rates[0], highest),
        _band_powers(pieces[1], rates[1], highest),
    )
    return Window(
        at=at + WINDOW_S / 2,
        lag=lag,
        height=height,
        sign=sign,
        level=10.0 * math.log10(max(float(np.sum(one**2)), _QUIETEST)),
        powers=powers,
    )


def at_common_rate(piece: Floats) -> Floats:
    """Bring four seconds to 12 kHz, band-limited, faded at both ends.

    Of several channels the louder one: a sum could cancel, and both passes hear the same tracks.
    """
    points = round(WINDOW_S * _FINE_HZ)
    mono = piece[int(np.argmax(np.sum(piece**2, axis=1)))]
    spectrum = np.fft.rfft(mono * np.hanning(len(mono)))
    wanted = points // 2 + 1
    found = np.zeros(wanted, np.complex128)
    found[: min(wanted, len(spectrum))] = spectrum[:wanted]
    hz = np.arange(wanted) / WINDOW_S
    found[(hz < _FINE_FROM_HZ) | (hz > _FINE_TO_HZ)] = 0.0
    return np.fft.irfft(found, points)


def correlated(one: Floats, others: Iterable[Floats]) -> Iterator[tuple[int, float, Floats]]:
    """Yield, for each other piece, place and height of the highest correlation, and three values.

    The place is counted in samples from no lag, and the values are those about it. The height is 0
    at either end of the search.
    """
    size, reach = 2 * len(one), round(_SEARCH_S * _FINE_HZ)
    turned, power = np.conj(np.fft.rfft(one, size)), np.sum(one**2)
    for other in others:
        norm = float(np.sqrt(power * np.sum(other**2)))
        if norm == 0:
            yield 0, 0.0, np.zeros(3)
            continue
        products = np.fft.irfft(turned * np.fft.rfft(other, size), size)
        around = np.concatenate((products[-reach:], products[: reach + 1])) / norm
        place = int(np.argmax(np.abs(around)))
        if place in {0, 2 * reach}:
            yield 0, 0.0, np.zeros(3)
        else:
            yield place - reach, float(abs(around[place])), around[place - 1 : place + 2]


def about_middle(piece: Floats, by: float) -> Floats:
    """Play a piece so many times as fast, its middle in place."""
    if by == 1.0:
        return piece
    at = np.arange(len(piece)) - len(piece) / 2
    turned: Floats = np.interp(at * by + len(piece) / 2, np.arange(len(piece)), piece)
    return turned


def _vertex(three: Floats) -> float:
    low, middle, high = three
    bend = low - 2 * middle + high
    return float(0.5 * (low - high) / bend) if bend < 0 else 0.0


def _band_powers(piece: Floats, rate: float, highest: float) -> Floats:
    """Return the power in each band, and last in that of the level; NaN where one cannot be held.

    `rate` counts in the first pass's own time.
    """
    spectrum = np.fft.rfft(piece * np.hanning(piece.shape[1]), axis=1)
    power = np.sum(np.abs(spectrum) ** 2, axis=0) / piece.shape[1] ** 2
    hz = np.arange(len(power)) * rate / piece.shape[1]
    edges = [(centre * 2 ** (-1 / 6), centre * 2 ** (1 / 6)) for centre in CENTRES_HZ]
    edges.append((_LEVEL_BAND_HZ[0], min(_LEVEL_BAND_HZ[1], highest)))
    return np.array(
        [
            power[(hz >= low) & (hz < high)].sum() if high <= highest else np.nan
            for low, high in edges
        ]
    )


def differences(windows: list[Window]) -> tuple[tuple[BandDifference, ...], Decimal]:
    """Return the median difference of each band, and of the middle of the band, in dB."""
    # Between words there is hiss alone, which would tell of the machines and not of the tape.
    louder = sorted(windows, key=lambda one: -one.level)[: max(1, len(windows) // 2)]
    with np.errstate(divide="ignore", invalid="ignore"):
        every = [10.0 * np.log10(one.powers[1] / one.powers[0]) for one in louder]
    medians = np.median(np.array(every), axis=0)
    bands = tuple(
        BandDifference(centre_hz=Decimal(centre), difference_db=hundredths(float(median)))
        for centre, median in zip(CENTRES_HZ, medians, strict=False)
        if np.isfinite(median)
    )
    return bands, hundredths(float(medians[-1]))
