"""`tailsout check`: judge packages."""

from dataclasses import dataclass
from pathlib import Path

import click

from tailsout import __version__
from tailsout.doors.cli import printing
from tailsout.doors.cli.showing import progress
from tailsout.ground.errors import TailsoutError
from tailsout.ground.units import printable
from tailsout.records.bagit_profile import BagItProfile


@click.command("check")
@click.argument("packages", nargs=-1, required=True, metavar="PACKAGE...", type=click.Path())
@click.option("--json", "as_json", is_flag=True, help="Print one line of JSON a package.")
@click.option("--strict", is_flag=True, help="Exit with 1 for open questions too.")
@click.option("--structure", is_flag=True, help="Read no payload: no fixity check.")
@click.option("--deep", is_flag=True, help="Measure the samples again and decode FLAC, too.")
@click.option("--bagit-only", is_flag=True, help="Judge nothing but RFC 8493.")
@click.option(
    "--profile",
    metavar="FILE",
    type=click.Path(),
    help="Hold the packages against this BagIt Profile (1.3, 1.4), too.",
)
def command(
    packages: tuple[str, ...],
    *,
    as_json: bool,
    strict: bool,
    structure: bool,
    deep: bool,
    bagit_only: bool,
    profile: str | None,
) -> int:
    """Judge packages: completeness, fixity, side-car, embedded metadata, regions, dates.

    Works on any bag, with or without a side-car of ours. Every file that a manifest lists is read
    through. Nothing is written, followed or fetched.
    """
    if deep and (structure or bagit_only):
        raise click.UsageError("--deep goes with neither --structure nor --bagit-only.")
    wish = _Wish(
        depth="structure" if structure else "deep" if deep else "full",
        bagit_only=bagit_only,
        bagit_profile=_profile(profile) if profile is not None else None,
    )
    return printing.most_serious(
        _one(package, wish, as_json=as_json, strict=strict) for package in packages
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Wish:
    """What is to be looked at."""

    depth: str
    bagit_only: bool
    bagit_profile: BagItProfile | None


def _profile(name: str) -> BagItProfile:
    from tailsout.work.bagit_profile import load  # noqa: PLC0415  help must not wait for it

    return load(Path(name))


def _one(package: str, wish: _Wish, *, as_json: bool, strict: bool) -> int:
    from tailsout.mapping import told  # noqa: PLC0415  help must not wait for it
    from tailsout.mapping.plain import json_line  # noqa: PLC0415
    from tailsout.records.dossier import Depth  # noqa: PLC0415
    from tailsout.work.check import check  # noqa: PLC0415

    depth = Depth(wish.depth)
    try:
        with progress() as shown:
            checked = check(
                Path(package),
                shown,
                depth=depth,
                bagit_only=wish.bagit_only,
                bagit_profile=wish.bagit_profile,
            )
    except TailsoutError as error:
        if as_json:
            line = told.could_not(told.CHECK, package, str(error), error.exit_code)
            click.echo(json_line(line))
        click.echo(f"tailsout: {printable(str(error))}", err=True)
        return error.exit_code
    judgement = checked.judgement
    if as_json:
        line = told.judged(package, judgement, f"tailsout {__version__}", checked.bag)
        line |= told.looked_at(depth, bagit_only=wish.bagit_only)
        click.echo(json_line(line))
    else:
        text = printing.judgement_text(printable(package), judgement, checked.bag)
        printing.say(_marked(text) if depth is Depth.STRUCTURE else text)
    return printing.exit_code(judgement.verdict, strict=strict)


def _marked(text: str) -> str:
    """Say in every line that nothing was read through, so that none is taken for a proof."""
    return "\n".join(f"[no fixity check] {line}".rstrip() for line in text.split("\n"))
