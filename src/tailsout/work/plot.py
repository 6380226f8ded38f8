"""Plots of what was measured, written as new files into a folder.

An existing file is never written over: its name is refused before anything is measured.
"""

from collections.abc import Mapping
from pathlib import Path

from tailsout.bag.disk import Disk
from tailsout.ground.errors import RefusedError, UsageError, from_os_error
from tailsout.ground.units import printable
from tailsout.measure.line_up import ToneReading
from tailsout.measure.onepass import Measured

OF_SOUND = ("waveform", "spectrogram")
OF_TONES = ("response", "azimuth", "flutter", "flutter-spectrum")


def path_of(folder: Path, file: Path, plot: str) -> Path:
    """Return where a plot of a file is written."""
    return folder / f"{file.stem}-{plot}.svg"


def refuse_written(folder: Path, file: Path, plots: tuple[str, ...], disk: Disk) -> None:
    """See to it that the plots of a file can be written as new ones.

    Raises UsageError if the folder is none or lies in none, RefusedError if a plot is there,
    SurroundingsError.
    """
    shown = printable(str(folder))
    try:
        if not folder.is_dir() and (not folder.parent.is_dir() or disk.is_there(folder)):
            raise UsageError(
                f"{shown} is not a folder.", "Name one that is there, or a new one in it."
            )
        for plot in plots:
            path = path_of(folder, file, plot)
            if disk.is_there(path):
                name = printable(path.name)
                raise RefusedError(f"{name} is in {shown} already.", "Name another folder.")
    except OSError as error:
        raise from_os_error(error, f"Looking into {shown}") from error


def of_sound(file: Path, measured: Measured) -> Mapping[str, bytes]:
    """Draw what one read of a file showed; nothing if it has too many channels for that."""
    from tailsout.views.plots import spectrogram, waveform  # noqa: PLC0415  the library is heavy

    overview = measured.overview
    if overview is None:
        return {}
    rate = measured.facts.sample_rate_hz
    return {
        "waveform": waveform.draw(overview, title=file.name, kind="svg", sample_rate_hz=rate),
        "spectrogram": spectrogram.draw(overview, title=file.name, kind="svg"),
    }


def of_tones(file: Path, reading: ToneReading) -> Mapping[str, bytes]:
    """Draw a reading of line-up tones."""
    from tailsout.views.plots import (  # noqa: PLC0415  the library is heavy
        azimuth,
        flutter,
        flutter_spectrum,
        response,
    )

    facts, trace, name = reading.facts, reading.trace, file.name
    return {
        "response": response.draw(facts, title=name, kind="svg"),
        "azimuth": azimuth.draw(facts, title=name, kind="svg"),
        "flutter": flutter.draw(facts.flutter, trace, title=name, kind="svg"),
        "flutter-spectrum": flutter_spectrum.draw(facts.flutter, trace, title=name, kind="svg"),
    }


def write(folder: Path, file: Path, pictures: Mapping[str, bytes], disk: Disk) -> tuple[Path, ...]:
    """Write pictures of a file as new files; make the folder if there is none.

    Raises RefusedError if one is there, SurroundingsError if the system refuses.
    """
    try:
        if pictures and not disk.is_there(folder):
            disk.make_directory(folder)
    except OSError as error:
        raise from_os_error(error, f"Making {printable(str(folder))}") from error
    paths = tuple(path_of(folder, file, plot) for plot in pictures)
    for path, octets in zip(paths, pictures.values(), strict=True):
        disk.write_beside(path, octets)
    return paths
