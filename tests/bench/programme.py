"""Writes a 24-bit 96 kHz stereo wave file to measure speed on: always the same octets.

    python tests/bench/programme.py programme|noise SECONDS FILE

`programme` has bursts like speech, pauses and hiss; `noise` is steady and full-band, the worst case
for whatever skips quiet stretches. Past 4 GiB the file is RF64 (EBU Tech 3306). It deliberately
imports nothing of the package it is used to measure.
"""

import argparse
import struct
from collections.abc import Iterator
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

RATE_HZ = 96_000
CHANNELS = 2
FRAME_OCTETS = 3 * CHANNELS
DATA_OFFSET = 80
"""Where the payload begins: room for a `ds64` chunk is kept in RIFF files too."""

_SEED = 1967
_LARGEST_RIFF = 0xFFFFFFFF
_CYCLE_SECONDS = 60


def header(data_octets: int) -> bytes:
    """Return the DATA_OFFSET octets before the payload."""
    riff_octets = DATA_OFFSET - 8 + data_octets
    large = riff_octets > _LARGEST_RIFF
    sizes = struct.pack("<QQQI", riff_octets, data_octets, data_octets // FRAME_OCTETS, 0)
    octets_a_second = RATE_HZ * FRAME_OCTETS
    return b"".join(
        (
            struct.pack("<4sI4s", *_form(riff_octets, large)),
            struct.pack("<4sI", b"ds64" if large else b"JUNK", 28),
            sizes if large else bytes(28),
            struct.pack("<4sIHHIIHH", b"fmt ", 16, 1, CHANNELS, RATE_HZ, octets_a_second, 6, 24),
            struct.pack("<4sI", b"data", _LARGEST_RIFF if large else data_octets),
        )
    )


def _form(riff_octets: int, large: bool) -> tuple[bytes, int, bytes]:
    return (b"RF64", _LARGEST_RIFF, b"WAVE") if large else (b"RIFF", riff_octets, b"WAVE")


def seconds_of(kind: str) -> Iterator[bytes]:
    """Yield the payload of one second after the other, without end; a minute repeats."""
    random = np.random.default_rng(_SEED)
    make = {"programme": _programme_second, "noise": _noise_second}[kind]
    minute = [_packed(make(random)) for _ in range(_CYCLE_SECONDS)]
    while True:
        yield from minute


def _noise_second(random: np.random.Generator) -> NDArray[np.float64]:
    return 0.1 * random.standard_normal((RATE_HZ, CHANNELS))


def _programme_second(random: np.random.Generator) -> NDArray[np.float64]:
    """Four syllables of a voice with formant-like harmonics, now and then a pause, over hiss."""
    time = np.arange(RATE_HZ) / RATE_HZ
    voice = np.zeros(RATE_HZ)
    pitch_hz = random.uniform(90, 220)
    for harmonic in range(1, 30):
        voice += np.sin(2 * np.pi * (harmonic * pitch_hz * time + random.random())) / harmonic
    levels = 10 ** (random.uniform(-40, -9, 4) / 20) * (random.random(4) > 0.3)
    rise = np.repeat(levels, RATE_HZ // 4) * np.sin(4 * np.pi * time) ** 2
    balance = random.uniform(0.4, 0.6)
    hiss = 10 ** (-66 / 20) * random.standard_normal((RATE_HZ, CHANNELS))
    return np.outer(0.5 * voice * rise, (balance, 1 - balance)) + hiss


def _packed(samples: NDArray[np.float64]) -> bytes:
    codes = np.clip(np.round(samples * 2**23), -(2**23), 2**23 - 1).astype("<i4")
    octets: bytes = codes.view(np.uint8).reshape(-1, 4)[:, :3].tobytes()
    return octets


def write(kind: str, seconds: int, path: Path) -> None:
    """Write the file."""
    second = seconds_of(kind)
    with path.open("wb") as file:
        file.write(header(seconds * RATE_HZ * FRAME_OCTETS))
        for _ in range(seconds):
            file.write(next(second))


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description="Write a wave file to measure speed on.")
    parser.add_argument("kind", choices=("programme", "noise"))
    parser.add_argument("seconds", type=int)
    parser.add_argument("file", type=Path)
    arguments = parser.parse_args()
    write(arguments.kind, arguments.seconds, arguments.file)
