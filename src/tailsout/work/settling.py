"""Files that a recorder may still be writing: none is opened before it has come to rest."""

import time
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path

from tailsout.bag.names import from_disk
from tailsout.ground.errors import SurroundingsError, from_os_error
from tailsout.ground.progress import Progress
from tailsout.ground.units import printable
from tailsout.work.located import Located

SETTLING_SECONDS = 5
"""A capture whose size or time changed within this many seconds counts as growing."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Waiting:
    """How files that are still growing are met."""

    seconds_now: Callable[[], float]
    """Wall clock."""
    wait: bool
    """Whether to wait for them."""
    progress: Progress


def settle(found: Mapping[str, Located], folder: Path, waiting: Waiting) -> None:
    """See that every file has finished growing.

    Raises SurroundingsError for one that has not, unless it is waited for, or cannot be seen.
    """
    for one in found.values():
        for path in one.files:
            _settled(path, folder, waiting)


def is_growing(path: Path, now: float) -> bool:
    """Tell whether a file changed a moment ago by the wall clock. Raises OSError.

    A time ahead of the clock is taken for a clock that goes otherwise, not for growth.
    """
    return abs(now - path.stat().st_mtime) < SETTLING_SECONDS


def _settled(path: Path, folder: Path, waiting: Waiting) -> None:
    name = printable(from_disk(path.relative_to(folder).as_posix()))
    while True:
        try:
            growing = is_growing(path, waiting.seconds_now())
        except OSError as error:
            raise from_os_error(error, f"Looking at {name}") from error
        if not growing:
            return
        if not waiting.wait:
            raise SurroundingsError(
                f"The capture {name} changed within the last {SETTLING_SECONDS} seconds.",
                "Let the recorder finish, or add --wait.",
            )
        waiting.progress.say(f"Waiting for {name} to stop changing.")
        time.sleep(1)
