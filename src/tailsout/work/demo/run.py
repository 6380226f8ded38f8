"""Writes the demonstration's studio, job and captures, closes the job out and judges the package.

The captures get the recorder's own header and the file times of the day they tell of.
"""

import struct
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

from tailsout.bag.disk import Disk
from tailsout.ground.errors import RefusedError, from_os_error
from tailsout.ground.pcm import Pcm
from tailsout.ground.units import printable
from tailsout.measure import signals
from tailsout.measure.signals import Stretch
from tailsout.wave import bext, fmt
from tailsout.wave.bext import Bext
from tailsout.work.check import Checked, check
from tailsout.work.close_out import Outcome, close
from tailsout.work.demo import scenario
from tailsout.work.surroundings import Surroundings

_PCM = Pcm(
    is_float=False,
    sample_rate_hz=scenario.SAMPLE_RATE_HZ,
    channels=1,
    container_bits=24,
    valid_bits=24,
)
_SESSION_PCM = replace(_PCM, sample_rate_hz=scenario.SESSION_RATE_HZ, channels=2)


@dataclass(frozen=True, slots=True, kw_only=True)
class Shown:
    """What the demonstration wrote and what became of it."""

    outcome: Outcome
    checked: Checked | None
    """None if the job was not closed."""


def run(folder: Path, around: Surroundings) -> Shown:
    """Write `studio`, `job` and `packages` below a folder. Raises RefusedError if one is there."""
    write(folder, around)
    outcome = close(folder / "job", folder / "packages", around)
    if outcome.built is None:
        return Shown(outcome=outcome, checked=None)
    return Shown(outcome=outcome, checked=check(outcome.built.path, around.progress))


def write(folder: Path, around: Surroundings) -> None:
    """Write studio, job and captures."""
    try:
        for name in ("studio", "job", "packages"):
            if around.disk.is_there(folder / name):
                raise RefusedError(
                    f"{printable(str(folder / name))} is there already.", "Choose an empty folder."
                )
        _make(folder / "job" / "captures", around.disk)
        for name, content in scenario.forms():
            _make((folder / name).parent, around.disk)
            around.disk.write_beside(folder / name, content)
        for number, (name, stretches, day, hour) in enumerate(scenario.CAPTURES):
            around.progress.say(f"Making {name}")
            content = capture(stretches, day=day, hour=hour, seed=scenario.SEED + number)
            path = folder / "job" / name
            around.disk.write_beside(path, content)
            around.disk.set_time(path, _finished(stretches, day, hour))
        around.progress.say(f"Making {scenario.CALIBRATION}")
        path = folder / scenario.CALIBRATION
        _make(path.parent, around.disk)
        around.disk.write_beside(path, calibration())
        around.disk.set_time(path, datetime(2026, 3, 14, 9, 48, tzinfo=UTC))
    except OSError as error:
        raise from_os_error(error, f"Writing below {printable(str(folder))}") from error


def capture(stretches: Sequence[Stretch], *, day: str, hour: str, seed: int) -> bytes:
    """Return a wave file as a recorder leaves it: format, its own bext chunk, samples."""
    samples = signals.tape(stretches, sample_rate_hz=_PCM.sample_rate_hz, seed=seed)
    own = Bext(
        description="Untitled take",
        originator="Groyne recorder 4.2",
        origination_date=day,
        origination_time=hour,
        time_reference=_since_midnight(hour) * _PCM.sample_rate_hz,
        coding_history="A=PCM,F=96000,W=24,M=mono,T=Groyne recorder 4.2\r\n",
    )
    chunks = b"".join(
        (
            _chunk(b"bext", bext.encode(own)),
            _chunk(b"fmt ", fmt.encode(_PCM)),
            _chunk(b"data", samples),
        )
    )
    return _wave(chunks)


def calibration() -> bytes:
    """Return the capture of the session's calibration tape."""
    samples = signals.calibration_tape(
        scenario.TONES, sample_rate_hz=scenario.SESSION_RATE_HZ, seed=scenario.SEED
    )
    return _wave(_chunk(b"fmt ", fmt.encode(_SESSION_PCM)) + _chunk(b"data", samples))


def _wave(chunks: bytes) -> bytes:
    return struct.pack("<4sI4s", b"RIFF", 4 + len(chunks), b"WAVE") + chunks


def _chunk(name: bytes, payload: bytes) -> bytes:
    return struct.pack("<4sI", name, len(payload)) + payload + b"\0" * (len(payload) % 2)


def _since_midnight(hour: str) -> int:
    hours, minutes, seconds = (int(part) for part in hour.split(":"))
    return (hours * 60 + minutes) * 60 + seconds


def _finished(stretches: Sequence[Stretch], day: str, hour: str) -> datetime:
    begun = datetime.fromisoformat(f"{day}T{hour}").replace(tzinfo=UTC)
    return begun + timedelta(seconds=sum(one.seconds for one in stretches))


def _make(folder: Path, disk: Disk) -> None:
    for place in reversed([folder, *folder.parents]):
        if not disk.is_there(place):
            disk.make_directory(place)
