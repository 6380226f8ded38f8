"""Which of several jobs under way goes first where some want the same: the one named first.

So it is the same job whatever each takes in time, and the one that it would be one after the other.
"""

import threading
from collections.abc import Sequence
from itertools import takewhile


class Turns:
    """What each job wants, as far as it has said so, and which jobs have come to their end."""

    def __init__(self, jobs: Sequence[str]) -> None:
        self._jobs = tuple(dict.fromkeys(jobs))
        self._wants: dict[str, frozenset[str]] = {}
        self._changed = threading.Condition()

    def take(self, job: str, wants: frozenset[str]) -> None:
        """Say what a job wants; come back when no job named before it may still take any of it.

        Jobs must be begun in their order, or one waits for ever. One that wants nothing waits for
        nobody.
        """
        with self._changed:
            self._wants[job] = wants
            self._changed.notify_all()
            self._changed.wait_for(lambda: self._is_free(job, wants))

    def end(self, job: str) -> None:
        """Say that a job has come to its end, well or not."""
        with self._changed:
            self._wants[job] = frozenset()
            self._changed.notify_all()

    def _is_free(self, job: str, wants: frozenset[str]) -> bool:
        return not wants or all(
            one in self._wants and self._wants[one].isdisjoint(wants)
            for one in takewhile(lambda one: one != job, self._jobs)
        )
