"""`tailsout check`: judge packages."""

from pathlib import Path

import click

from tailsout import __version__
from tailsout.doors.cli import printing
from tailsout.doors.cli.showing import progress
from tailsout.ground.errors import TailsoutError
from tailsout.ground.units import printable


@click.command("check")
@click.argument("packages", nargs=-1, required=True, metavar="PACKAGE...", type=click.Path())
@click.option("--json", "as_json", is_flag=True, help="Print one line of JSON a package.")
@click.option("--strict", is_flag=True, help="Exit with 1 for open questions too.")
def command(packages: tuple[str, ...], *, as_json: bool, strict: bool) -> int:
    """Judge packages: completeness, fixity, side-car, embedded metadata, regions, dates.

    Works on any bag, with or without a side-car of ours. Every file that a manifest lists is read
    from disk. Nothing is written, followed or fetched.
    """
    return printing.most_serious(
        _one(package, as_json=as_json, strict=strict) for package in packages
    )


def _one(package: str, *, as_json: bool, strict: bool) -> int:
    from tailsout.mapping import told  # noqa: PLC0415  help must not wait for it
    from tailsout.mapping.plain import json_line  # noqa: PLC0415
    from tailsout.work.check import check  # noqa: PLC0415

    try:
        with progress() as shown:
            checked = check(Path(package), shown)
    except TailsoutError as error:
        if as_json:
            line = told.could_not(told.CHECK, package, str(error), error.exit_code)
            click.echo(json_line(line))
        click.echo(f"tailsout: {printable(str(error))}", err=True)
        return error.exit_code
    judgement = checked.judgement
    if as_json:
        click.echo(json_line(told.judged(package, judgement, f"tailsout {__version__}")))
    else:
        printing.say(printing.judgement_text(printable(package), judgement))
    return printing.exit_code(judgement.verdict, strict=strict)
