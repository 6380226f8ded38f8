"""`tailsout hours`: how long the work took, as a table."""

import sys
from pathlib import Path

import click

from tailsout.doors.cli import printing
from tailsout.ground.units import printable


@click.command("hours")
@click.argument(
    "folders", nargs=-1, required=True, metavar="DIR...", type=click.Path(path_type=Path)
)
@click.option(
    "-o",
    "--output",
    metavar="FILE",
    type=click.Path(path_type=Path),
    help="Where the table is written, a new file; left out: it is printed.",
)
def command(folders: tuple[Path, ...], *, output: Path | None) -> int:
    """Show hands-on and programme minutes and their ratio, for each package in or below DIR.

    The table is CSV, the sums in its last row. Minutes are those that the passes of a job state;
    where none are stated for the programme it is as long as the captures. Packages are only read.
    """
    from tailsout.bag.disk import Disk  # noqa: PLC0415  help must not wait for it
    from tailsout.work.hours import hours  # noqa: PLC0415

    table, silent = hours(folders)
    if silent:
        click.echo(f"tailsout: {silent} without a side-car of ours, passed over.", err=True)
    if output is None:
        sys.stdout.buffer.write(table)
        sys.stdout.buffer.flush()
        return 0
    Disk().write_beside(output, table)
    printing.say(f"Written: {printable(str(output))}")
    return 0
