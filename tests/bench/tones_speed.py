"""Tells how long the tones of a capture of a calibration tape take to read, and how well.

    python tests/bench/tones_speed.py DIR [--runs 3]

Writes a capture of four minutes, 24 bits at 96 kHz stereo, into DIR unless it stands there: 17
tones of ten seconds and one of 3150 Hz for a minute, wow, hiss, azimuth, a speed error. Prints the
best and the worst run, processor time, memory, and the worst errors against what was planted.
"""

import argparse
import math
import resource
import time
from decimal import Decimal
from pathlib import Path

import numpy as np
import soundfile

from tailsout.ground.progress import Silent
from tailsout.records.machine import CalibrationTape, Head, Tone
from tailsout.work.tones import read_tones

_RATE_HZ = 96_000
_SERIES = (
    *(1000, 10_000, 40, 63, 125, 250, 500, 1000, 2000, 4000),
    *(6300, 8000, 10_000, 12_500, 14_000, 16_000, 18_000),
)
_SPEED = 0.0027
_WOW = 0.0006
_WOW_HZ = 0.8
_DELAY_US = 23.7
_HISS_DBFS = -62.0
_LEVEL_DBFS = -18.0


def _made(folder: Path) -> Path:
    path = folder / "calibration-tape-240.wav"
    if path.exists():
        return path
    chance = np.random.default_rng(8)
    silence = round(0.55 * _RATE_HZ)
    at = 0
    with soundfile.SoundFile(path, "w", _RATE_HZ, 2, "PCM_24") as file:
        for hz, seconds in (*((hz, 10.0) for hz in _SERIES), (3150, 60.0)):
            frames = round(seconds * _RATE_HZ)
            both = np.zeros((frames + silence, 2))
            for channel in (0, 1):
                clock = (at + np.arange(frames)) / _RATE_HZ - channel * _DELAY_US * 1e-6
                sway = _WOW / (2 * math.pi * _WOW_HZ) * np.sin(2 * math.pi * _WOW_HZ * clock)
                turns = hz * (clock * (1 + _SPEED) + sway)
                both[:frames, channel] = 10 ** (_LEVEL_DBFS / 20) * np.sin(2 * math.pi * turns)
            both += 10 ** (_HISS_DBFS / 20) * chance.standard_normal(both.shape)
            file.write(both)
            at += len(both)
    return path


def _tape() -> CalibrationTape:
    tones = [Tone(frequency_hz=Decimal(hz), level_db=Decimal(0)) for hz in _SERIES]
    tones.append(Tone(frequency_hz=Decimal(3150), use="speed and flutter", level_db=Decimal(0)))
    return CalibrationTape(id="bench", speed_ips=Decimal("7.5"), tones=tuple(tones))


def main() -> None:
    """Make, read, print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folder", type=Path)
    parser.add_argument("--runs", type=int, default=3)
    arguments = parser.parse_args()
    path = _made(arguments.folder)
    head = Head(spacing_mm=Decimal("4.3"))
    walls, used = [], []
    for _ in range(arguments.runs):
        begun, spent = time.perf_counter(), time.process_time()
        _, reading = read_tones(path, _tape(), head, Silent())
        walls.append(time.perf_counter() - begun)
        used.append(time.process_time() - spent)
    facts = reading.facts
    seconds = facts.frames / facts.sample_rate_hz
    memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"capture       {seconds:.0f} s, {facts.sample_rate_hz} Hz, {len(facts.tones)} tones")
    print(f"wall          {min(walls):.2f} s at best, {max(walls):.2f} s at worst")
    print(f"processor     {min(used):.2f} s; memory {memory:.0f} MB")
    levels = [level for tone in facts.tones for level in tone.channels]
    off = max(abs(level.deviation_db) for level in levels if level.deviation_db is not None)
    print(f"level         worst {off} dB off over {len(levels)} readings")
    print(f"speed         {facts.speed_error_percent} % (planted {100 * _SPEED:.4f})")
    azimuth, flutter = facts.channels[1].azimuth, facts.flutter
    if azimuth is not None:
        print(f"azimuth       {azimuth.delay_us} µs (planted {_DELAY_US})")
    if flutter is not None:
        wow = f"planted {100 * _WOW / math.sqrt(2):.4f}"
        print(f"flutter       {flutter.unweighted_rms_percent} % unweighted RMS ({wow})")


if __name__ == "__main__":
    main()
