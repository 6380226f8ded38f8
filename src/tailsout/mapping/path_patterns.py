"""Patterns of paths as BagIt Profiles have them: `*` stands for any characters, none too, `/` too.

The specification says "zero or more characters" and names no dialect, so nothing else is special.
Compared in normalisation form C, as RFC 8493 §6.1.1.3 advises.
"""

import unicodedata
from collections.abc import Iterable


def composed(path: str) -> str:
    """Return a path in the form in which paths are compared."""
    return unicodedata.normalize("NFC", path)


class Patterns:
    """Patterns that a path may match."""

    def __init__(self, patterns: Iterable[str]) -> None:
        every = [composed(one) for one in patterns]
        self._plain = frozenset(one for one in every if "*" not in one)
        self._parts = [one.split("*") for one in every if "*" in one]

    def match(self, path: str) -> bool:
        """Tell whether one of them matches a whole path."""
        sought = composed(path)
        return sought in self._plain or any(_match(one, sought) for one in self._parts)

    def reach_below(self, directory: str) -> bool:
        """Tell whether one of them matches some path below a directory, given with its `/`."""
        above = composed(directory)
        if any(one.startswith(above) and one != above for one in self._plain):
            return True
        starts = (one[0] for one in self._parts)
        return any(above.startswith(start) or start.startswith(above) for start in starts)


def _match(parts: list[str], path: str) -> bool:
    """Match what stands between the asterisks, each part as early as it can: never twice."""
    first, *between, last = parts
    position, end = len(first), len(path) - len(last)
    if end < position or not path.startswith(first) or not path.endswith(last):
        return False
    for part in between:
        position = path.find(part, position, end)
        if position < 0:
            return False
        position += len(part)
    return True
