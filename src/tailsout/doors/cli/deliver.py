"""`tailsout deliver`: packages on a drive, with its lists."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

from tailsout import __version__
from tailsout.doors.cli import printing
from tailsout.doors.cli.named import packages_in
from tailsout.doors.cli.showing import progress
from tailsout.doors.cli.typed import Whole
from tailsout.ground import clock
from tailsout.ground.errors import RefusedError
from tailsout.ground.findings import Verdict
from tailsout.ground.units import counted, printable, size

if TYPE_CHECKING:
    from tailsout.work.deliver import Outcome

_MOST_NUMBER = 99


@click.command("deliver")
@click.argument(
    "packages", nargs=-1, required=True, metavar="PACKAGE...", type=click.Path(path_type=Path)
)
@click.option(
    "-o",
    "--output",
    "drive",
    required=True,
    metavar="DRIVE",
    type=click.Path(path_type=Path),
    help="Where the drive is mounted; must be there.",
)
@click.option(
    "--not-played",
    multiple=True,
    metavar="JOB",
    type=click.Path(path_type=Path),
    help="List the reel of a record-only job that has no package as not transferred.",
)
@click.option(
    "--listed",
    metavar="FILE",
    type=click.Path(path_type=Path),
    help="Compare with the owner's list: CSV with a column 'identifier' or 'package'.",
)
@click.option(
    "--number",
    default=1,
    type=Whole(1, _MOST_NUMBER),
    metavar="N",
    help="Number of this delivery; a redelivery gets one of its own.",
)
@click.option(
    "--volume", default="", metavar="NAME", help="Name of the drive, where its folder has another."
)
@click.option("--resume", is_flag=True, help="Go on with a delivery that was cut off.")
@click.option(
    "--discard", is_flag=True, help="Clear away what a delivery that was cut off left under way."
)
@click.option("--strict", is_flag=True, help="Exit with 1 for open questions too.")
def command(
    packages: tuple[Path, ...],
    *,
    drive: Path,
    not_played: tuple[Path, ...],
    listed: Path | None,
    number: int,
    volume: str,
    resume: bool,
    discard: bool,
    strict: bool,
) -> int:
    """Copy packages to a drive, read them back there, and list them at its root.

    Each file's digest is taken here and on the drive, and both are kept. A package that does not
    pass stays here and is listed. What the recipient's rules for drives refuse, or the drive cannot
    hold, is told before anything is written.
    """
    from tailsout.bag.disk import Disk  # noqa: PLC0415  help must not wait for it
    from tailsout.work import deliver as work  # noqa: PLC0415

    if discard and resume:
        raise click.UsageError("--resume does not go with --discard.")

    named = tuple(Path(one) for one in packages_in(list(map(str, packages))))
    if discard:
        with progress() as shown:
            cleared = work.discard(named, drive, disk=Disk(), progress=shown)
        told = ", ".join(printable(name) for name in cleared) or "nothing was left"
        printing.say(f"Cleared away: {told}")
        return 0
    wish = work.Wish(
        packages=named,
        not_played=not_played,
        listed=listed,
        number=number,
        volume=volume,
        resume=resume,
    )
    with progress() as shown:
        outcome = work.deliver(
            wish,
            drive,
            instant=clock.now(),
            software=f"tailsout {__version__}",
            disk=Disk(),
            progress=shown,
        )
    if outcome.refusals:
        for why in outcome.refusals:
            click.echo(f"tailsout: {printable(why)}", err=True)
        click.echo("tailsout: nothing was written to the drive.", err=True)
        return RefusedError.exit_code
    return _tell(outcome, drive, strict=strict)


def _tell(outcome: "Outcome", drive: Path, *, strict: bool) -> int:
    delivery = outcome.delivery
    if delivery is None:
        return 0
    for name, judgement in outcome.judgements:
        printing.say(printing.judgement_text(name, judgement))
        printing.say()
    printing.say(f"Delivery {delivery.number} on {drive}; the drive is called {delivery.volume}:")
    codes = [
        printing.exit_code(judgement.verdict, strict=strict) for _, judgement in outcome.judgements
    ]
    for row, carried in zip(delivery.packages, outcome.carried, strict=True):
        codes.append(printing.exit_code(Verdict(row.verdict), strict=strict))
        again = ", stood there already" if carried.was_there else ""
        told = f"{counted(row.files, 'file')}, {size(row.octets)}{again}"
        printing.say(f"  {row.verdict:<15}  {row.package}  {told}")
    for left in delivery.left_out:
        printing.say(f"  {'not transferred':<15}  {left.name}  {left.sort}: {left.reason}")
    if delivery.durability:
        printing.say(
            f"Every file was {printing.DURABLE[delivery.durability]}, read back, and its digest "
            "agreed here and there."
        )
    for why in delivery.not_promised:
        printing.say(why)
    for one in delivery.discrepancies or ():
        printing.say(f"{one.kind}: {one.identifier}")
    printing.say(f"Lists on the drive: {', '.join(path.name for path in outcome.lists)}")
    return printing.most_serious(codes)
