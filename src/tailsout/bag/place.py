"""The place where something complete is to stand, and the step by which it gets there."""

from pathlib import Path

from tailsout.bag.disk import Disk
from tailsout.ground.errors import RefusedError, SurroundingsError, from_os_error
from tailsout.ground.units import size

_SPARE_OCTETS = 10_000_000


def refuse_if_there(final: Path, disk: Disk) -> None:
    """Raise RefusedError if anything stands there, OSError if the system does not say."""
    if disk.is_there(final):
        raise RefusedError(
            f"{final} is there already; nothing was written.",
            "Choose another place or name; nothing that stands is overwritten.",
        )


def make_parents(parent: Path, disk: Disk) -> None:
    """Make the folders that lack on the way, and sync each. Raises OSError."""
    missing = []
    place = parent
    while not disk.is_there(place):
        missing.append(place)
        place = place.parent
    for place in reversed(missing):
        disk.make_directory(place)
        disk.sync_directory(place.parent)


def check_room(octets: int, parent: Path, disk: Disk) -> None:
    """Raise SurroundingsError if so many octets, and some to spare, have no room there."""
    needed = octets + octets // 50 + _SPARE_OCTETS
    free = disk.free_octets(parent)
    if free < needed:
        raise SurroundingsError(
            f"{parent} has {size(free)} free; {size(needed)} are needed.",
            "Make room or choose another place; nothing more was written.",
        )


def commit(staged: Path, final: Path, disk: Disk) -> None:
    """Give what is complete its name, and sync that.

    Raises RefusedError if something stands there, SurroundingsError if the name may not last.
    """
    try:
        disk.rename_no_replace(staged, final)
    except FileExistsError as error:
        raise RefusedError(
            f"{final} came to be while it was built; nothing was kept.",
            "Choose another place or name; nothing that stands is overwritten.",
        ) from error
    try:
        disk.sync_directory(final.parent)
    except OSError as error:
        raise from_os_error(
            error, f"{final} stands complete and was judged, but having the disk confirm its name"
        ) from error
