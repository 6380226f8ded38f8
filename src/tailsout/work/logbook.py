"""The logbooks of a studio on disk: read when a job is closed, added to when it is committed."""

import threading
from collections.abc import Iterable
from pathlib import Path

from tailsout.bag.disk import Disk
from tailsout.ground.errors import from_os_error
from tailsout.ground.progress import Progress
from tailsout.ground.units import printable
from tailsout.mapping import logbook
from tailsout.records.logbook import LogLine

FOLDER = "logbook"
_ADDING = threading.Lock()
"""Of the jobs of one run one adds its lines at a time, so that none finds a line half known."""


def read(studio: Path, machine: str, progress: Progress) -> tuple[LogLine, ...] | None:
    """Return a machine's lines; None if it has no logbook, or a lost one.

    Raises SurroundingsError if the file is there and cannot be read.
    """
    path = _path(studio, machine)
    try:
        content = path.read_bytes()
    except FileNotFoundError:
        return None
    except OSError as error:
        raise from_os_error(error, f"Reading the logbook {printable(path.name)}") from error
    lines, unread = logbook.read(content)
    for number in unread:
        progress.say(f"{path}:{number} is not a line of a logbook; it was passed over.")
    return lines


def add(studio: Path, lines: Iterable[LogLine], disk: Disk, progress: Progress) -> int:
    """Append the lines whose keys are not there yet; return how many were added."""
    with _ADDING:
        return _add(studio, lines, disk, progress)


def _add(studio: Path, lines: Iterable[LogLine], disk: Disk, progress: Progress) -> int:
    added = 0
    for line in lines:
        known = read(studio, line.machine, progress) or ()
        if line.key in {one.key for one in known}:
            continue
        path = _path(studio, line.machine)
        try:
            if not disk.is_there(path.parent):
                disk.make_directory(path.parent)
                disk.sync_directory(studio)
            disk.append_line(path, logbook.write(line))
        except OSError as error:
            raise from_os_error(error, f"Writing to the logbook {printable(path.name)}") from error
        added += 1
    return added


def _path(studio: Path, machine: str) -> Path:
    # A machine's id is checked by its form's schema: letters, digits, - _ and . only.
    return studio / FOLDER / f"{machine}.jsonl"
