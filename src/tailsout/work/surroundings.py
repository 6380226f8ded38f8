"""What a door hands to the work."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from typing import BinaryIO

from tailsout.bag.disk import Disk
from tailsout.ground.progress import Progress

ScratchFiles = Callable[[], BinaryIO]
"""Makes an empty file that vanishes once the package stands."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Surroundings:
    """What a door hands in: nothing below it looks at a clock or chooses a disk."""

    instant: datetime
    software: str
    seconds_now: Callable[[], float]
    """Wall clock, for telling whether a capture is still growing."""
    disk: Disk
    progress: Progress
