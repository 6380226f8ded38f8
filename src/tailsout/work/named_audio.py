"""An audio file that somebody names by itself: opened, and its header looked into."""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO

from tailsout.ground.errors import UsageError, from_os_error
from tailsout.ground.units import printable
from tailsout.work.audio import Audio, audio_counted_in
from tailsout.work.survey import Survey, survey_of


@dataclass(frozen=True, slots=True, kw_only=True)
class Named:
    """One file, open for reading."""

    file: BinaryIO
    """As it lies there; `audio.stream` is the wave file that it is or stands for."""
    audio: Audio
    seen: Survey


@contextmanager
def opened(path: Path) -> Iterator[Named]:
    """Open a wave or FLAC file and look into it.

    Raises UsageError if there is none, SurroundingsError if it cannot be read, here or later.
    """
    shown = printable(str(path))
    try:
        if not path.is_file():
            # A pipe or a device would be waited for, or never end.
            there = f"{shown} is not a file that can be read through."
            what = there if path.exists() else f"There is no file {shown}."
            raise UsageError(what, "Name a wave or FLAC file.")
        with path.open("rb") as stream:
            audio = audio_counted_in(stream, shown)
            yield Named(file=stream, audio=audio, seen=survey_of(audio, shown))
    except OSError as error:
        raise from_os_error(error, f"Reading {shown}") from error
