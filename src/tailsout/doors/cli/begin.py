"""`tailsout begin`: forms for a new job."""

import uuid
from pathlib import Path

import click

from tailsout.doors.cli import printing
from tailsout.ground.units import printable


@click.command("begin")
@click.argument("job", type=click.Path(path_type=Path))
@click.option(
    "--studio",
    metavar="DIR",
    type=click.Path(path_type=Path),
    help="Studio folder; made if there is none. Left out: the nearest one above the job.",
)
@click.option("--identifier", metavar="TEXT", help="The reel's first identifier, to the letter.")
def command(job: Path, *, studio: Path | None, identifier: str | None) -> int:
    """Write the commented form of a new job into folder JOB.

    Every key stands in the form with a line that explains it; take away the # of what you fill in.
    """
    from tailsout.bag.disk import Disk  # noqa: PLC0415  help must not wait for it
    from tailsout.work.begin import begin  # noqa: PLC0415

    begun = begin(job, studio=studio, identifier=identifier, job_id=str(uuid.uuid4()), disk=Disk())
    if begun.new_studio:
        printing.say(f"Studio: {printable(str(begun.studio))} (new: fill in its forms once)")
    printing.say(f"Job:    {printable(str(begun.job / 'job.toml'))}")
    printing.say(f"Its package will be called {begun.package_id}; change package_id if you like.")
    printing.say("Put the recorder's files into captures/ and name them in [[captures]].")
    return 0
