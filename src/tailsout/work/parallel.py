"""Many pieces of work of one sort: one that fails never stops the rest."""

import threading
import traceback
from collections.abc import Callable, Generator, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, ThreadPoolExecutor, wait
from contextlib import ExitStack
from dataclasses import dataclass
from typing import Generic, TypeVar

from tailsout.ground.errors import CutOffError, TailsoutError
from tailsout.ground.progress import Progress

Came = TypeVar("Came")


@dataclass(frozen=True, slots=True, kw_only=True)
class Done(Generic[Came]):
    """What came of one: exactly one of the three."""

    name: str
    came: Came | None = None
    error: TailsoutError | None = None
    fault: str = ""
    """The traceback of a fault of this program."""


def run_each(
    names: Sequence[str],
    act: Callable[[str, Progress], Came],
    *,
    jobs: int,
    progress_of: Callable[[str], Progress],
) -> Generator[Done[Came], None, None]:
    """Work on each name and yield what came of it as soon as it is done.

    With more than one of `jobs` so many are under way at once, and come as they are done. Close the
    iterator to break it all off; an interruption is passed on.
    """
    if jobs == 1:
        for name in names:
            yield _one(name, act, progress_of(name))
        return
    stop = threading.Event()
    with ExitStack() as stack:
        pool = ThreadPoolExecutor(jobs, "job")
        stack.callback(pool.shutdown, wait=True, cancel_futures=True)
        # Before the pool is left, which waits for what it is at.
        stack.callback(stop.set)
        under_way: set[Future[Done[Came]]] = {
            pool.submit(_one, name, act, Stoppable(progress_of(name), stop)) for name in names
        }
        while under_way:
            done, under_way = wait(under_way, return_when=FIRST_COMPLETED)
            yield from sorted((future.result() for future in done), key=lambda it: it.name)


def _one(name: str, act: Callable[[str, Progress], Came], progress: Progress) -> Done[Came]:
    try:
        return Done(name=name, came=act(name, progress))
    except CutOffError:
        raise
    except TailsoutError as error:
        return Done(name=name, error=error)
    except Exception:  # noqa: BLE001  a fault met in one of four hundred must not cost the rest
        return Done(name=name, fault=traceback.format_exc())


class Stoppable:
    """Passes progress on; breaks off whoever reports some once all work is to stop."""

    def __init__(self, progress: Progress, stop: threading.Event) -> None:
        self._progress, self._stop = progress, stop

    def begin(self, doing: str, octets: int) -> None:
        """Start a stretch of work."""
        self._heed()
        self._progress.begin(doing, octets)

    def advance(self, octets: int) -> None:
        """Count so many more octets."""
        self._heed()
        self._progress.advance(octets)

    def say(self, line: str) -> None:
        """Tell the user one line."""
        self._progress.say(line)

    def _heed(self) -> None:
        if self._stop.is_set():
            raise KeyboardInterrupt
