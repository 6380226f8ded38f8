"""`tailsout unpack`: take packages out of archives."""

from pathlib import Path

import click

from tailsout.doors.cli import printing
from tailsout.doors.cli.named import packages_in
from tailsout.doors.cli.showing import progress
from tailsout.ground.errors import TailsoutError
from tailsout.ground.units import counted, printable, size


@click.command("unpack")
@click.argument("archives", nargs=-1, required=True, metavar="ARCHIVE...", type=click.Path())
@click.option(
    "-o",
    "--output",
    "parent",
    required=True,
    metavar="DIR",
    type=click.Path(path_type=Path),
    help="Where the package's folder is written; may exist.",
)
@click.option("--strict", is_flag=True, help="Exit with 1 for open questions too.")
def command(archives: tuple[str, ...], *, parent: Path, strict: bool) -> int:
    """Unpack packages from tar, tar.gz, tar.xz or zip, if they pass.

    The archive is judged first, then what was unpacked, in a folder nobody else may enter; only
    then does it get its name. Links, devices, paths that lead out and more than a fair amount of
    packed octets are refused. Modes, owners and times of the archive are not taken over.
    """
    named = packages_in(archives)
    return printing.several([_one(archive, parent, strict=strict) for archive in named], "archives")


def _one(archive: str, parent: Path, *, strict: bool) -> printing.Row:
    from tailsout.bag.disk import Disk  # noqa: PLC0415  help must not wait for it
    from tailsout.work.unpack import unpack  # noqa: PLC0415

    try:
        with progress() as shown:
            outcome = unpack(Path(archive), parent, disk=Disk(), progress=shown)
    except TailsoutError as error:
        code = printing.stopped(error)
        return printing.Row(name=archive, told=printing.NOT_DONE, code=code)
    printing.say(printing.judgement_text(printable(archive), outcome.judgement))
    printing.say()
    done = outcome.unpacked
    if done is None:
        printing.say("Nothing was unpacked.")
    else:
        printing.say(f"Unpacked: {printable(str(done.path))}")
        printing.say(
            f"  {counted(done.files, 'file')}, {size(done.octets)}; "
            f"{printing.DURABLE[done.durability]}, read back, every digest agreed."
        )
    verdict = outcome.judgement.verdict
    return printing.Row(
        name=archive,
        told=verdict.value,
        more="unpacked" if done is not None else "not unpacked",
        code=printing.exit_code(verdict, strict=strict),
    )
