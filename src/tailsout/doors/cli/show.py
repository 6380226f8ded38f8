"""`tailsout show`: a page of plain text."""

from pathlib import Path

import click

from tailsout.doors.cli import printing
from tailsout.doors.cli.showing import progress


@click.command("show")
@click.argument("path", type=click.Path(path_type=Path))
def command(path: Path) -> int:
    """Show a package, a job folder or a wave file as a page of plain text.

    Nothing is verified: this tells what is stated; `check` tells whether it holds.
    """
    from tailsout.work.show import show  # noqa: PLC0415  help must not wait for it

    with progress() as shown:
        page = show(path, shown)
    printing.say(page.decode("utf-8").rstrip("\n"))
    return 0
