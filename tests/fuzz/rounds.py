"""What campaigns on mutated inputs have in common: the rounds, their report, the command line."""

import argparse
import random
import resource
import sys
import time
from collections import Counter
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from typing import Any


class BrokenPromiseError(Exception):
    """Something that must never happen."""


def promise(kept: object, what: str) -> None:
    """Raise BrokenPromiseError unless a promise is kept."""
    if not kept:
        raise BrokenPromiseError(what)


@dataclass(kw_only=True)
class Report:
    """What a campaign came to."""

    inputs: int = 0
    slowest_seconds: float = 0.0
    slowest: int = 0
    met: Counter[str] = field(default_factory=Counter)


def chance(seed: int, number: int) -> random.Random:
    """Return what settles one input of a campaign."""
    return random.Random(f"{seed}/{number}")


def run(
    seed: int,
    draw: Callable[[int, int], Any],
    judge: Callable[[Any], Counter[str]],
    *,
    inputs: int,
    seconds: float,
) -> Report:
    """Judge inputs until there were so many, or the time is up.

    Raises RuntimeError, which names the input, at the first broken promise.
    """
    report = Report()
    begun = time.perf_counter()
    while report.inputs < inputs and time.perf_counter() - begun < seconds:
        one = draw(seed, report.inputs)
        before = time.perf_counter()
        try:
            report.met += judge(one)
        except Exception as error:
            raise RuntimeError(f"input {report.inputs} of seed {seed}: {error!r}") from error
        taken = time.perf_counter() - before
        if taken > report.slowest_seconds:
            report.slowest_seconds, report.slowest = taken, report.inputs
        report.inputs += 1
    return report


def main(
    what: str,
    rounds: Callable[..., Report],
    show: Callable[[int, int], None],
    words: Iterable[str],
    more: Callable[[Report], str] = lambda _report: "",
) -> None:
    """Run a campaign as its command line asks, and tell what it came to.

    `words` are those that ought to be met; `show` shows one input again.
    """
    parser = argparse.ArgumentParser(description=f"Mutate {what} and read them.")
    parser.add_argument("--inputs", type=int, default=sys.maxsize)
    parser.add_argument("--seconds", type=float, default=float("inf"))
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--only", type=int, help="one input, shown")
    arguments = parser.parse_args()
    if arguments.only is not None:
        show(arguments.seed, arguments.only)
        return
    if (arguments.inputs, arguments.seconds) == (sys.maxsize, float("inf")):
        parser.error("say --inputs or --seconds")
    begun = time.perf_counter()
    report = rounds(arguments.seed, inputs=arguments.inputs, seconds=arguments.seconds)
    taken = time.perf_counter() - begun
    peak_mb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * 1024 / 1e6
    print(f"{report.inputs} {what} of seed {arguments.seed} in {taken:.0f} s, no promise broken")
    if told := more(report):
        print(told)
    print(f"slowest {report.slowest_seconds * 1000:.0f} ms, input {report.slowest}")
    print(f"peak memory {peak_mb:.0f} MB")
    every = set(words)
    print(f"met {len(every & set(report.met))} of {len(every)} words; never:")
    print(" ", ", ".join(sorted(every - set(report.met))) or "none")
