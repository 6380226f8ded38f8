"""What is told of several jobs worked on in one run: each as it is done, all at the end."""

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from tailsout.doors.cli import printing
from tailsout.doors.cli.showing import Many
from tailsout.ground.findings import Judgement, Verdict
from tailsout.ground.units import printable

if TYPE_CHECKING:
    from tailsout.work.parallel import Done

MOST_AT_ONCE = 64
_FAULT = 70


class Together:
    """Prints each job, then a table of all, and settles the exit code."""

    def __init__(self, what: str, *, strict: bool) -> None:
        self._what, self._strict = what, strict
        self._rows: list[printing.Row] = []

    @contextmanager
    def counting(self, count: int, shown: Many) -> Iterator[None]:
        """Tell how far it came if it is interrupted."""
        try:
            yield
        except KeyboardInterrupt:
            shown.say(f"{len(self._rows)} of {count} {self._what} were done.")
            raise

    def failed(self, done: "Done[Any]") -> None:
        """Tell of one that an error stopped, or a fault of this program."""
        name = printable(done.name)
        if done.error is not None:
            click.echo(f"tailsout: {name}: {printable(str(done.error))}", err=True)
            self._add(name, printing.NOT_DONE, "", done.error.exit_code)
            return
        click.echo(f"tailsout: {name}: this is a fault of the program:", err=True)
        click.echo(printing.printable_lines(done.fault), err=True)
        self._add(name, printing.NOT_DONE, "a fault of the program", _FAULT)

    def stands(self, name: str, package: Path | None) -> None:
        """Tell of one that was closed before."""
        shown = printable(name)
        printing.say(f"{shown}: closed already, {printable(str(package))} stands with its receipt")
        self.done(name, "", before=True)

    def done(self, name: str, more: str, *, before: bool) -> None:
        """Count one that is done, in this run or before it."""
        word = printing.DONE_ALREADY if before else printing.DONE
        self._add(printable(name), word, printable(more), 0)

    def judged(self, name: str, judgement: Judgement, more: str) -> None:
        """Tell of one that was judged."""
        if self._rows:
            printing.say()
        shown = printable(name)
        printing.say(printing.judgement_text(shown, judgement))
        self.weighed(name, judgement.verdict, more)

    def weighed(self, name: str, verdict: Verdict, more: str) -> None:
        """Count one that was told of already."""
        code = printing.exit_code(verdict, strict=self._strict)
        self._add(printable(name), verdict.value, more, code)

    def end(self, *, silent: bool = False) -> int:
        """Print the table; return the exit code: the most serious of 3, 1, 4, 0."""
        if not silent:
            printing.say()
            printing.say(printing.table(self._rows, self._what))
        codes = [row.code for row in self._rows]
        return _FAULT if _FAULT in codes else printing.most_serious(codes)

    def _add(self, name: str, told: str, more: str, code: int) -> None:
        self._rows.append(printing.Row(name=name, told=told, more=more, code=code))
