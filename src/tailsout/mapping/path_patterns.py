"""Patterns of paths as BagIt Profiles have them: `*` stands for any characters, none too, `/` too.

The specification says "zero or more characters" and names no dialect, so nothing else is special.
Compared in normalisation form C, as RFC 8493 §6.1.1.3 advises.
"""

import re
from collections.abc import Iterable

from tailsout.ground.portable import composed


class Patterns:
    """Patterns that a path may match."""

    def __init__(self, patterns: Iterable[str]) -> None:
        every = [composed(one) for one in patterns]
        self._plain = frozenset(one for one in every if "*" not in one)
        parts = [one.split("*") for one in every if "*" in one]
        self._starts = [one[0] for one in parts]
        self._starred = re.compile("|".join(map(_expression, parts)), re.DOTALL) if parts else None

    def match(self, path: str) -> bool:
        """Tell whether one of them matches a whole path."""
        sought = composed(path)
        if self._starred is None:
            return sought in self._plain
        return sought in self._plain or self._starred.fullmatch(sought) is not None

    def reach_below(self, directory: str) -> bool:
        """Tell whether one of them matches some path below a directory, given with its `/`."""
        above = composed(directory)
        if any(one.startswith(above) and one != above for one in self._plain):
            return True
        return any(above.startswith(one) or one.startswith(above) for one in self._starts)


def _expression(parts: list[str]) -> str:
    """Return what matches the parts with anything between them.

    Each part is taken as early as it can be and never tried again: time grows with the path.
    """
    first, *between, last = (re.escape(part) for part in parts)
    return first + "".join(f"(?>.*?{part})" for part in between if part) + f".*{last}"
