"""Captures of calibration tapes with planted truth; nothing of the meter is used to make them."""

import io
import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from tailsout.ground.pcm import Pcm
from tailsout.measure.line_up import ToneReading, read_line_up
from tailsout.measure.samples import Samples
from tailsout.records.machine import CalibrationTape, Head, Tone
from tailsout.records.reel import Equalisation

Sound = NDArray[np.float64]

REFERENCE_DBFS = -18.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Played:
    """What passes the head: a tone, or with no frequency somebody speaking."""

    seconds: float
    hz: float = 0.0
    db: float = 0.0
    """Re the reference tone."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Machine:
    """How it passes."""

    speed: float = 0.0
    """Share by which it runs fast."""
    wow_hz: float = 0.8
    wow: float = 0.0
    """Peak share."""
    late_us: tuple[float, ...] = (0.0, 0.0)
    """Of each channel; there are as many as here."""
    response: Callable[[float, int], float] = lambda _hz, _channel: 0.0
    """dB at a frequency on a channel."""
    hiss_dbfs: float = -200.0
    dropouts: Sequence[tuple[float, float, float]] = ()
    """From second, seconds, dB."""
    seed: int = 1


def play(items: Sequence[Played], machine: Machine, rate: int) -> Sound:
    """Shape (frames, channels)."""
    chance = np.random.default_rng(machine.seed)
    frames = sum(round(one.seconds * rate) for one in items)
    sound = np.zeros((frames, len(machine.late_us)))
    at = 0
    for one in items:
        count = round(one.seconds * rate)
        for channel, late in enumerate(machine.late_us):
            clock = (at + np.arange(count)) / rate - late * 1e-6
            sway = machine.wow / (2 * math.pi * machine.wow_hz)
            tape = clock * (1 + machine.speed) + sway * np.sin(2 * math.pi * machine.wow_hz * clock)
            sound[at : at + count, channel] = _of(one, tape, machine, channel)
        at += count
    for start, seconds, db in machine.dropouts:
        sound[round(start * rate) : round((start + seconds) * rate)] *= 10 ** (db / 20)
    sound += 10 ** (machine.hiss_dbfs / 20) * chance.standard_normal(sound.shape)
    return sound


def _of(one: Played, tape: Sound, machine: Machine, channel: int) -> Sound:
    if not one.hz:
        return _voice(tape)
    db = REFERENCE_DBFS + one.db + machine.response(one.hz, channel)
    wave: Sound = 10 ** (db / 20) * np.sin(2 * math.pi * one.hz * tape + 0.3)
    return wave


def _voice(tape: Sound) -> Sound:
    """A buzz whose pitch glides and whose syllables come and go."""
    pitch = 118 * tape - 4 * np.cos(2 * math.pi * 1.3 * tape)
    buzz = sum(np.sin(2 * math.pi * k * pitch) / k for k in range(1, 14))
    syllables: Sound = 0.5 + 0.5 * np.sin(2 * math.pi * 3.1 * tape)
    return np.asarray(0.06 * syllables * buzz)


def with_announcements(
    series: Sequence[float], seconds: float = 1.2, gap: float = 0.6
) -> list[Played]:
    items: list[Played] = [Played(seconds=gap)]
    for hz in series:
        items += [Played(seconds=seconds, hz=hz), Played(seconds=gap)]
    return items


def starts(items: Sequence[Played]) -> list[tuple[float, float]]:
    """Second at which each tone begins, and at which it ends."""
    found = []
    at = 0.0
    for one in items:
        if one.hz:
            found.append((at, at + one.seconds))
        at += one.seconds
    return found


def certificate(series: Sequence[float], **more: Any) -> CalibrationTape:
    """The first tone is the reference, one of 3150 or 3000 Hz is for speed, all at 0 dB."""
    tones = tuple(
        Tone(
            frequency_hz=Decimal(str(hz)),
            use="reference level"
            if not at
            else "speed and flutter"
            if hz in {3150, 3000}
            else "response",
            level_db=Decimal(0),
            tolerance_db=Decimal("0.5"),
        )
        for at, hz in enumerate(series)
    )
    given: dict[str, Any] = {
        "id": "ct-nab-7",
        "speed_ips": Decimal("7.5"),
        "equalisation": Equalisation(t1_us=Decimal(3180), t2_us=Decimal(50)),
        "tones": tones,
    }
    return CalibrationTape(**(given | more))


def _pcm(rate: int, channels: int) -> Pcm:
    return Pcm(
        is_float=True, sample_rate_hz=rate, channels=channels, container_bits=32, valid_bits=32
    )


def _samples(sound: Sound, rate: int) -> Samples:
    octets = sound.astype("<f4").tobytes()
    pcm = _pcm(rate, sound.shape[1])
    stream = io.BytesIO(octets)
    return Samples(stream, pcm, data_offset=0, data_octets=len(octets), advance=lambda _n: None)


def _read(
    sound: Sound, rate: int, tape: CalibrationTape | None, head: Head | None = None
) -> ToneReading:
    octets = b"head" + sound.astype("<f4").tobytes()
    return read_line_up(
        io.BytesIO(octets),
        _pcm(rate, sound.shape[1]),
        data_offset=4,
        data_octets=len(octets) - 4,
        tape=tape,
        head=head,
        advance=lambda _n: None,
    )


@pytest.fixture
def played() -> type[Played]:
    return Played


@pytest.fixture
def machine() -> type[Machine]:
    return Machine


@pytest.fixture(name="play")
def play_fixture() -> Callable[[Sequence[Played], Machine, int], Sound]:
    return play


@pytest.fixture
def announced() -> Callable[..., list[Played]]:
    return with_announcements


def _run(series: Sequence[float], machine: Machine | None = None, **how: Any) -> Sound:
    return play(with_announcements(series), machine or Machine(**how), 48_000)


@pytest.fixture
def run() -> Callable[..., Sound]:
    """The tones of a tape between announcements, past a machine, at 48 kHz."""
    return _run


@pytest.fixture
def edges() -> Callable[[Sequence[Played]], list[tuple[float, float]]]:
    return starts


@pytest.fixture
def tape_of() -> Callable[..., CalibrationTape]:
    return certificate


@pytest.fixture
def samples_of() -> Callable[[Sound, int], Samples]:
    return _samples


@pytest.fixture
def reading() -> Callable[..., ToneReading]:
    return _read
