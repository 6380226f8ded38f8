"""`tailsout label`: labels for box and spine."""

import sys
from pathlib import Path

import click

from tailsout.doors.cli import printing
from tailsout.doors.cli.showing import progress
from tailsout.ground.errors import UsageError
from tailsout.ground.units import printable, size


@click.command("label")
@click.argument("package", metavar="PACKAGE", type=click.Path(path_type=Path))
@click.option(
    "-o",
    "--output",
    metavar="FILE",
    type=click.Path(path_type=Path),
    help="Where the label is written, a new file: .svg or .pdf; left out: SVG is printed.",
)
@click.option("--spine", is_flag=True, help="Make the label of the spine, 100 by 14 mm.")
def command(package: Path, *, output: Path | None, spine: bool) -> int:
    """Make the label for the box of a reel, 100 by 70 mm, from its package.

    It says which end is out, speeds and curves of each side, the base of each tape section and by
    what it was told, what was done to the tape, and holds a QR code of the package's name and of
    the SHA-256 of its tag manifest.
    """
    from tailsout.bag.disk import Disk  # noqa: PLC0415  help must not wait for it
    from tailsout.work.label import label  # noqa: PLC0415

    ending = output.suffix.lower() if output is not None else ".svg"
    if ending not in {".svg", ".pdf"}:
        name = printable(str(output))
        raise UsageError(f"{name} is neither .svg nor .pdf.", "Name it by one of these endings.")
    with progress() as bar:
        made = label(package, bar, form="pdf" if ending == ".pdf" else "svg", spine=spine)
    if output is None:
        sys.stdout.buffer.write(made)
        sys.stdout.buffer.flush()
        return 0
    Disk().write_beside(output, made)
    printing.say(
        f"Written: {printable(str(output))} ({size(len(made))}). Print it without scaling."
    )
    return 0
