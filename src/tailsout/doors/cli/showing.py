"""Progress on a terminal: amount, rate and time left; on anything else only the lines to keep."""

import sys
from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING

import click

from tailsout.ground.progress import Progress
from tailsout.ground.units import printable

if TYPE_CHECKING:
    from rich.progress import Progress as Bars


class _Lines:
    """For pipes and logs."""

    def begin(self, doing: str, octets: int) -> None:
        del doing, octets

    def advance(self, octets: int) -> None:
        del octets

    def say(self, line: str) -> None:
        click.echo(printable(line), err=True)


class _Terminal:
    """For people."""

    def __init__(self, bars: "Bars") -> None:
        self._bars = bars
        self._task = None if not bars.tasks else bars.tasks[0].id

    def begin(self, doing: str, octets: int) -> None:
        if self._task is not None:
            self._bars.remove_task(self._task)
        self._task = self._bars.add_task(printable(doing), total=octets)

    def advance(self, octets: int) -> None:
        if self._task is not None:
            self._bars.update(self._task, advance=octets)

    def say(self, line: str) -> None:
        self._bars.console.print(printable(line), markup=False, highlight=False)


@contextmanager
def progress() -> Iterator[Progress]:
    """Give what shows progress on standard error for as long as it is wanted."""
    if not sys.stderr.isatty():
        yield _Lines()
        return
    from rich import progress as rich  # noqa: PLC0415  slow to load, not wanted for help
    from rich.console import Console  # noqa: PLC0415

    columns = (
        rich.TextColumn("{task.description}", markup=False),
        rich.BarColumn(),
        rich.DownloadColumn(),
        rich.TransferSpeedColumn(),
        rich.TimeRemainingColumn(),
    )
    with rich.Progress(*columns, console=Console(stderr=True), transient=True) as bars:
        yield _Terminal(bars)
