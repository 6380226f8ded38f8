"""Measures a wave file in one read."""

from pathlib import Path
from typing import BinaryIO

from tailsout.ground.errors import MaterialError, UsageError, from_os_error
from tailsout.ground.progress import Progress
from tailsout.ground.units import printable
from tailsout.measure import onepass
from tailsout.measure.onepass import Measured
from tailsout.rules.damage import HARMLESS
from tailsout.work.survey import Survey, survey


def measure_file(path: Path, progress: Progress) -> tuple[Survey, Measured]:
    """Return what the header and the samples of one file show.

    Raises UsageError if it is not there, MaterialError if it holds no audio that can be measured,
    SurroundingsError if it cannot be read through.
    """
    shown = printable(str(path))
    try:
        if not path.is_file():
            raise UsageError(f"There is no file {shown}.", "Name a wave file.")
        with path.open("rb") as stream:
            seen = survey(stream, shown)
            return seen, measure_stream(stream, seen, progress)
    except OSError as error:
        raise from_os_error(error, f"Reading {shown}") from error


def is_damaged(seen: Survey) -> bool:
    """Tell whether the figures rest on a file whose structure cannot be relied on."""
    return any(one.kind not in HARMLESS for one in seen.record.container.damage)


def measure_stream(stream: BinaryIO, seen: Survey, progress: Progress) -> Measured:
    """Measure an open, surveyed file."""
    layout = seen.layout
    if layout.pcm is None or layout.data is None:
        why = layout.damage[0].text if layout.damage else f"it is {layout.form}."
        raise MaterialError(f"{seen.record.path} holds no audio that can be measured: {why}")
    progress.begin(f"Measuring {seen.record.path}", layout.file_octets)
    return onepass.measure(
        stream,
        layout.pcm,
        data_offset=layout.data.offset,
        data_octets=layout.data_octets,
        file_octets=layout.file_octets,
        advance=progress.advance,
    )
