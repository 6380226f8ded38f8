"""Gathers what the reader observes in a bag, and says where it stops reading.

The words are those of `records.observations`; what each one weighs is for a rule to say. One
hundred cases of a kind are listed one by one, the rest are counted: a hostile bag must not fill
the memory with faults.
"""

from dataclasses import dataclass, replace

from tailsout.ground.units import counted
from tailsout.records.facts import Observation
from tailsout.records.observations import OBSERVATIONS

MOST_OF_A_KIND = 100


@dataclass(frozen=True, slots=True, kw_only=True)
class Caps:
    """Where the reader stops, whatever the bag claims."""

    entries: int = 250_000
    """Files, directories and others below the base directory."""
    depth: int = 64
    """Parts of a path."""
    hole_octets: int = 64 << 30
    """Octets that a file states and its disk does not hold; one with more is not read."""
    manifest_octets: int = 64 << 20
    """Octets of a manifest or of fetch.txt."""
    tag_octets: int = 1 << 20
    """Octets of bagit.txt or bag-info.txt."""
    line: int = 64 << 10
    """Characters of a line."""
    manifests: int = 16
    """Manifests and tag manifests together."""
    all_manifests_octets: int = 128 << 20
    """Octets of all manifests together; a further one is not read."""
    manifest_lines: int = 800_000
    """Lines of all manifests together."""


DEFAULT_CAPS = Caps()
_ONCE_A_FILE = frozenset({"manifest-marker", "digest-upper-case", "name-form-differs"})
"""Habits of whatever wrote a list: if one line has it, most have."""


class Notes:
    """Gathers observations in the order they are made."""

    def __init__(self) -> None:
        self._all: list[Observation] = []
        self._count: dict[str, int] = {}
        self._first_left_out: dict[str, str] = {}
        self._alike: dict[tuple[str, str], int] = {}
        self.unseen: set[str] = set()
        """Folders not entered, and tag files not read or not to their end."""

    def add(self, kind: str, file: str, line: int | None = None, text: str = "") -> None:
        """Note one case. Raises KeyError if the kind is not declared."""
        if kind not in OBSERVATIONS:
            raise KeyError(kind)
        if kind in _ONCE_A_FILE:
            self._alike[kind, file] = self._alike.get((kind, file), -1) + 1
            if self._alike[kind, file]:
                return
        self._count[kind] = self._count.get(kind, 0) + 1
        if self._count[kind] <= MOST_OF_A_KIND:
            self._all.append(Observation(kind=kind, file=file, line=line, text=text))
        else:
            self._first_left_out.setdefault(kind, file)

    def leave(self, kind: str, file: str, line: int | None = None, text: str = "") -> None:
        """Note that something was not read, or not to its end. Raises as `add`."""
        self.unseen.add(file)
        self.add(kind, file or ".", line, text)

    def observations(self) -> tuple[Observation, ...]:
        """Return all that was noted; what went beyond the limit as one sum of its kind."""
        sums = [
            Observation(
                kind=kind,
                file=file,
                text=f"This and {self._count[kind] - MOST_OF_A_KIND - 1} more are not listed.",
            )
            for kind, file in self._first_left_out.items()
        ]
        return (*map(self._summed, self._all), *sums)

    def _summed(self, one: Observation) -> Observation:
        """Say on how many more lines of its file a habit is met."""
        more = self._alike.get((one.kind, one.file), 0)
        if not more:
            return one
        return replace(one, text=f"{one.text[:-1]}; likewise on {counted(more, 'more line')}.")
