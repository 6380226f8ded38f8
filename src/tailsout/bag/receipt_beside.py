"""Finds the receipt that lies beside a package, be that a folder or an archive."""

import os
from dataclasses import dataclass
from pathlib import Path

from tailsout.bag.archive.form import stem_of
from tailsout.bag.names import from_disk, to_disk
from tailsout.bag.tree import Tree
from tailsout.ground.errors import TailsoutError
from tailsout.mapping import naming

_MOST_OCTETS = 4 << 20


@dataclass(frozen=True, slots=True, kw_only=True)
class Found:
    """A file named as the receipt of a package."""

    name: str
    package: str
    """What the package is called, without the ending of an archive."""
    content: bytes
    """Empty if it is not a regular file, cannot be read, or is larger than any receipt."""


def find(package: Path) -> Found | None:
    """Return what lies beside a package under the name of its receipt; None if nothing does.

    The package may be a link, for the user named it; the receipt may be none.
    """
    place = Path(os.path.realpath(package))
    called = from_disk(place.name)
    try:
        stem = stem_of(called) if place.is_file() else called
        name = f"{stem}{naming.RECEIPT_BESIDE}"
        (place.parent / to_disk(name)).lstat()
        folder = Tree(place.parent)
    except OSError:
        return None
    try:
        content = folder.read(name, _MOST_OCTETS)
    except TailsoutError:
        content = b""
    finally:
        folder.close()
    return Found(name=name, package=stem, content=content)
