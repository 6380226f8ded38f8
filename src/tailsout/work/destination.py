"""Where a package is to stand: free, outside of what is read, or taken up where it was cut off."""

from dataclasses import replace
from datetime import datetime
from pathlib import Path

from tailsout.bag.disk import Disk
from tailsout.bag.stage import Stage
from tailsout.ground.errors import MaterialError, RefusedError, from_os_error
from tailsout.ground.units import printable
from tailsout.work.surroundings import Surroundings


def is_within(inner: Path, outer: Path) -> bool:
    """Tell whether one path is another one or lies below it."""
    return inner == outer or outer in inner.parents


def begun(final: Path, receipt: Path, around: Surroundings, *, resume: bool) -> Surroundings:
    """See that the place is free, or go back to the instant at which what is resumed began.

    Raises RefusedError, UsageError, MaterialError and SurroundingsError as `close_out.close` does.
    """
    if not resume:
        refuse_if_there(final, receipt, around.disk)
        Stage(final, around.disk, around.progress).refuse_left_work()
        return around
    begun = Stage(final, around.disk, around.progress).to_resume()
    if begun is None:
        return around
    if begun.software != around.software:
        raise MaterialError(
            f"The build of {printable(str(final))} that was cut off was begun by "
            f"{printable(begun.software)}; this is {around.software}.",
            "Resume it with that version, or clear it away by --discard.",
        )
    return replace(around, instant=datetime.fromisoformat(begun.instant))


def refuse_if_there(final: Path, receipt: Path, disk: Disk) -> None:
    """Raise RefusedError if the package or its receipt is there, SurroundingsError if unseen."""
    for path in (final, receipt):
        try:
            is_there = disk.is_there(path)
        except OSError as error:
            raise from_os_error(error, f"Looking at {printable(str(path))}") from error
        if is_there:
            raise RefusedError(
                f"{printable(str(path))} is there already; nothing was written.",
                "Choose another place or package_id; a package is never overwritten.",
            )
