"""Progress on a terminal: amount, rate and time left; on anything else only the lines to keep."""

import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

import click

from tailsout.ground.progress import Progress
from tailsout.ground.units import counted, printable

if TYPE_CHECKING:
    from rich.progress import Progress as Bars


_STEP = 4 << 20
"""Octets that pass between two looks of a bar."""


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


class Many:
    """Shows nothing of several packages but the lines to keep."""

    def of(self, package: str) -> Progress:
        """Return what shows the progress of one package."""
        del package
        return _Lines()

    def done(self, package: str) -> None:
        """Count a package that came to its end."""

    def say(self, line: str) -> None:
        """Tell the user one line."""
        _Lines().say(line)


class _ManyOnTerminal(Many):
    """One bar a package under way, and one for all where there are several."""

    def __init__(self, bars: "Bars", count: int) -> None:
        self._bars, self._count, self._done = bars, count, 0
        self._under_way: dict[str, list[_Package]] = {}
        self._all = bars.add_task("All", total=count, told="", visible=count > 1)

    def of(self, package: str) -> Progress:
        bar = _Package(self._bars, printable(Path(package).name))
        # Somebody may name one twice.
        self._under_way.setdefault(package, []).append(bar)
        return bar

    def done(self, package: str) -> None:
        self._done += 1
        for bar in self._under_way.pop(package, ()):
            bar.end()
        told = f"{self._done} of {counted(self._count, 'package')}"
        self._bars.update(self._all, completed=self._done, told=told)

    def say(self, line: str) -> None:
        self._bars.console.print(printable(line), markup=False, highlight=False)


class _Package:
    """The bar of one package; told of often, it moves every few megabytes."""

    def __init__(self, bars: "Bars", name: str) -> None:
        self._bars, self._name = bars, name
        self._task = bars.add_task(name, total=None, told="", visible=False)
        self._octets = self._passed = self._shown = 0

    def begin(self, doing: str, octets: int) -> None:
        self._octets, self._passed, self._shown = octets, 0, 0
        self._bars.reset(self._task, total=octets, description=printable(doing), visible=True)
        self._show()

    def advance(self, octets: int) -> None:
        self._passed += octets
        if self._passed - self._shown >= _STEP or self._passed >= self._octets:
            self._show()

    def say(self, line: str) -> None:
        shown = f"{self._name}: {printable(line)}"
        self._bars.console.print(shown, markup=False, highlight=False)

    def end(self) -> None:
        """Take the bar away."""
        self._bars.remove_task(self._task)

    def _show(self) -> None:
        self._shown = self._passed
        told = f"{self._passed / 1e6:,.0f} of {self._octets / 1e6:,.0f} MB"
        self._bars.update(self._task, completed=self._passed, told=told)


@contextmanager
def progress_of_many(count: int) -> Iterator[Many]:
    """Give what shows the progress of several packages at once, on standard error."""
    if not sys.stderr.isatty():
        yield Many()
        return
    from rich import progress as rich  # noqa: PLC0415  slow to load, not wanted for help
    from rich.console import Console  # noqa: PLC0415

    columns = (
        rich.TextColumn("{task.description}", markup=False),
        rich.BarColumn(),
        rich.TextColumn("{task.fields[told]}", markup=False),
        rich.TimeRemainingColumn(),
    )
    with rich.Progress(*columns, console=Console(stderr=True), transient=True) as bars:
        yield _ManyOnTerminal(bars, count)


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
