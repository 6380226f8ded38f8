"""`tailsout accept`: packages taken over, in a document of its own."""

from pathlib import Path

import click

from tailsout import __version__
from tailsout.doors.cli import printing
from tailsout.doors.cli.named import packages_in
from tailsout.doors.cli.showing import progress_of_many
from tailsout.doors.cli.typed import Whole
from tailsout.ground import clock
from tailsout.ground.findings import Verdict

_DAYS = Whole(0, 36500)


@click.command("accept")
@click.argument(
    "packages", nargs=-1, required=True, metavar="PACKAGE...", type=click.Path(path_type=Path)
)
@click.option("--by", required=True, metavar="PERSON", help="Who accepts.")
@click.option(
    "-o",
    "--output",
    "into",
    required=True,
    metavar="DIR",
    type=click.Path(path_type=Path),
    help="Where the document is written; may hold others.",
)
@click.option(
    "--receipt",
    metavar="DIR",
    type=click.Path(path_type=Path),
    help="Folder of the receipt that it answers.",
)
@click.option("--note", default="", metavar="TEXT", help="Anything else to be said.")
@click.option(
    "--delete-after",
    "delete_after_days",
    type=_DAYS,
    metavar="DAYS",
    help="After how many days the producer may delete its files.",
)
def command(
    packages: tuple[Path, ...],
    *,
    by: str,
    into: Path,
    receipt: Path | None,
    note: str,
    delete_after_days: int | None,
) -> int:
    """Accept packages: read each through once more, and write down which are accepted.

    What passes is accepted, with open questions as flags; what does not is named as not accepted
    (exit 1). Beside the document lies the list by which reels go back.
    """
    from tailsout.bag.disk import Disk  # noqa: PLC0415  help must not wait for it
    from tailsout.work.accept import Asked, accept  # noqa: PLC0415

    named = [Path(one) for one in packages_in(list(map(str, packages)))]
    with progress_of_many(len(named)) as shown:
        outcome = accept(
            named,
            into,
            Asked(by=by, note=note, receipt=receipt, delete_after_days=delete_after_days),
            instant=clock.now(),
            software=f"tailsout {__version__}",
            disk=Disk(),
            progress_of=shown.of,
            done=shown.done,
            say=shown.say,
        )
    for error in outcome.errors:
        printing.stopped(error)
    acceptance = outcome.acceptance
    printing.say(f"Acceptance {acceptance.number} by {acceptance.by}:")
    for one in acceptance.packages:
        flags = f": {', '.join(one.flags)}" if one.flags else ""
        printing.say(f"  {one.decision:<19}  {one.package}{flags}")
    printing.say(f"Written: {', '.join(str(path) for path in outcome.files)}")
    codes = [error.exit_code for error in outcome.errors]
    codes += [
        printing.EXIT_CODES[Verdict(one.verdict)]
        for one in acceptance.packages
        if one.verdict != printing.NOT_JUDGED
    ]
    return printing.most_serious(codes)
