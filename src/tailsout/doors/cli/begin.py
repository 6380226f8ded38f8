"""`tailsout begin`: forms for a new job."""

import uuid
from pathlib import Path

import click

from tailsout.doors.cli import printing
from tailsout.ground.errors import UsageError
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
@click.option(
    "--like",
    metavar="JOB",
    type=click.Path(path_type=Path),
    help="Take over machine, session, set-up, chain and recipient of another job.",
)
@click.option("--session", metavar="ID", help="Session the pass belongs to; its form is made.")
@click.option(
    "--recipient",
    metavar="ID",
    help="Who the package is for: a form of the studio, or one that comes with the program "
    "(national-archive, university-library, private-owner), which is copied into it.",
)
@click.option(
    "--retrospective", is_flag=True, help="The transfer was made before; what is unsaid is lost."
)
@click.option("--record-only", is_flag=True, help="The reel was inspected and not played.")
@click.option("--short", is_flag=True, help="Offer only what changes from reel to reel.")
def command(
    job: Path,
    *,
    studio: Path | None,
    identifier: str | None,
    like: Path | None,
    session: str | None,
    recipient: str | None,
    retrospective: bool,
    record_only: bool,
    short: bool,
) -> int:
    """Write the commented form of a new job into folder JOB.

    Every key stands in the form with a line that explains it; take away the # of what you fill in.
    """
    from tailsout.bag.disk import Disk  # noqa: PLC0415  help must not wait for it
    from tailsout.work.begin import Wish, begin  # noqa: PLC0415

    if retrospective and record_only:
        raise UsageError(
            "A job is either told afterwards or not played.",
            "Leave out --retrospective or --record-only.",
        )
    wish = Wish(
        studio=studio,
        identifier=identifier,
        like=like,
        session=session,
        recipient=recipient,
        kind="retrospective" if retrospective else "record only" if record_only else "transfer",
        short=short,
    )
    begun = begin(job, wish, job_id=str(uuid.uuid4()), disk=Disk())
    if begun.new_studio:
        printing.say(f"Studio: {printable(str(begun.studio))} (new: fill in its forms once)")
    if begun.new_session and session is not None:
        path = begun.studio / "sessions" / f"{session}.toml"
        printing.say(f"Session: {printable(str(path))} (new: fill it in once a day)")
    if begun.new_recipient:
        path = begun.studio / "recipients" / f"{recipient}.toml"
        printing.say(f"Recipient: {printable(str(path))} (new: change what differs)")
    printing.say(f"Job:    {printable(str(begun.job / 'job.toml'))}")
    printing.say(f"Its package will be called {begun.package_id}; change package_id if you like.")
    if not record_only:
        printing.say("Put the recorder's files into captures/ and name them in [[captures]].")
    return 0
