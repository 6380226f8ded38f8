"""`tailsout pack`: put packages into tars."""

from pathlib import Path

import click

from tailsout.doors.cli import printing
from tailsout.doors.cli.named import packages_in
from tailsout.doors.cli.showing import progress
from tailsout.ground.errors import TailsoutError
from tailsout.ground.units import counted, printable, size


@click.command("pack")
@click.argument("packages", nargs=-1, required=True, metavar="PACKAGE...", type=click.Path())
@click.option(
    "-o",
    "--output",
    "parent",
    required=True,
    metavar="DIR",
    type=click.Path(path_type=Path),
    help="Where the tar and its digest are written; may exist.",
)
@click.option("--strict", is_flag=True, help="Exit with 1 for open questions too.")
def command(packages: tuple[str, ...], *, parent: Path, strict: bool) -> int:
    """Pack packages into tars, for handing over, each with its SHA-512 in a file beside it.

    A tar is read back and judged before it gets its name. The same package always gives the same
    octets. `check` judges a tar as it lies, `unpack` unpacks it, and so does any other program.
    """
    named = packages_in(packages)
    return printing.several([_one(package, parent, strict=strict) for package in named], "packages")


def _one(package: str, parent: Path, *, strict: bool) -> printing.Row:
    from tailsout.bag.disk import Disk  # noqa: PLC0415  help must not wait for it
    from tailsout.work.pack import pack  # noqa: PLC0415

    try:
        with progress() as shown:
            outcome = pack(Path(package), parent, disk=Disk(), progress=shown)
    except TailsoutError as error:
        code = printing.stopped(error)
        return printing.Row(name=package, told=printing.NOT_DONE, code=code)
    printing.say(printing.judgement_text(printable(package), outcome.judgement))
    printing.say()
    packed = outcome.packed
    if packed is None:
        printing.say("Nothing was packed. A package that does not pass is not handed over.")
    else:
        printing.say(f"Packed: {printable(str(packed.path))}")
        printing.say(
            f"  {counted(packed.files, 'file')}, {size(packed.octets)}; "
            f"{printing.DURABLE[packed.durability]}, read back, every digest agreed."
        )
        printing.say(f"  Digest: {printable(str(packed.digest_file))}")
    verdict = outcome.judgement.verdict
    return printing.Row(
        name=package,
        told=verdict.value,
        more="packed" if packed is not None else "not packed",
        code=printing.exit_code(verdict, strict=strict),
    )
