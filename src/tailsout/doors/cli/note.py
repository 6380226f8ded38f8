"""`tailsout note`: a line written down while the tape runs."""

import sys
from pathlib import Path

import click

from tailsout.doors.cli import printing
from tailsout.ground import clock
from tailsout.ground.errors import UsageError


@click.command("note")
@click.argument("job", type=click.Path(path_type=Path))
@click.argument("words", nargs=-1, metavar="[TEXT]...")
@click.option("--pass", "pass_id", metavar="ID", help="Pass that is running. Left out: the last.")
def command(job: Path, words: tuple[str, ...], *, pass_id: str | None) -> int:
    """Add a time-stamped jotting to a job. Without TEXT, every line typed is one.

    It is on the disk before the next one is asked for. What was typed when the input ends counts.
    """
    if words:
        _keep(job, " ".join(words), pass_id)
        return 0
    if sys.stdin.isatty():
        printing.say("One line a jotting; end with Ctrl-D.")
    kept = 0
    for line in sys.stdin:
        if line.strip():
            _keep(job, line, pass_id)
            kept += 1
    if not kept:
        raise UsageError("There was nothing to note.", "Type what happened.")
    return 0


def _keep(job: Path, text: str, pass_id: str | None) -> None:
    from tailsout.bag.disk import Disk  # noqa: PLC0415  help must not wait for it
    from tailsout.work.note import note  # noqa: PLC0415

    printing.say(note(job, text, instant=clock.now(), pass_id=pass_id, disk=Disk()))
