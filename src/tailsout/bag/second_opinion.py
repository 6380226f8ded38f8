"""Asks the general BagIt library whether it, too, finds a staged bag complete.

It is an opinion on what we wrote, never on a stranger's bag: there it follows what must not be
followed. Where it disagrees, one of the two is wrong, and nothing gets its name before it is known
which. Its own words are not quoted further than one line: they are not ours to promise.
"""

import logging
import sys
from pathlib import Path

from tailsout.ground.units import printable


def disagreement(base: Path) -> str:
    """Return why the library finds the bag not complete (RFC 8493 §3); empty if it does."""
    import bagit  # noqa: PLC0415  a quarter of a second that only a build pays

    logging.getLogger("bagit").disabled = True
    try:
        bagit.Bag(str(base)).validate(completeness_only=True)
    except Exception as error:  # noqa: BLE001  it raises what its own code happens to stumble on
        return printable(f"{type(error).__name__}: {error}", 300)
    return ""


def can_be_asked() -> bool:
    """Tell whether the library reads names as we write them: it takes the system's encoding."""
    return sys.getfilesystemencoding().lower() == "utf-8"
