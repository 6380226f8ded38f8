"""`tailsout begin`: forms for a new job."""

import uuid
from pathlib import Path
from typing import TYPE_CHECKING

import click

from tailsout.doors.cli import printing
from tailsout.doors.cli.together import Together
from tailsout.ground.errors import UsageError
from tailsout.ground.units import printable

if TYPE_CHECKING:
    from tailsout.work.begin import Wish


@click.command("begin")
@click.argument("job", type=click.Path(path_type=Path))
@click.option(
    "--studio",
    metavar="DIR",
    type=click.Path(path_type=Path),
    help="Studio folder; made if there is none. Left out: the nearest one above the job, or the "
    "nearest called studio beside a folder above it.",
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
@click.option(
    "--from",
    "table",
    metavar="FILE",
    type=click.Path(path_type=Path),
    help="Begin a job for each row of a table of reels (CSV), in a folder of its own below JOB.",
)
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
    table: Path | None,
    short: bool,
) -> int:
    """Write the commented form of a new job into folder JOB.

    Every key stands in the form with a line that explains it; take away the # of what you fill in.

    With --from the first row of a table names keys of the form (reel.title, reel.stock[1].base),
    and every other row becomes a job below JOB, in a folder called by its identifier, package_id or
    column folder. One row with a fault never stops the rest; no job that is there is touched.
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
    if table is not None:
        return _begin_many(table, job, wish)
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


def _begin_many(table: Path, parent: Path, wish: "Wish") -> int:
    from tailsout.bag.disk import Disk  # noqa: PLC0415
    from tailsout.work.reels import begin_all, read  # noqa: PLC0415

    if wish.identifier is not None:
        raise UsageError("--identifier is of one reel.", "Make it a column of the table.")
    reels = read(table)
    told = Together("rows", strict=False)
    for sentence in reels.table.told:
        click.echo(f"tailsout: {printable(str(table))}: {sentence}", err=True)
    for one in begin_all(reels, parent, wish, make_id=lambda: str(uuid.uuid4()), disk=Disk()):
        if one.error is not None or one.fault:
            told.failed(one)
        elif one.came is None:
            told.done(one.name, "was there and is left as it is", before=True)
        else:
            told.done(one.name, str(one.came.job), before=False)
    return told.end()
