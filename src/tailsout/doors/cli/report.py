"""`tailsout report`: the sheet of a package, for people."""

import sys
from pathlib import Path

import click

from tailsout.doors.cli import printing
from tailsout.doors.cli.showing import progress
from tailsout.ground.units import printable, size


@click.command("report")
@click.argument("package", metavar="PACKAGE", type=click.Path(path_type=Path))
@click.option(
    "-o",
    "--output",
    metavar="FILE",
    type=click.Path(path_type=Path),
    help="Where the page is written, a new file; left out: it is printed.",
)
@click.option(
    "--owner", "for_the_owner", is_flag=True, help="Make the one page for the owner of the tape."
)
def command(package: Path, *, output: Path | None, for_the_owner: bool) -> int:
    """Make one page of HTML about a package, a folder or an archive, whoever made it.

    The page is for people: it needs no network, runs no program, and prints on A4. Packages of ours
    hold such a page already, metadata/report.html; this one is made of what stands there now.
    Nothing is read through: `check` tells whether the package holds. With --owner it is one page:
    what was found, done and heard, how long it took, and how to see that nothing has changed.
    """
    from tailsout.bag.disk import Disk  # noqa: PLC0415  help must not wait for it
    from tailsout.work.report import for_owner, report  # noqa: PLC0415

    with progress() as bar:
        page = for_owner(package, bar) if for_the_owner else report(package, bar)
    if output is None:
        sys.stdout.buffer.write(page)
        sys.stdout.buffer.flush()
        return 0
    Disk().write_beside(output, page)
    printing.say(f"Written: {printable(str(output))} ({size(len(page))}). Open it in a browser.")
    return 0
