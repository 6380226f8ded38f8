"""A template's letters one by one: whether a name could be read in two ways, and reading one.

Each place that one letter of a name may take is a state (Glushkov's construction); two ways through
the states that spell one name are two readings of it. Time and memory grow with the template and
the name alone; nothing is tried again.
"""

from collections import deque
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

OTHER = ""
"""Stands for every letter that is not told apart."""
_START = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Slot:
    """Where one letter goes, or several where it repeats."""

    takes: frozenset[str]
    repeats: bool = False


Branch = tuple[Slot, ...]
_Pair = tuple[int, int, bool]
"""Where two readings of the same letters stand, and whether they have parted."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Group:
    """Pieces that stand together; of each one branch is taken."""

    pieces: tuple[tuple[int, tuple[Branch, ...]], ...]
    """Number of the piece, and its branches."""
    optional: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Positions:
    """The states; 0 is before the first letter."""

    takes: tuple[frozenset[str], ...]
    piece: tuple[int, ...]
    """To which piece of the template each belongs."""
    follow: tuple[tuple[int, ...], ...]
    last: frozenset[int]
    """Those in which a name may end."""
    alphabet: frozenset[str]
    """Letters that are told apart."""

    def walk(self, name: str) -> tuple[tuple[int, ...], int]:
        """Return the piece that each letter of a name belongs to, and how many letters fit.

        The pieces are those of one reading; there are none if the name is not a whole one.
        """
        came_from: list[dict[int, int]] = []
        now: Iterable[int] = (_START,)
        for letter in name:
            sort = letter if letter in self.alphabet else OTHER
            step = {
                following: state
                for state in now
                for following in self.follow[state]
                if sort in self.takes[following]
            }
            if not step:
                return (), len(came_from)
            came_from.append(step)
            now = step
        end = next((state for state in now if state in self.last), None)
        if end is None:
            return (), len(name)
        return self._pieces(came_from, end), len(name)

    def _pieces(self, came_from: Sequence[dict[int, int]], end: int) -> tuple[int, ...]:
        pieces: list[int] = []
        state = end
        for step in reversed(came_from):
            pieces.append(self.piece[state])
            state = step[state]
        return tuple(reversed(pieces))

    def two_readings(self) -> tuple[str, tuple[int, ...], tuple[int, ...]] | None:
        """Return a shortest name that can be read in two ways, and both; None if there is none."""
        bits = {letter: 1 << n for n, letter in enumerate(sorted(frozenset().union(*self.takes)))}
        masks = [sum(bits[letter] for letter in one) for one in self.takes]
        start = (_START, _START, False)
        came_from: dict[_Pair, _Pair] = {start: start}
        waiting = deque([start])
        while waiting:
            at = waiting.popleft()
            one, other, differ = at
            if differ and one in self.last and other in self.last:
                return self._spelled(came_from, at)
            for first in self.follow[one]:
                for second in self.follow[other]:
                    # Two ways and the same two the other way round are one pair of readings.
                    if first <= second or one != other:
                        to = (first, second, differ or first != second)
                        if masks[first] & masks[second] and to not in came_from:
                            came_from[to] = at
                            waiting.append(to)
        return None

    def _spelled(
        self, came_from: dict[_Pair, _Pair], end: _Pair
    ) -> tuple[str, tuple[int, ...], tuple[int, ...]]:
        way: list[_Pair] = []
        at = end
        while at[0] != _START:
            way.append(at)
            at = came_from[at]
        way.reverse()
        letters = (_plainest(self.takes[one] & self.takes[other]) for one, other, _ in way)
        first = tuple(self.piece[one] for one, _, _ in way)
        return "".join(letters), first, tuple(self.piece[other] for _, other, _ in way)


def _plainest(letters: frozenset[str]) -> str:
    """Return the letter that reads best in an example."""
    return min(letters, key=lambda one: (not one.isalpha(), not one.isdigit(), one)) or "?"


def positions(groups: Iterable[Group], alphabet: frozenset[str]) -> Positions:
    """Lay out the states of a template."""
    takes, piece = [frozenset[str]()], [-1]
    follow: list[list[int]] = [[]]
    ends = {_START}

    def add(slot: Slot, number: int, before: set[int]) -> int:
        state = len(takes)
        takes.append(slot.takes)
        piece.append(number)
        follow.append([state] if slot.repeats else [])
        for one in sorted(before):
            follow[one].append(state)
        return state

    for group in groups:
        before = set(ends)
        for number, branches in group.pieces:
            reached: set[int] = set()
            for branch in branches:
                at = ends
                for slot in branch:
                    at = {add(slot, number, at)}
                reached |= at
            ends = reached
        if group.optional:
            ends = ends | before
    return Positions(
        takes=tuple(takes),
        piece=tuple(piece),
        follow=tuple(map(tuple, follow)),
        last=frozenset(ends),
        alphabet=alphabet,
    )
