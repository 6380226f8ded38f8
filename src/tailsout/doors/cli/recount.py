"""`tailsout recount`: logbooks from packages."""

from pathlib import Path

import click

from tailsout.doors.cli import printing
from tailsout.doors.cli.showing import progress


@click.command("recount")
@click.argument(
    "folders", nargs=-1, required=True, metavar="DIR...", type=click.Path(path_type=Path)
)
@click.option(
    "--studio",
    required=True,
    metavar="DIR",
    type=click.Path(path_type=Path),
    help="Studio folder whose logbooks are added to.",
)
def command(folders: tuple[Path, ...], *, studio: Path) -> int:
    """Rebuild a studio's logbooks from its packages, in or below DIR.

    Lines that stand there already are left as they are; nothing of a package is changed.
    """
    from tailsout.bag.disk import Disk  # noqa: PLC0415  help must not wait for it
    from tailsout.work.recount import recount  # noqa: PLC0415

    with progress() as shown:
        done = recount(folders, studio, disk=Disk(), progress=shown)
    printing.say(
        f"Packages looked into: {done.packages}; with a side-car of ours: {done.with_statements}; "
        f"lines added to the logbooks: {done.added}."
    )
    return 0
