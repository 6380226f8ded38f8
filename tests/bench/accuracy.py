"""Prints how close the meters come to planted truth, as the README's table.

    python tests/bench/accuracy.py [--seeds N]

Sound is made here from a seed and shares no code with the meters. What is planted was settled while
looking at the tuned seeds; the unseen ones are run as they come. All of it is synthetic, so real
tape will read worse: best case.
"""

import argparse
import io
import math
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal

import numpy as np
from numpy.typing import NDArray

from tailsout.ground.pcm import Pcm
from tailsout.measure.echo import Echoes
from tailsout.measure.line_up import read_line_up
from tailsout.measure.onepass import Measured, measure
from tailsout.measure.passes.align import align
from tailsout.measure.passes.sound import Sound
from tailsout.records.machine import CalibrationTape, Tone

Samples = NDArray[np.float64]
Errors = Mapping[str, float]
MISSED = math.inf
RATE = 48_000

TUNED = range(100, 200)
UNSEEN = range(9_000, 9_100)
"""The split; never moved from one to the other."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Quantity:
    """One row of the table."""

    name: str
    planted: str
    unit: str
    bound: float
    """Asserted on unseen seeds."""
    places: int


QUANTITIES = (
    Quantity(
        name="integrated loudness", planted="-40 to -10 LUFS", unit="LU", bound=0.02, places=2
    ),
    Quantity(name="true peak", planted="-20 to 0 dBTP, to fs/4", unit="dB", bound=0.02, places=2),
    Quantity(name="RMS", planted="-50 to -1 dBFS", unit="dB", bound=0.01, places=2),
    Quantity(name="DC offset", planted="-70 to -40 dBFS", unit="dB", bound=0.02, places=2),
    Quantity(
        name="delay of channels", planted="±60 µs, programme", unit="µs", bound=0.05, places=2
    ),
    Quantity(name="balance", planted="±3 dB, programme", unit="dB", bound=0.02, places=2),
    Quantity(
        name="noise floor", planted="-85 to -55 dBFS, below speech", unit="dB", bound=0.2, places=2
    ),
    Quantity(name="hum of the chain", planted="50 Hz, -72 dBFS", unit="Hz", bound=0.03, places=3),
    Quantity(name="hum of the tape", planted="48.5 to 51.5 Hz", unit="Hz", bound=0.02, places=3),
    Quantity(
        name="level of hum",
        planted="-75 to -62 dBFS, below speech",
        unit="dB",
        bound=0.15,
        places=2,
    ),
    Quantity(name="end of a leader", planted="6 to 9 s", unit="s", bound=0.04, places=3),
    Quantity(name="bits in use", planted="12 to 24", unit="bits", bound=0.0, places=0),
    Quantity(name="bandwidth", planted="13 to 30 kHz", unit="%", bound=2.5, places=1),
    Quantity(name="brick wall", planted="14 to 21 kHz", unit="Hz", bound=60.0, places=0),
    Quantity(
        name="dropouts missed", planted="4 of 7 to 30 dB, 8 to 100 ms", unit="", bound=0.0, places=0
    ),
    Quantity(name="dropouts invented", planted="none", unit="", bound=0.0, places=0),
    Quantity(
        name="dropouts invented in speech", planted="none", unit="a minute", bound=2.0, places=0
    ),
    Quantity(
        name="level of a tone", planted="±3 dB, 63 Hz to 16 kHz", unit="dB", bound=0.02, places=2
    ),
    Quantity(name="speed", planted="±1 %", unit="%", bound=0.0015, places=4),
    Quantity(name="azimuth by tones", planted="±30 µs", unit="µs", bound=0.03, places=2),
    Quantity(
        name="flutter, weighted", planted="0.02 to 0.2 %, 4 Hz", unit="%", bound=0.003, places=4
    ),
    Quantity(name="offset of two passes", planted="±4 s", unit="ms", bound=0.1, places=2),
    Quantity(name="speed of two passes", planted="±5 %", unit="%", bound=0.0005, places=4),
    Quantity(name="delay of an echo", planted="0.6 to 3 s", unit="ms", bound=0.1, places=2),
    Quantity(name="level of an echo", planted="-55 to -40 dB", unit="dB", bound=0.3, places=2),
)


def pcm_of(channels: int, rate: int = RATE) -> Pcm:
    return Pcm(
        is_float=False, sample_rate_hz=rate, channels=channels, container_bits=24, valid_bits=24
    )


def octets_of(sound: Samples) -> bytes:
    """24-bit samples of shape (frames, channels)."""
    whole = np.clip(np.rint(sound * 2**23), -(2**23), 2**23 - 1).astype("<i4")
    return whole.reshape(-1, 1).view(np.uint8)[:, :3].tobytes()


def measured(sound: Samples, rate: int = RATE) -> Measured:
    octets = octets_of(sound)
    return measure(
        io.BytesIO(octets),
        pcm_of(sound.shape[1], rate),
        data_offset=0,
        data_octets=len(octets),
        file_octets=len(octets),
        advance=lambda _: None,
    )


def off(found: Decimal | float | None, planted: float) -> float:
    return MISSED if found is None else abs(float(found) - planted)


def hiss(frames: int, dbfs: float, chance: np.random.Generator) -> Samples:
    """Its level re a full-scale sine."""
    return 10 ** (dbfs / 20) * math.sqrt(0.5) * chance.standard_normal(frames)


def speech(seconds: float, chance: np.random.Generator, rate: int = RATE) -> Samples:
    """Voiced syllables and pauses."""
    sound = np.zeros(int(seconds * rate))
    at = 0.2
    while at < seconds - 0.5:
        length = chance.uniform(0.1, 0.35)
        here = slice(int(at * rate), int((at + length) * rate))
        time = np.arange(here.stop - here.start) / rate
        pitch = chance.uniform(95, 140)
        voice = sum(
            chance.uniform(0.3, 1) / k * np.sin(2 * math.pi * pitch * k * time)
            for k in range(1, 60)
        )
        breath = 0.1 * chance.standard_normal(time.size)
        sound[here] += np.sqrt(np.abs(np.sin(math.pi * time / length))) * (voice + breath)
        at += length + (
            chance.uniform(0.5, 1.2) if chance.random() < 0.2 else chance.uniform(0.02, 0.1)
        )
    return np.asarray(0.3 * sound / np.max(np.abs(sound)))


def late(sound: Samples, seconds: float, rate: int = RATE) -> Samples:
    """The same sound later, by any part of a sample."""
    hertz = np.fft.rfftfreq(sound.size, 1 / rate)
    turned = np.fft.rfft(sound) * np.exp(-2j * math.pi * hertz * seconds)
    return np.fft.irfft(turned, sound.size)


def levels(seed: int) -> Errors:
    chance = np.random.default_rng(seed)
    loud = chance.uniform(-40, -10)
    time = np.arange(20 * RATE) / RATE
    both = np.stack([10 ** (loud / 20) * np.sin(2 * math.pi * 1000 * time)] * 2, axis=1)
    peak, hertz = chance.uniform(-20, 0), chance.uniform(50, RATE / 4)
    fade = np.minimum(1, np.minimum(time, time[-1] - time) / 0.02)
    tone = 10 ** (peak / 20) * fade * np.sin(2 * math.pi * hertz * time + chance.uniform(0, 6))
    offset = chance.uniform(-70, -40)
    lifted = 0.5 * tone + 10 ** (offset / 20)
    return {
        "integrated loudness": off(measured(both).facts.integrated_lufs, loud),
        "true peak": off(measured(tone[:, None]).facts.true_peak_dbtp, peak),
        "DC offset": off(measured(lifted[:, None]).facts.channels[0].dc_offset_dbfs, offset),
    }


def programme(seed: int) -> Errors:
    """A leader, then speech with hiss and hum on the tape, hum of the chain throughout."""
    chance = np.random.default_rng(seed)
    leader, seconds = chance.uniform(6, 9), 24.0
    recorded = 50 + float(chance.choice([-1, 1])) * chance.uniform(0.5, 1.5)
    delay, balance = chance.uniform(-60e-6, 60e-6), chance.uniform(-3, 3)
    begins = round((leader + 7) * RATE)
    voice = speech(seconds, chance)
    frames = begins + voice.size
    time = np.arange(frames) / RATE
    tape = hiss(frames, -62, chance)
    for k, level in ((1, -66), (2, -70), (3, -72)):
        tape += 10 ** (level / 20) * np.sin(2 * math.pi * k * recorded * time)
    tape[begins:] += voice
    tape[: round(leader * RATE)] = 0
    chain = sum(
        10 ** (level / 20) * np.sin(2 * math.pi * k * 50 * time + k)
        for k, level in ((1, -72), (2, -80), (3, -76))
    )
    gain = 10 ** (balance / 20)
    channels = [tape, gain * late(tape, delay)]
    sound = np.stack([one + chain + hiss(frames, -90, chance) for one in channels], axis=1)
    facts = measured(sound).facts
    families = {round(float(one.frequency_hz), 3): one for one in facts.hum if one.mains_hz == 50}
    gaps = [one for one in facts.gaps if one.kind == "quiet as leader" and one.start == 0]
    pair = facts.pairs[0]
    return {
        "delay of channels": off(pair.delay_us, delay * 1e6),
        "balance": off(pair.balance_db, balance),
        "hum of the chain": min((abs(hz - 50) for hz in families), default=MISSED),
        "hum of the tape": min((abs(hz - recorded) for hz in families), default=MISSED),
        "end of a leader": off(gaps[0].end / RATE if gaps else None, leader),
    }


def digital(seed: int) -> Errors:
    chance = np.random.default_rng(seed)
    bits, wall = int(chance.integers(12, 25)), chance.uniform(14_000, 21_000)
    noise = chance.standard_normal(8 * RATE)
    step = 2.0 ** (1 - bits)
    rounded = np.rint(0.1 * noise / step) * step
    rate = 96_000
    spectrum = np.fft.rfft(chance.standard_normal(12 * rate))
    spectrum[np.fft.rfftfreq(12 * rate, 1 / rate) > wall] = 0
    walled = 0.1 * np.fft.irfft(spectrum) * np.repeat(chance.uniform(0.05, 1, 24), rate // 2)
    walled += hiss(walled.size, -100, chance)
    return {
        "bits in use": off(measured(rounded[:, None]).facts.channels[0].effective_bits, bits),
        "brick wall": off(measured(walled[:, None], rate).facts.brick_wall_hz, wall),
    }


def floors(seed: int) -> Errors:
    """A steady tone; speech over hiss, then over hum; noise without treble over hiss."""
    chance = np.random.default_rng(seed)
    time = np.arange(5 * RATE) / RATE
    level = chance.uniform(-50, -1)
    tone = 10 ** (level / 20) * np.sin(2 * math.pi * chance.uniform(50, 10_000) * time)
    voice = np.concatenate([np.zeros(6 * RATE), speech(20, chance)])
    floor, hum = chance.uniform(-85, -55), chance.uniform(-75, -62)
    time = np.arange(voice.size) / RATE
    humming = voice + hiss(voice.size, -80, chance)
    for k, below in ((1, 0), (3, 6)):
        humming += 10 ** ((hum - below) / 20) * np.sin(2 * math.pi * 50 * k * time)
    families = measured(humming[:, None]).facts.hum
    corner, rate = chance.uniform(5_000, 12_000), 96_000
    hertz = np.fft.rfftfreq(6 * rate, 1 / rate)
    dull = np.fft.rfft(chance.standard_normal(6 * rate)) / np.sqrt(1 + (hertz / corner) ** 8)
    sound = 0.05 * np.fft.irfft(dull)
    sound[3 * rate :] = 0
    sound += 0.0005 * chance.standard_normal(sound.size)
    # 40 dB above the hiss below the corner; half the time, so that 6 dB more are hiss and this.
    reach = corner * (1e4 / (2 * (10**0.6 - 1)) - 1) ** (1 / 8)
    bandwidth = off(measured(sound[:, None], rate).facts.bandwidth_hz, reach)
    return {
        "RMS": off(measured(tone[:, None]).facts.channels[0].rms_dbfs, level),
        "noise floor": off(
            measured((voice + hiss(voice.size, floor, chance))[:, None])
            .facts.channels[0]
            .noise_floor_dbfs,
            floor,
        ),
        "level of hum": off(
            families[0].levels[0].level_dbfs if families else None,
            hum + 10 * math.log10(1 + 10**-0.6),
        ),
        "bandwidth": 100 * bandwidth / reach,
    }


def holes(seed: int) -> Errors:
    """Dropouts in steady sound; speech, which has none."""
    chance = np.random.default_rng(seed)
    sound = 0.1 * chance.standard_normal(20 * RATE)
    places = np.sort(chance.choice(np.arange(2, 18, 2), 4, replace=False)) + chance.uniform(0, 0.5)
    for at in places:
        length = chance.uniform(0.008, 0.1)
        sound[round(at * RATE) : round((at + length) * RATE)] *= 10 ** (-chance.uniform(7, 30) / 20)
    found = [one.start / RATE for one in measured(sound[:, None]).facts.dropouts]
    hits = [at for at in places if any(abs(at - one) < 0.06 for one in found)]
    false = [one for one in found if not any(abs(at - one) < 0.06 for at in places)]
    voice = speech(30, chance)
    voice += hiss(voice.size, chance.uniform(-80, -50), chance)
    return {
        "dropouts missed": 4.0 - len(hits),
        "dropouts invented": float(len(false)),
        "dropouts invented in speech": float(measured(voice[:, None]).facts.dropouts_a_minute or 0),
    }


def tones(seed: int) -> Errors:
    chance = np.random.default_rng(seed)
    speed, delay = chance.uniform(-0.01, 0.01), chance.uniform(-30e-6, 30e-6)
    depth = chance.uniform(0.0002, 0.002)
    series = (1000, 10_000, 63, 250, 4000, 8000, 16_000, 3150)
    offsets = [0.0, *chance.uniform(-3, 3, len(series) - 1)]
    parts = []
    for hertz, level in zip(series, offsets, strict=True):
        frames = (9 if hertz == 3150 else 2) * RATE
        both = []
        for lag in (0.0, delay):
            time = np.arange(frames) / RATE - lag
            runs = time * (1 + speed) + depth / (8 * math.pi) * np.sin(8 * math.pi * time)
            both.append(10 ** ((level - 18) / 20) * np.sin(2 * math.pi * hertz * runs))
        parts += [np.zeros((RATE // 2, 2)), np.stack(both, axis=1)]
    sound = np.concatenate(parts)
    sound += np.stack([hiss(len(sound), -65, chance) for _ in range(2)], axis=1)
    octets = octets_of(sound)
    certificate = tuple(
        Tone(
            frequency_hz=Decimal(hz), level_db=Decimal(0), use="reference level" if not n else None
        )
        for n, hz in enumerate(series)
    )
    facts = read_line_up(
        io.BytesIO(octets),
        pcm_of(2),
        data_offset=0,
        data_octets=len(octets),
        tape=CalibrationTape(id="ct", tones=certificate),
        head=None,
        advance=lambda _: None,
    ).facts
    if len(facts.tones) != len(series):
        return dict.fromkeys(
            ("level of a tone", "speed", "azimuth by tones", "flutter, weighted"), MISSED
        )
    azimuth, flutter = facts.channels[1].azimuth, facts.flutter
    # 95 per cent of the time a sine lies below 0.99692 of its peak.
    expected = 0.99692 * depth * 100
    return {
        "level of a tone": max(
            off(one.channels[0].relative_db, level)
            for one, level in zip(facts.tones, offsets, strict=True)
        ),
        "speed": off(facts.speed_error_percent, speed * 100),
        "azimuth by tones": off(azimuth.delay_us if azimuth else None, delay * 1e6),
        "flutter, weighted": off(flutter.weighted_percent if flutter else None, expected),
    }


def passes(seed: int) -> Errors:
    chance = np.random.default_rng(seed)
    rate = 24_000
    first = speech(40, chance, rate)
    offset, faster = chance.uniform(-4, 4), 1 + chance.uniform(-0.05, 0.05)
    time = np.arange(int((40 / faster + abs(offset) + 1) * rate)) / rate
    second = 0.7 * np.interp(
        (time - offset) * faster, np.arange(first.size) / rate, first, left=0, right=0
    )

    def sound(samples: Samples) -> Sound:
        octets = octets_of((samples + hiss(samples.size, -60, chance))[:, None])
        return Sound(
            pcm=pcm_of(1, rate),
            frames=samples.size,
            read=lambda start, frames: octets[start * 3 : (start + frames) * 3],
            advance=lambda _: None,
        )

    found = align(sound(first), sound(second))
    return {
        "offset of two passes": off(found.offset_s * 1000 if found else None, offset * 1000),
        "speed of two passes": off(
            found.speed_difference_percent if found else None, (faster - 1) * 100
        ),
    }


def echo(seed: int) -> Errors:
    chance = np.random.default_rng(seed)
    delay, level = chance.uniform(0.6, 3), chance.uniform(-55, -40)
    sound = np.zeros(50 * RATE)
    for k in range(4):
        start, size = int((k + 0.4) * 12 * RATE), int(RATE * chance.uniform(0.6, 0.9))
        hertz = np.fft.rfftfreq(size, 1 / RATE)
        shape = ((hertz > 100) & (hertz < 5000)) / np.sqrt(1 + (hertz / 700) ** 2)
        burst = np.fft.irfft(shape * np.fft.rfft(chance.standard_normal(size)), size)
        ramp = np.minimum(1, np.minimum(np.arange(size), np.arange(size)[::-1]) / (0.003 * RATE))
        sound[start : start + size] += 0.2 * ramp * burst / burst.std()
    lag = round(delay * RATE)
    tape = sound.copy()
    tape[:-lag] += 10 ** (level / 20) * sound[lag:]
    meter = Echoes(1, RATE)
    tape += 10 ** (-72 / 20) * chance.standard_normal(tape.size)
    meter.take(tape[None, :], 0, tape.size)
    found = meter.found().before
    seconds = float(found.delay_s) * 1000 if found.delay_s is not None else None
    return {
        "delay of an echo": off(seconds, lag / RATE * 1000),
        "level of an echo": off(found.level_db, level),
    }


TRIALS: tuple[Callable[[int], Errors], ...] = (
    levels,
    programme,
    digital,
    floors,
    holes,
    tones,
    passes,
    echo,
)


def worst(seeds: range) -> dict[str, float]:
    """Largest error of each quantity over some seeds."""
    found: dict[str, float] = {}
    for seed in seeds:
        for trial in TRIALS:
            for name, error in trial(seed).items():
                found[name] = max(found.get(name, 0.0), error)
    return found


def table(tuned: Mapping[str, float], unseen: Mapping[str, float]) -> Iterator[str]:
    yield "| quantity | planted | worst error, tuned seeds | worst error, unseen seeds |"
    yield "|---|---|---|---|"
    for one in QUANTITIES:
        cells = (f"{found[one.name]:.{one.places}f} {one.unit}" for found in (tuned, unseen))
        yield f"| {one.name} | {one.planted} | " + " | ".join(map(str.strip, cells)) + " |"


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seeds", type=int, default=8, help="how many of either kind")
    count = parser.parse_args().seeds
    for line in table(worst(TUNED[:count]), worst(UNSEEN[:count])):
        print(line)


if __name__ == "__main__":
    main()
