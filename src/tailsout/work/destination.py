"""Where a package is to stand: free, outside of what is read, or taken up where it was cut off."""

import os
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path

from tailsout.bag.disk import Disk
from tailsout.bag.stage import Stage
from tailsout.ground.errors import MaterialError, RefusedError, from_os_error
from tailsout.ground.units import printable
from tailsout.mapping import naming
from tailsout.work.surroundings import Surroundings


@dataclass(frozen=True, slots=True, kw_only=True)
class Destination:
    """Where a package is to stand."""

    parent: Path
    name: str

    @property
    def package(self) -> Path:
        """The place of the package itself."""
        return self.parent / self.name

    @property
    def receipt(self) -> Path:
        """The place of the receipt beside it."""
        return self.parent / f"{self.name}{naming.RECEIPT_BESIDE}"


def refuse_within(parent: Path, source: Path, what: str) -> None:
    """Raise RefusedError if a destination lies inside the folder that is read, or is that folder.

    `what` is what the folder is called: "job", "package".
    """
    # `Path.resolve` raises RuntimeError for a link that leads to itself.
    inner, outer = Path(os.path.realpath(parent)), Path(os.path.realpath(source))
    if inner == outer or outer in inner.parents:
        raise RefusedError(
            f"The destination {printable(str(parent))} lies inside the {what}.",
            f"Choose a place outside the {what}; nothing is written into what is read.",
        )


def as_begun(place: Destination, around: Surroundings, *, resume: bool) -> Surroundings:
    """See that the place is free, or go back to the instant at which what is resumed began.

    Raises RefusedError, UsageError, MaterialError and SurroundingsError as `close_out.close` does.
    """
    if not resume:
        _refuse_if_there(place, around.disk)
        Stage(place.package, around.disk, around.progress).refuse_left_work()
        return around
    begun = Stage(place.package, around.disk, around.progress).to_resume()
    if begun is None:
        return around
    if begun.software != around.software:
        raise MaterialError(
            f"The build of {printable(str(place.package))} that was cut off was begun by "
            f"{printable(begun.software)}; this is {around.software}.",
            "Resume it with that version, or clear it away by --discard.",
        )
    return replace(around, instant=datetime.fromisoformat(begun.instant))


def _refuse_if_there(place: Destination, disk: Disk) -> None:
    for path in (place.package, place.receipt):
        try:
            is_there = disk.is_there(path)
        except OSError as error:
            raise from_os_error(error, f"Looking at {printable(str(path))}") from error
        if is_there:
            raise RefusedError(
                f"{printable(str(path))} is there already; nothing was written.",
                "`tailsout amend` puts right what it says, in a new version; for another package "
                "choose another place or package_id.",
            )
