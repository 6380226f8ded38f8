"""Jobs under way that want the same: the one named first goes first, however long it takes."""

import threading
from collections.abc import Iterator

import pytest

from tailsout.work.turns import Turns

A, B = frozenset({"a"}), frozenset({"b"})


class Run:
    """Jobs on threads of their own, and in which order they came to take what they want."""

    def __init__(self, *jobs: str) -> None:
        self.turns = Turns(jobs)
        self.came: list[str] = []
        self.threads: dict[str, threading.Thread] = {}

    def take(self, job: str, wants: frozenset[str]) -> None:
        def one() -> None:
            self.turns.take(job, wants)
            self.came.append(job)

        self.threads[job] = threading.Thread(target=one)
        self.threads[job].start()

    def waits(self, job: str) -> bool:
        self.threads[job].join(0.05)
        return self.threads[job].is_alive()

    def comes(self, job: str) -> bool:
        self.threads[job].join(5)
        return not self.threads[job].is_alive()


@pytest.fixture
def run() -> Iterator[Run]:
    run = Run("1", "2", "3")
    yield run
    for job in ("1", "2", "3"):
        run.turns.end(job)
    assert all(run.comes(job) for job in run.threads)


def test_who_wants_the_same_waits_for_the_end_of_the_one_before(run: Run) -> None:
    run.take("2", A)
    assert run.waits("2")
    run.take("1", A)
    assert run.comes("1")
    assert run.waits("2")
    run.turns.end("1")
    assert run.comes("2")
    assert run.came == ["1", "2"]


def test_who_wants_something_else_waits_until_that_is_known(run: Run) -> None:
    run.take("2", B)
    assert run.waits("2")
    run.take("1", A)
    assert run.comes("2")


def test_who_wants_nothing_waits_for_nobody(run: Run) -> None:
    run.take("3", frozenset())
    assert run.comes("3")


def test_one_that_ended_before_it_said_anything_is_not_waited_for(run: Run) -> None:
    run.turns.end("1")
    run.take("2", A)
    assert run.comes("2")
    run.take("3", A | B)
    assert run.waits("3")
    run.turns.end("2")
    assert run.comes("3")


def test_a_job_named_twice_does_not_wait_for_itself() -> None:
    run = Run("1", "1")
    run.take("1", A)
    assert run.comes("1")
